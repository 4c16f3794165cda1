"""``knobmenu replay``: play a recording, or export it."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from knobmenu.cli.outputs import add_overwrite
from knobmenu.cli.parsing import Parser, add_file

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from knobmenu.session.playback import Frame
    from knobmenu.session.recording import VisibleRecord

HELP = "play a recorded session, or export it"
DESCRIPTION = "Play a recorded session in the terminal, or write it as an asciicast or an animated picture."
EPILOG = """\
In a terminal: space stops and continues, + and - change the speed, right and left step, m and M go to the next and the
previous mark or note, q quits. Elsewhere every event is printed as a line. What a moderator wrote about the recording
with knobmenu watch, in p07.notes for p07.jsonl, is shown at its time.

examples:
  knobmenu replay session.jsonl
  knobmenu replay session.jsonl --design radio.toml
  knobmenu replay lamp.sittings/p01.jsonl --from "begin first brighter" --until "end done"
  knobmenu replay session.jsonl --to asciicast -o session.cast
  knobmenu replay session.jsonl --to svg -o session.svg
"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "recording", help="a recording")
    add_file(
        parser,
        "--design",
        metavar="DESIGN",
        action="append",
        help="a current design, one for each variant: report where it diverges from the recording",
    )
    parser.add_argument(
        "--from",
        dest="mark",
        metavar="MARK",
        help='begin at a mark, such as "begin first brighter"; at the last of that name',
    )
    parser.add_argument(
        "--until",
        metavar="MARK",
        help='end at a mark, such as "end done"; at the first of that name after the beginning',
    )
    parser.add_argument("--to", choices=("text", "asciicast", "svg"), help="write this format instead of playing")
    add_file(parser, "-o", "--output", help="the file to write")
    add_overwrite(parser)


def run(options: argparse.Namespace) -> int:
    """Replay the recording; return the exit code."""
    from knobmenu.files.recordings import read_visible
    from knobmenu.session.playback import format_asciicast, walk_frames

    if options.design:
        return _compare(options.recording, options.design)
    header, records = read_visible(options.recording)
    if options.to in (None, "text"):
        # Only text can show notes.
        records = _add_notes(options.recording, records)
    shown: Iterable[Frame] = walk_frames(header, records)
    if options.mark is not None or options.until is not None:
        shown = _select_between_marks(options.recording, list(shown), options.mark, options.until)
    designs = [recorded.design for recorded in header.designs]
    match options.to:
        case "asciicast":
            return _write(options, "".join(format_asciicast(header, shown)))
        case "svg":
            from knobmenu.session.animation import animate

            return _write(options, animate(designs, shown))
    from knobmenu.cli.try_ import can_draw

    if options.to is None and can_draw(os.environ, sys.stdin.isatty(), sys.stdout.isatty()):
        from knobmenu.errors import RecordingError
        from knobmenu.terminal.backend.ends import run as run_app
        from knobmenu.terminal.replay import ReplayApp

        every = list(shown)
        if not every:
            raise RecordingError(f"{options.recording}: expected at least one record after the header, got none")
        return run_app(ReplayApp(designs, every))
    from knobmenu.session.playback import format_line

    for frame in shown:
        if said := format_line(designs, frame):
            print(said)
    return 0


def _add_notes(recording: str, records: Iterator[VisibleRecord]) -> Iterator[VisibleRecord]:
    """Add the moderator's notes to the records; report unreadable ones."""
    from knobmenu.cli.streams import complain
    from knobmenu.files.notes import read_notes
    from knobmenu.session.moderator import add_notes

    noted = read_notes(recording)
    for problem in noted.problems:
        complain(problem)
    return add_notes(records, noted.notes)


def _select_between_marks(
    recording: str, every: Sequence[Frame], first: str | None, last: str | None
) -> Sequence[Frame]:
    """Return the frames from one mark to another; None: from the beginning, to the end."""
    from knobmenu.errors import RecordingError
    from knobmenu.session.playback import select_frames_from, select_frames_until

    try:
        begun = every if first is None else select_frames_from(every, first)
        return begun if last is None else select_frames_until(begun, last)
    except RecordingError as error:
        raise RecordingError(f"{recording}: {error}") from None


def _write(options: argparse.Namespace, text: str) -> int:
    from knobmenu.cli.outputs import write_file

    if options.output is None:
        sys.stdout.write(text)
    else:
        write_file(options.output, text, options.overwrite, (options.recording,))
    return 0


def _compare(recording: str, paths: Sequence[str]) -> int:
    """Report whether designs are those of the recording, and the first difference."""
    from knobmenu.codec.identity import compute_identity
    from knobmenu.files.disk import load
    from knobmenu.files.recordings import read_recording
    from knobmenu.session.playback import format_clock
    from knobmenu.session.restoring import find_divergence

    designs = [load(path) for path in paths]
    header, records = read_recording(recording)
    if [one.identity for one in header.designs] == [compute_identity(design) for design in designs]:
        print("It was recorded with this version of the design.")
    else:
        print("It was recorded with another version of the design.")
    found = find_divergence(header, records, designs)
    if found is None:
        print("All recorded effects and screens are the same now.")
        return 0
    print(f"At {format_clock(found.real_ms)}, event {found.number}, variant {found.variant + 1}, they diverge.")
    print(f"Recorded:\n{found.recorded}\nNow:\n{found.now}")
    return 1
