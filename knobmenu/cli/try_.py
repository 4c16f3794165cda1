"""``knobmenu try``: turn the knob of one or two designs in the terminal."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from knobmenu.cli.parsing import Parser, add_file, expand_file_name
from knobmenu.errors import printable

if TYPE_CHECKING:
    from knobmenu.bench.simulated import NamedChain
    from knobmenu.design.hardware import Knob
    from knobmenu.design.whole import Design
    from knobmenu.files.recordings import PatientRecording
    from knobmenu.files.running import RunningRecording
    from knobmenu.files.sessions import KeptSession
    from knobmenu.session.restoring import RestoredRecording
    from knobmenu.session.variants import Variant

HELP = "try a design in the terminal; it reloads as you edit the file"
DESCRIPTION = "Operate a simulated device with a simulated knob in the terminal."
EPILOG = """\
Without a design, try opens a built-in demo. Two designs run side by side, and one knob turns both.
Edit the file while it runs: the device reloads and keeps its place and values.
A session is kept while it runs. If it ended before its events and notes were saved, it is offered when you try the same
design again; --resume continues it.

examples:
  knobmenu try
  knobmenu try thermostat.toml
  knobmenu try thermostat.toml thermostat-2.toml
  knobmenu try thermostat.toml --simulated
  knobmenu try thermostat.toml --chain mine.toml
  knobmenu try thermostat.toml --plain < walk.txt
  knobmenu try thermostat.toml --resume
"""

LOOKS = ("dark", "light", "high-contrast", "16-colours", "no-colour")


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "designs", metavar="DESIGN", nargs="*", help="a design file, or two to compare")
    parser.add_argument(
        "--plain",
        action="store_true",
        help="line mode: text in, text out, for screen readers, simple terminals and pipes",
    )
    encoder = parser.add_mutually_exclusive_group()
    encoder.add_argument(
        "--simulated",
        action="store_true",
        help="start with a simulated encoder: bouncing contacts and a busy loop",
    )
    add_file(
        encoder,
        "--chain",
        help="start with a simulated encoder whose signal chain is in a TOML file (see knobmenu bench show)",
    )
    parser.add_argument("--look", choices=LOOKS, help="the colours to start with; by default what suits the terminal")
    parser.add_argument(
        "--present", action="store_true", help="show only the device and its knob; F10 shows everything again"
    )
    recording = parser.add_mutually_exclusive_group()
    add_file(recording, "--record", help="record the session to a new file (see knobmenu replay, watch)")
    recording.add_argument(
        "--resume",
        metavar="FILE",
        nargs="?",
        const="",
        help="continue an unsaved session: that of a recording, or the one offered for the designs",
    )
    recording.add_argument("--sessions", action="store_true", help="list the unsaved sessions and exit")
    # For knobmenu serve: present permanently, and draw without a terminal.
    parser.add_argument("--served", action="store_true", help=argparse.SUPPRESS)
    parser.add_argument("--no-blink", action="store_true", help="stop all blinking")


def run(options: argparse.Namespace) -> int:
    """Try the designs; return the exit code."""
    # Objects created before the first frame stay alive: collecting garbage would only delay that frame. The app enables
    # collection again after it.
    gc.disable()
    try:
        return _try_new(options)
    finally:
        gc.enable()


def _try_new(options: argparse.Namespace) -> int:
    from knobmenu.errors import DesignError, Problem

    if len(options.designs) > 2:
        found = f"{len(options.designs)} designs"
        raise DesignError([Problem("", found, "one design, or two to compare", "name at most two")])
    if options.sessions:
        return _list_sessions(options.designs)
    if options.resume is not None:
        kept, restored, variants = _resume(options)
        return _keep(options, variants, lambda: kept, restored)
    variants = _load_variants(options.designs)
    if options.record is not None:
        return _record(options, variants)

    def keep() -> KeptSession:
        # Late: importing what keeps the session would delay the first frame.
        from knobmenu.files.kept import resolve_name
        from knobmenu.files.sessions import KeptSession

        return KeptSession([resolve_name(variant.path) for variant in variants])

    return _keep(options, variants, keep, None)


def _record(options: argparse.Namespace, variants: list[Variant]) -> int:
    """Try the variants, and record the session to a new file that the user named."""
    from knobmenu.files.recordings import PatientRecording, RecordingFile
    from knobmenu.files.running import RunningRecording

    with RecordingFile(options.record) as file:
        recording = PatientRecording(file)
        code = _try_variants(options, variants, RunningRecording(lambda: recording))
    if recording.error is not None:
        raise recording.error
    return code


def _keep(
    options: argparse.Namespace,
    variants: list[Variant],
    open_recording: Callable[[], PatientRecording],
    restored: RestoredRecording | None,
) -> int:
    """Try the variants, keep the session in the user's state folder, and report unsaved work at the end."""
    from knobmenu.files.running import RunningRecording

    is_line_mode = _is_line_mode(options)
    # Piped input exists elsewhere already, so there is nothing to keep, and earlier sessions must not affect it.
    if is_line_mode and restored is None and not sys.stdin.isatty():
        return _try_variants(options, variants, RunningRecording())
    recording = RunningRecording(open_recording, restored)
    code = _try_variants(options, variants, recording)
    kept = recording.kept
    if kept is not None:
        import shlex

        kept.close()
        if code == 0 and kept.unsaved and kept.error is None:
            command = shlex.join(["knobmenu", "try", *(options.designs or ()), "--resume"])
            where = "" if options.designs else f" {shlex.quote(str(kept.path))}"
            print(f"Kept, but not saved: {kept.unsaved.description}. To continue: {command}{where}")
    return code


def _is_line_mode(options: argparse.Namespace) -> bool:
    drawn = options.served or can_draw(os.environ, sys.stdin.isatty(), sys.stdout.isatty())
    return options.plain or not drawn


def _try_variants(options: argparse.Namespace, variants: list[Variant], recording: RunningRecording) -> int:
    """Try the variants in the app, or in line mode if the terminal cannot draw it."""
    chain = _choose_chain(options, variants[0].design.knob)
    if _is_line_mode(options):
        return _run_line_mode(variants, chain, recording)
    from knobmenu.picture.palettes import get_palette
    from knobmenu.terminal.app import KnobApp
    from knobmenu.terminal.backend.ends import run as run_app

    look = get_palette(options.look.replace("-", " ")) if options.look else None
    app = KnobApp(variants, look, blinking=not options.no_blink, chain=chain, recording=recording)
    app.desk.presenting = options.present or options.served
    app.desk.stays_presented = options.served
    return run_app(app)


def _choose_chain(options: argparse.Namespace, knob: Knob) -> NamedChain | None:
    """Return the signal chain of the simulated encoder; None if an ideal one was requested."""
    if not (options.simulated or options.chain):
        return None
    from knobmenu.bench.simulated import make_first_try
    from knobmenu.cli.inputs import read_chain

    return read_chain(options.chain) if options.chain else make_first_try(knob)


def _run_line_mode(variants: Sequence[Variant], chain: NamedChain | None, recording: RunningRecording) -> int:
    """Try the designs line by line, from standard input."""
    gc.enable()
    from knobmenu.cli.streams import read_lines
    from knobmenu.files.kept import resolve_name
    from knobmenu.files.sessions import find_unfinished
    from knobmenu.line_mode import converse

    def say(line: str) -> None:
        print(line, flush=True)

    def prompt(text: str) -> None:
        print(text, end="", flush=True)

    paths = [str(variant.path) if variant.path else None for variant in variants]
    designs = [variant.design for variant in variants]
    prompts = prompt if sys.stdin.isatty() else None
    resumable = find_unfinished([resolve_name(variant.path) for variant in variants]) if prompts else ()
    fine = converse(designs, paths, read_lines(), say, prompts, chain, recording, resumable)
    return 0 if fine else 1


def can_draw(environment: Mapping[str, str], reads_keys: bool, shows: bool) -> bool:
    """Return whether a terminal can show the app: input and output are one, and it is not a dumb one."""
    return reads_keys and shows and environment.get("TERM", "") not in ("dumb", "unknown", "")


def _resume(options: argparse.Namespace) -> tuple[KeptSession, RestoredRecording, list[Variant]]:
    """Open the session to resume, and its present variants."""
    from pathlib import Path

    from knobmenu.errors import RecordingError
    from knobmenu.files.kept import resolve_name
    from knobmenu.files.sessions import KeptSession, find_unfinished

    variants = _load_variants(options.designs) if options.designs else []
    if options.resume:
        path = Path(expand_file_name(options.resume))
    else:
        found = find_unfinished([resolve_name(variant.path) for variant in variants] if variants else None)
        if not found:
            raise RecordingError(f"expected a session{_format_of(options.designs)} that has not been saved, got none")
        path = found[0].path
    try:
        kept, restored = KeptSession.resume(path)
    except RecordingError as error:
        # --resume takes the next word as its argument.
        if options.designs or path.suffix not in (".toml", ".json"):
            raise
        sentence = str(error)
        stop = "" if sentence[-1] in ".?!" else "."
        raise RecordingError(f"{sentence}{stop} Name the design before --resume.") from None
    designs = restored.timeline.designs
    if variants and len(variants) != len(designs):
        kept.close()
        raise RecordingError(f"{path}: expected a session of {len(variants)} designs, got one of {len(designs)}")
    return kept, restored, variants or [_reload_variant(*one) for one in zip(designs, kept.files, strict=True)]


def _reload_variant(recorded: Design, file: str) -> Variant:
    """Load a variant from its file; while that cannot be read, use the recorded design."""
    from pathlib import Path

    from knobmenu.errors import DesignError
    from knobmenu.files import load
    from knobmenu.session.variants import Variant

    if not file:
        return Variant(recorded, None)
    try:
        return Variant(load(file), Path(file))
    except DesignError as error:
        return Variant(recorded, Path(file), error.problems)


def _list_sessions(designs: Sequence[str]) -> int:
    """Print the sessions that `--resume` can continue."""
    import shlex
    from pathlib import Path

    from knobmenu.files.kept import resolve_name
    from knobmenu.files.sessions import find_unfinished

    found = find_unfinished([resolve_name(Path(name)) for name in designs] if designs else None)
    for one in found:
        tried = ", ".join(Path(file).name or "built-in demo" for file in one.files)
        print(f"{one.format_start()}  {printable(tried)}: {one.unsaved.description}")
        print(f"  {printable(shlex.quote(str(one.path)))}")
    if not found:
        print(f"There is no unsaved session{_format_of(designs)}.")
    return 0


def _format_of(designs: Sequence[str]) -> str:
    return f" of {' and '.join(map(printable, designs))}" if designs else ""


def _load_variants(designs: Sequence[str]) -> list[Variant]:
    """Load the designs, or the demo; report all problems of all files together."""
    from pathlib import Path

    from knobmenu import terminal
    from knobmenu.errors import DesignError, Problem
    from knobmenu.files import load
    from knobmenu.session.variants import Variant

    if not designs:
        return [Variant(load(Path(terminal.__file__).with_name("demo.toml")), None)]
    variants = []
    problems: list[Problem] = []
    for name in designs:
        try:
            variants.append(Variant(load(name), Path(name)))
        except DesignError as error:
            problems += error.problems
    DesignError.raise_any(problems)
    return variants
