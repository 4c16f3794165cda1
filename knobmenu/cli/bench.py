"""``knobmenu bench``: will this encoder, filter, loop and decoder count right?"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from knobmenu.cli.try_ import LOOKS, can_draw
from knobmenu.errors import printable

if TYPE_CHECKING:
    from knobmenu.bench.chain import Chain
    from knobmenu.bench.run import Run

_EPILOG = """\
A chain is a small TOML file; without one, a built-in chain is judged. --show prints a whole chain to start from.

examples:
  knobmenu bench                                     judge the built-in chain
  knobmenu bench --show > mine.toml                  write it down, to change it
  knobmenu bench mine.toml --live                    turn its knobs and watch
  knobmenu bench mine.toml --plot run.svg            see what happens to one click
  knobmenu bench mine.toml --sweep turning.turns_per_s=0.2:5:8 reader.period_ms=1,2,5,10 --plot map.svg
  knobmenu bench mine.toml --suggest 2 1.5           parts for 2 ms of bounce at 1.5 turns/s
  knobmenu bench mine.toml --press                   which debounce does the push switch need?
  knobmenu bench mine.toml --capture knob.vcd        measure a capture and send it through the chain
  knobmenu bench mine.toml --capture knob.vcd --show > real.toml   the chain with the contacts that were captured

Sections and keys of a chain, units and sources: docs/reference/bench.md.
"""


def add_parser(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command's own parser."""
    parser = commands.add_parser(
        "bench",
        help="will this encoder, filter, loop and decoder count right?",
        description="Judge an encoder, its filter, the loop that reads it and the decoder that counts.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("chain", metavar="CHAIN", nargs="?", help="a chain's TOML file; a built-in one if not given")
    parser.add_argument("--live", action="store_true", help="turn the knobs of the chain in the terminal, and watch")
    parser.add_argument("--look", choices=LOOKS, help="with --live: the look; otherwise what suits the terminal")
    parser.add_argument("--show", action="store_true", help="print the chain as TOML; with --capture: as captured")
    parser.add_argument("--sweep", nargs=2, metavar=("ROWS", "COLUMNS"), help="map the errors over two parameters")
    parser.add_argument("--suggest", nargs=2, type=float, metavar=("BOUNCE_MS", "TURNS_PER_S"), help="suggest R and C")
    parser.add_argument("--press", action="store_true", help="judge the push switch: which debounce does it need?")
    parser.add_argument("--capture", metavar="FILE", help="measure a VCD or CSV capture and replay it")
    parser.add_argument("--pins", nargs=2, metavar=("A", "B"), help="the capture's phases; found out if not given")
    parser.add_argument(
        "--bare", action="store_true", help="the capture is of bare contacts: replay it through the chain's filter, too"
    )
    parser.add_argument("--vcd", metavar="FILE", help="write one run's pins as a value change dump")
    parser.add_argument("--plot", metavar="FILE", help="draw one run, or the map, as .svg or .png")
    parser.add_argument("--from-ms", type=float, metavar="MS", help="where the picture of a run begins")
    parser.add_argument("--to-ms", type=float, metavar="MS", help="where it ends")
    parser.add_argument("--json", action="store_true", help="print JSON instead of a table")


def run(options: argparse.Namespace) -> int:
    """Judge a chain; return the exit code."""
    from knobmenu.bench.chain import Chain
    from knobmenu.bench.chain_file import load

    _refuse_what_does_not_go_together(options)
    chain = load(Path(options.chain)) if options.chain else Chain()
    if options.live:
        _live(chain, options)
    elif options.capture:
        _capture(chain, options)
    elif options.show:
        _show(chain)
    elif options.suggest:
        _suggest(chain, options)
    elif options.sweep:
        _sweep(chain, options)
    elif options.press:
        _press(chain, options)
    else:
        _judge(chain, options)
    return 0


_BESIDE = {
    "live": ("look",),
    "capture": ("pins", "bare", "json", "show"),
    "suggest": ("json",),
    "sweep": ("plot", "json"),
    "press": ("json",),
    "show": (),
    "": ("plot", "from_ms", "to_ms", "vcd", "json"),
}
"""What may be said beside each way of asking; the last one is the verdict."""


def _refuse_what_does_not_go_together(options: argparse.Namespace) -> None:
    """So that nothing that was asked for is silently left undone."""
    from knobmenu.errors import shown

    given = {name for names in (*_BESIDE.values(), _BESIDE) for name in names if name and _is_given(options, name)}
    way = next((name for name in _BESIDE if name in given), "")
    for name in sorted(given - {way, *_BESIDE[way]}):
        owners = [other for other in _BESIDE if name in _BESIDE[other]]
        places = [f"beside {_option(other)}" if other else "for a verdict" for other in owners]
        allowed = "one way of asking at a time" if name in _BESIDE and not places else " or ".join(places)
        raise _wrong(_option(name), f"{_option(way)} beside it" if way else "nothing that it belongs to", allowed)
    if {"from_ms", "to_ms"} & given and "plot" not in given:
        raise _wrong("--from-ms", "no --plot beside it", "beside --plot")
    if options.plot and Path(options.plot).suffix not in (".svg", ".png"):
        raise _wrong("--plot", shown(options.plot), "a file that ends in .svg or .png")


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _is_given(options: argparse.Namespace, name: str) -> bool:
    return getattr(options, name) not in (None, False)


def _show(chain: Chain) -> None:
    from knobmenu.bench.chain_file import toml_text

    print(toml_text(chain), end="")


def _show_captured(chain: Chain, capture: str) -> None:
    """Print a chain with what was captured, unless no chain may be like that."""
    from knobmenu.bench.chain_file import loads, toml_text
    from knobmenu.bench.errors import BenchError

    text = toml_text(chain)
    try:
        loads(text)
    except BenchError as error:
        advice = "name the pins of the two phases with --pins, or capture with fewer disturbances"
        name = Path(capture).name
        raise BenchError([one._replace(file=name, line=0, advice=advice) for one in error.problems]) from None
    print(text, end="")


def _live(chain: Chain, options: argparse.Namespace) -> None:
    """Turn the knobs of a chain in the terminal."""
    if not can_draw(os.environ, sys.stdin.isatty(), sys.stdout.isatty()):
        raise _wrong("--live", "no terminal that can be drawn on", "a terminal", "without --live lines are printed")
    from knobmenu.bench.simulated import NamedChain
    from knobmenu.terminal.backend.ends import run as run_app
    from knobmenu.terminal.bench.app import BenchApp
    from knobmenu.terminal.drawing.palettes import palette_named

    name = Path(options.chain).name if options.chain else "built-in chain"
    look = palette_named(options.look.replace("-", " ")) if options.look else None
    if status := run_app(BenchApp(NamedChain(chain, name), look)):
        raise SystemExit(status)


def _wrong(path: str, found: str, allowed: str, advice: str = "") -> Exception:
    from knobmenu.bench.errors import BenchError
    from knobmenu.errors import Problem

    return BenchError([Problem(path, found, allowed, advice)])


def _progress(words: str) -> None:
    """Say what is being done, on a line of its own that the next one replaces; only to a person."""
    if sys.stderr.isatty():
        print(f"\r\x1b[K{words}", end="", file=sys.stderr, flush=True)


def _write(name: str, content: str | bytes) -> None:
    """Write a file whole or not at all."""
    path = Path(name)
    raw = content.encode() if isinstance(content, str) else content
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(raw)
            os.chmod(temporary, 0o644)
            os.replace(temporary, path)
        except BaseException:
            with contextlib.suppress(FileNotFoundError):
                os.unlink(temporary)
            raise
    except OSError as error:
        found = "a place that cannot be written"
        raise _wrong(name, found, "a file that can be written", error.strerror or "") from None
    print(f"wrote {name}", file=sys.stderr)


def _draw(name: str, svg: str) -> None:
    if Path(name).suffix == ".svg":
        _write(name, svg)
        return
    try:
        import resvg_py
    except ImportError:
        raise _wrong("--plot", f'"{name}"', "a file that ends in .svg", "for .png install knobmenu[png]") from None
    _write(name, bytes(resvg_py.svg_to_bytes(svg_string=svg)))


def _judge(chain: Chain, options: argparse.Namespace) -> None:
    from knobmenu.bench import plot
    from knobmenu.bench.run import run as run_chain
    from knobmenu.bench.verdict import verdict
    from knobmenu.cli import findings

    if options.plot or options.vcd:
        done = run_chain(chain, chain.judging.first_seed)
        if options.plot:
            begin, first = done.motion.strokes[0][0], done.motion.strokes[0][1]
            from_s = begin - 0.005 if options.from_ms is None else options.from_ms / 1000
            to_s = min(first, begin + 0.25) if options.to_ms is None else options.to_ms / 1000
            if not 0 <= from_s < to_s <= done.motion.end_s:
                allowed = f"from before to, within 0 and {done.motion.end_s * 1000:.0f} ms"
                raise _wrong("--from-ms", f"{from_s * 1000:g} to {to_s * 1000:g} ms", allowed)
            _draw(options.plot, plot.waveforms(chain, done, from_s, to_s))
        if options.vcd:
            _write(options.vcd, _dump(done))
    found = verdict(chain, _progress)
    _progress("")
    print(json.dumps(findings.verdict_json(found), indent=2) if options.json else findings.verdict_words(found))


def _dump(done: Run) -> str:
    from knobmenu.bench.capture import vcd
    from knobmenu.bench.capture.recording import Recording
    from knobmenu.bench.signal import Signal

    # A closed contact pulls its pin low.
    levels = {
        name: Signal(1 - pin.first, pin.changes_s) for name, pin in zip(("phase_a", "phase_b"), done.pins, strict=True)
    }
    return vcd.text(Recording(levels, done.motion.end_s))


def _suggest(chain: Chain, options: argparse.Namespace) -> None:
    from knobmenu.bench.preferred import Corners, suggest

    bounce_ms, turns_per_s = options.suggest
    if not (0 < bounce_ms < 1e4 and 0 < turns_per_s < 1e3):
        raise _wrong("--suggest", f"{bounce_ms:g} ms, {turns_per_s:g} turns/s", "both above 0")
    parts = chain.filter
    # Thresholds as wide as those of a published Schmitt trigger (1.7 to 3.15 V and 0.9 to 2.0 V at 4.5 V).
    corners = Corners(
        rising_v=(parts.supply_v * 1.7 / 4.5, parts.supply_v * 3.15 / 4.5),
        falling_v=(parts.supply_v * 0.9 / 4.5, parts.supply_v * 2.0 / 4.5),
    )
    pulses = chain.encoder.pulses_per_turn
    found = suggest(parts, corners, bounce_ms / 1000, turns_per_s * pulses)
    if options.json:
        rows = [
            {
                "series_ohm": one.series_ohm,
                "capacitor_f": one.capacitor_f,
                "bounce_ms": one.bounce_s * 1000,
                "turns_per_s": one.periods_per_s / pulses,
            }
            for one in found
        ]
        print(json.dumps(rows, indent=2))
        return
    print(
        f"Pull-up {parts.pull_up_ohm:g} ohm, {parts.supply_v:g} V, Schmitt trigger; parts for bounce of"
        f" {bounce_ms:g} ms at {turns_per_s:g} turns/s, at every corner of 5 % resistors and 10 % capacitors:"
    )
    if not found:
        print("None: these wishes contradict each other. Ask for less bounce or less speed, or decode by the table.")
    for one in found[:8]:
        print(
            f"  {one.series_ohm:8g} ohm  {one.capacitor_f * 1e9:8g} nF   removes {one.bounce_s * 1000:.2f} ms,"
            f" passes {one.periods_per_s / pulses:.2f} turns/s"
        )


def _sweep(chain: Chain, options: argparse.Namespace) -> None:
    from knobmenu.bench import plot
    from knobmenu.bench.sweep import axis, sweep
    from knobmenu.cli import findings

    down, across = (axis(text) for text in options.sweep)
    found = sweep(chain, down, across, progress=lambda done, cells: _progress(f"{done} of {cells} cells"))
    _progress("")
    if options.json:
        print(
            json.dumps(
                {
                    "rows": {found.down.path: found.down.values},
                    "columns": {found.across.path: found.across.values},
                    "error_rates": found.error_rates,
                },
                indent=2,
            )
        )
    else:
        print(findings.map_words(found))
    if options.plot:
        _draw(options.plot, plot.error_map(found))


def _press(chain: Chain, options: argparse.Namespace) -> None:
    from knobmenu.bench.presses import judge_presses
    from knobmenu.cli import findings

    found = judge_presses(chain, _progress)
    _progress("")
    print(json.dumps(findings.presses_json(found), indent=2) if options.json else findings.presses_words(found))


def _capture(chain: Chain, options: argparse.Namespace) -> None:
    import attrs

    from knobmenu.bench.capture.file import CaptureFile
    from knobmenu.bench.capture.fitting import fit
    from knobmenu.bench.capture.measure import measure
    from knobmenu.bench.capture.replay import replay
    from knobmenu.cli import captures

    path = Path(options.capture)
    capture = CaptureFile(path, progress=lambda part: _progress(f"reading {printable(path.name)}: {part:.0%}"))
    pins = options.pins or ("", "")
    try:
        measured = measure(capture, *pins, assumed_detents_per_period=chain.encoder.detents_per_period)
        encoder = attrs.evolve(chain.encoder, detents_per_period=measured.detents_per_period)
        if options.show:
            captured = attrs.evolve(chain, encoder=encoder, contact=fit(measured))
        else:
            done = replay(capture, measured, chain, chain.judging.first_seed, filtered=options.bare)
    finally:
        _progress("")
    if options.show:
        print(captures.format_doubts(measured), end="", file=sys.stderr)
        _show_captured(captured, options.capture)
    elif options.json:
        print(json.dumps(captures.format_json(measured, done), indent=2))
    else:
        print(captures.format_text(measured, done, chain))
