"""``knobmenu bench capture``: measure a capture of a real knob, and send it through a chain."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from knobmenu.cli.bench.answering import add_chain, add_json, add_question, make_argument_error, show_progress
from knobmenu.cli.bench.parts import add_part, choose_part, refuse_part_without_plot
from knobmenu.cli.outputs import add_overwrite, check_picture, write_file
from knobmenu.cli.parsing import Parser, add_file
from knobmenu.cli.streams import print_document, print_json
from knobmenu.errors import printable

if TYPE_CHECKING:
    from knobmenu.bench.capture.measure import Measured
    from knobmenu.bench.capture.recording import Capture
    from knobmenu.bench.chain import Chain


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the subcommand's own parser."""
    parser = add_question(commands, "capture", help="measure a capture of a real knob, and send it through the chain")
    add_file(parser, "capture", help="a VCD or CSV file from a logic analyser")
    add_chain(parser)
    parser.add_argument("--pins", nargs=2, metavar=("A", "B"), help="the pins of the two phases; detected if not given")
    parser.add_argument(
        "--rate", type=float, metavar="HZ", help="the sampling rate of a CSV file that numbers its samples"
    )
    parser.add_argument(
        "--threshold",
        type=float,
        nargs="+",
        metavar="V",
        help="of a CSV file of volts: the level of high and low, or first the falling, then the rising threshold",
    )
    parser.add_argument(
        "--bare",
        action="store_true",
        help="the capture is of bare contacts: apply the chain's filter as well",
    )
    add_file(parser, "--plot", help="draw a part of it as .svg or .png")
    add_part(parser)
    add_overwrite(parser)
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--show", action="store_true", help="print the chain with the captured contacts as TOML")
    add_json(what)


def run(chain: Chain, options: argparse.Namespace) -> int:
    """Measure a capture and replay it, or print the chain that it makes."""
    from knobmenu.bench.capture.csv import Reading
    from knobmenu.bench.capture.file import CaptureFile
    from knobmenu.bench.capture.measure import measure
    from knobmenu.bench.capture.replay import replay
    from knobmenu.bench.chain_file import write_toml
    from knobmenu.cli.bench import captures

    check_picture(options.plot)
    refuse_part_without_plot(options)
    path = Path(options.capture)
    _refuse_document(path)
    thresholds_v = options.threshold
    if thresholds_v is not None and len(thresholds_v) > 2:
        raise make_argument_error("--threshold", f"{len(thresholds_v)} numbers", "one or two, in volts")
    capture = CaptureFile(
        path,
        Reading(
            rate_hz=options.rate, thresholds_v=None if thresholds_v is None else (thresholds_v[0], thresholds_v[-1])
        ),
        progress=lambda part: show_progress(f"reading {printable(path.name)}: {part:.0%}"),
    )
    pins = options.pins or ("", "")
    try:
        measured = measure(capture, *pins, assumed_detents_per_period=chain.encoder.detents_per_period)
        if not options.show:
            done = replay(capture, measured, chain, chain.judging.first_seed, filtered=options.bare)
        if options.plot:
            _write_plot(capture, measured, chain, options)
    finally:
        show_progress("")
    if options.show:
        print(captures.format_doubts(measured), end="", file=sys.stderr)
        print_document(write_toml(_make_captured_chain(chain, measured, path.name)))
    elif options.json:
        print_json(captures.format_json(measured, done))
    else:
        print(captures.format_text(measured, done, chain))
    return 0


def _refuse_document(path: Path) -> None:
    """Refuse a document of knobmenu, such as a chain, before it is read as a table."""
    from knobmenu.codec.recognition import refuse_document
    from knobmenu.files.documents import recognize_file

    if path.suffix.lower() in (".toml", ".json", ".jsonl"):
        refuse_document(recognize_file(path), "a capture", str(path))


def _write_plot(capture: Capture, measured: Measured, chain: Chain, options: argparse.Namespace) -> None:
    """Draw the part of a capture that is requested; otherwise the one with its longest bounce."""
    from knobmenu.bench.capture.excerpt import choose_view, cut
    from knobmenu.bench.capture.replay import replay_pieces
    from knobmenu.bench.plot.captured import draw_capture
    from knobmenu.files.pictures import encode_picture

    view = choose_part(choose_view(measured), measured.end_s, options)
    seed = chain.judging.first_seed
    countings = replay_pieces(capture, measured, chain, seed, filtered=options.bare)
    words = f"a {chain.reader.kind} reader with the {chain.decoder} decoder"
    drawn = draw_capture(cut(capture, measured, countings, view), measured, words)
    write_file(options.plot, encode_picture(options.plot, drawn), options.overwrite, (options.capture, options.chain))


def _make_captured_chain(chain: Chain, measured: Measured, file: str) -> Chain:
    """Make the chain with what was captured, unless no chain can be like that."""
    import attrs

    from knobmenu.bench.capture.fitting import fit
    from knobmenu.bench.errors import BenchError

    try:
        encoder = attrs.evolve(chain.encoder, detents_per_period=measured.detents_per_period)
        return attrs.evolve(chain, encoder=encoder, contact=fit(measured))
    except BenchError as error:
        advice = "name the pins of the two phases with --pins, or capture with fewer disturbances"
        raise BenchError([one._replace(file=file, advice=one.advice or advice) for one in error.problems]) from None
