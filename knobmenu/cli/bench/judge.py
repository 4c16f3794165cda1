"""``knobmenu bench judge``: up to which speed does a chain count right, and what helps?"""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from knobmenu.cli.bench.answering import add_chain, add_json, add_question, make_argument_error, show_progress
from knobmenu.cli.bench.parts import add_part, choose_part, refuse_part_without_plot
from knobmenu.cli.outputs import add_overwrite, check_picture, write_file
from knobmenu.cli.parsing import Parser, add_file
from knobmenu.cli.streams import print_json

if TYPE_CHECKING:
    from knobmenu.bench.chain import Chain
    from knobmenu.bench.plan import Plan
    from knobmenu.bench.run import Run


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the subcommand's own parser."""
    parser = add_question(commands, "judge", help="find the speed up to which it counts correctly (the default)")
    add_chain(parser)
    add_file(parser, "--plot", help="draw one run as .svg or .png")
    add_part(parser)
    add_file(parser, "--vcd", help="write one run's pins as a value change dump")
    add_overwrite(parser)
    parser.add_argument("--apply", metavar="N", type=int, help="apply remedy N of the plan; needs --output")
    parser.add_argument("--output", metavar="FILE", help="write the chain with the remedy to a new file")
    add_json(parser)


def run(chain: Chain, options: argparse.Namespace) -> int:
    """Judge a chain, and draw or write one of its runs where that is requested."""
    from knobmenu.bench.excerpt import choose_run
    from knobmenu.bench.plan import make_plan
    from knobmenu.bench.verdict import reach_verdict
    from knobmenu.cli.bench import findings

    check_picture(options.plot)
    refuse_part_without_plot(options)
    if (options.apply is None) != (options.output is None):
        raise make_argument_error("--apply", "one without the other", "--apply N and --output FILE together")
    found = reach_verdict(chain, show_progress)
    if options.plot or options.vcd:
        done = choose_run(chain, found)
        if options.plot:
            _write_plot(done, options)
        if options.vcd:
            write_file(options.vcd, _dump(done), options.overwrite, (options.chain,))
    proposed = make_plan(chain, show_progress)
    show_progress("")
    if options.json:
        print_json(findings.verdict_to_plain(found, proposed))
    else:
        print(findings.format_verdict(found, proposed, options.chain or ""))
    if options.apply is not None:
        _apply(proposed, options)
    return 0


def _apply(proposed: Plan, options: argparse.Namespace) -> None:
    """Write the chain with one of the remedies to a new file."""
    from knobmenu.bench.chain_file import write_toml

    number, count = options.apply, len(proposed.proposals)
    if not 1 <= number <= count:
        expected = f"a number from 1 to {count}" if count else "no --apply: there is no remedy to apply"
        raise make_argument_error("--apply", str(number), expected)
    write_file(options.output, write_toml(proposed.proposals[number - 1].chain), options.overwrite, (options.chain,))


def _write_plot(done: Run, options: argparse.Namespace) -> None:
    """Draw the part of a run that is requested; otherwise the one with its first error."""
    from knobmenu.bench.excerpt import choose_view, find_slips
    from knobmenu.bench.plot.waveforms import draw_waveforms
    from knobmenu.files.pictures import encode_picture

    slips = find_slips(done)
    view = choose_part(choose_view(done, slips), done.motion.end_s, options)
    drawn = encode_picture(options.plot, draw_waveforms(done, slips, view))
    write_file(options.plot, drawn, options.overwrite, (options.chain,))


def _dump(done: Run) -> str:
    """Return a run's pins as a value change dump."""
    from knobmenu.bench.capture import vcd
    from knobmenu.bench.capture.recording import Recording
    from knobmenu.bench.signal import Signal

    # A closed contact pulls its pin low.
    levels = {
        name: Signal(1 - pin.first, pin.changes_s) for name, pin in zip(("phase_a", "phase_b"), done.pins, strict=True)
    }
    return vcd.write_vcd(Recording(levels, done.motion.end_s))
