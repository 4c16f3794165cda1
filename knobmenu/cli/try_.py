"""``knobmenu try``: turn the knob of one or two designs in the terminal."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from knobmenu.cli.parsing import Parser, file_name

if TYPE_CHECKING:
    from knobmenu.bench.simulated import NamedChain
    from knobmenu.design.hardware import Knob
    from knobmenu.session.recorder import Sink
    from knobmenu.session.variants import Variant

_EPILOG = """\
Without a design, try opens a built-in demo. Two designs run side by side, and one knob turns both.
Edit the file while it runs: the device reloads and keeps its place and values.

examples:
  knobmenu try
  knobmenu try thermostat.toml
  knobmenu try thermostat.toml thermostat-2.toml
  knobmenu try thermostat.toml --simulated
  knobmenu try thermostat.toml --chain mine.toml
  knobmenu try thermostat.toml --plain < walk.txt
"""

LOOKS = ("dark", "light", "high-contrast", "16-colours", "no-colour")


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the command's own parser."""
    parser = commands.add_parser(
        "try",
        help="try a design in the terminal; it reloads as you edit the file",
        description="Turn a simulated knob on a simulated device, in the terminal.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("designs", metavar="DESIGN", type=file_name, nargs="*", help="a design file, or two to compare")
    parser.add_argument(
        "--plain",
        action="store_true",
        help="line mode: text in, text out, for screen readers, simple terminals and pipes",
    )
    encoder = parser.add_mutually_exclusive_group()
    encoder.add_argument(
        "--simulated",
        action="store_true",
        help="begin with a simulated encoder: bouncing contacts and a busy loop",
    )
    encoder.add_argument(
        "--chain",
        metavar="FILE",
        type=file_name,
        help="begin with a simulated encoder whose signal chain is in a TOML file (see knobmenu bench show)",
    )
    parser.add_argument("--look", choices=LOOKS, help="the colours to begin with; by default what suits the terminal")
    parser.add_argument(
        "--present", action="store_true", help="show the device and its knob alone; F10 shows everything again"
    )
    parser.add_argument(
        "--record", metavar="FILE", type=file_name, help="record the session to a new file (see knobmenu replay, watch)"
    )
    parser.add_argument("--no-blink", action="store_true", help="stop all blinking")


def run(options: argparse.Namespace) -> int:
    """Try the designs; return the exit code."""
    # What is loaded before the first frame stays: looking for garbage in it would only delay that frame, from which on
    # the app looks for garbage again.
    gc.disable()
    try:
        return _tried(options)
    finally:
        gc.enable()


def _tried(options: argparse.Namespace) -> int:
    from knobmenu.errors import DesignError, Problem

    if len(options.designs) > 2:
        found = f"{len(options.designs)} designs"
        raise DesignError([Problem("", found, "one design, or two to compare", "leave some out")])
    variants = _variants(options.designs)
    chain = _chain(options, variants[0].design.knob)
    if options.record is None:
        return _opened(options, variants, chain, None)
    from knobmenu.files.recordings import PatientRecording, RecordingFile

    with RecordingFile(options.record) as file:
        recording = PatientRecording(file)
        code = _opened(options, variants, chain, recording)
    if recording.error is not None:
        raise recording.error
    return code


def _opened(options: argparse.Namespace, variants: list[Variant], chain: NamedChain | None, record: Sink | None) -> int:
    """Try the variants in the app, or in line mode where it cannot be drawn."""
    if options.plain or not can_draw(os.environ, sys.stdin.isatty(), sys.stdout.isatty()):
        return _plain(variants, chain, record)
    from knobmenu.picture.palettes import palette_named
    from knobmenu.terminal.app import KnobApp
    from knobmenu.terminal.backend.ends import run as run_app

    look = palette_named(options.look.replace("-", " ")) if options.look else None
    app = KnobApp(variants, look, blinking=not options.no_blink, chain=chain, record=record)
    app.desk.presenting = options.present
    return run_app(app)


def _chain(options: argparse.Namespace, knob: Knob) -> NamedChain | None:
    """Return the signal chain of the simulated encoder; None where an ideal one was requested."""
    if not (options.simulated or options.chain):
        return None
    from knobmenu.bench.simulated import first_try
    from knobmenu.cli.inputs import read_chain

    return read_chain(options.chain) if options.chain else first_try(knob)


def _plain(variants: Sequence[Variant], chain: NamedChain | None, record: Sink | None) -> int:
    """Try the designs line by line, from standard input."""
    gc.enable()
    from knobmenu.cli.streams import input_lines
    from knobmenu.line_mode import converse

    def say(line: str) -> None:
        print(line, flush=True)

    def prompt(text: str) -> None:
        print(text, end="", flush=True)

    paths = [str(variant.path) if variant.path else None for variant in variants]
    designs = [variant.design for variant in variants]
    fine = converse(designs, paths, input_lines(), say, prompt if sys.stdin.isatty() else None, chain, record)
    return 0 if fine else 1


def can_draw(environment: Mapping[str, str], reads_keys: bool, shows: bool) -> bool:
    """Tell whether a terminal can show the app: it is one at both ends, and no dumb one."""
    return reads_keys and shows and environment.get("TERM", "") not in ("dumb", "unknown", "")


def _variants(designs: Sequence[str]) -> list[Variant]:
    """Load the designs, or the demo; all problems of all files at once."""
    from importlib.resources import as_file, files
    from pathlib import Path

    from knobmenu.errors import DesignError, Problem
    from knobmenu.files import load
    from knobmenu.session.variants import Variant

    if not designs:
        with as_file(files("knobmenu.terminal") / "demo.toml") as path:
            return [Variant(load(path), None)]
    variants = []
    problems: list[Problem] = []
    for name in designs:
        try:
            variants.append(Variant(load(name), Path(name)))
        except DesignError as error:
            problems += error.problems
    if problems:
        raise DesignError(problems)
    return variants
