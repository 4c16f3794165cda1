"""``knobmenu watch``: the moderator's view in a second terminal while a person tries a device."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from typing import TYPE_CHECKING

from knobmenu.cli.parsing import Parser, add_file
from knobmenu.cli.streams import clear_screen, complain, read_keys

if TYPE_CHECKING:
    from knobmenu.design.whole import Design
    from knobmenu.session.moderator import ModeratorNotes
    from knobmenu.session.playback import Frame, WatchState

HELP = "follow a session in a second terminal while it is recorded"
DESCRIPTION = "Show what happens in a session that is being recorded: screens, events, task, clock and notes."
EPILOG = """\
The recording itself is not changed. Each line that you type is kept as a note beside it: in p07.notes for p07.jsonl.
The last notes are shown, those of earlier watches too. Ctrl-C quits.

examples:
  knobmenu try radio.toml --present --record session.jsonl     in the participant's terminal
  knobmenu watch session.jsonl                                 in yours
  knobmenu watch lamp.sittings/p07.jsonl                       a sitting of a study
"""

POLL_S = 0.1
"""The interval of checks for new records. [s]"""

LAST = 12
"""How many lines of history and notes are shown. [lines]"""

LAST_NOTES = 6
"""The most lines of notes among them. [lines]"""


def add_options(parser: Parser) -> None:
    """Add the command's own options."""
    add_file(parser, "recording", metavar="SESSION", help="the recording of the session")
    parser.add_argument("--once", action="store_true", help="show the current state and exit")


def run(options: argparse.Namespace) -> int:
    """Watch the session; return the exit code."""
    live = sys.stdout.isatty() and not options.once
    with read_keys() if live else nullcontext() as keys:
        typed = keys or _wait_without_keys
        while True:
            if live:
                _wait_for(options.recording, typed)
            if not _follow(options.recording, live=live, once=options.once, typed=typed):
                return 0


def _wait_for(recording: str, typed: Callable[[float], str]) -> None:
    """Wait until the recording exists; the moderator may start before the participant."""
    if os.path.exists(recording):
        return
    clear_screen()
    print(f"Waiting for {recording}, which does not exist yet. Ctrl-C quits.", flush=True)
    while not os.path.exists(recording):
        typed(POLL_S)


def _examine(recording: str) -> tuple[tuple[int, int] | None, int]:
    """Return the identity of the recording's file, or None if it does not exist, and its length. [bytes]"""
    try:
        found = os.stat(recording)
    except OSError:
        return None, 0
    return (found.st_dev, found.st_ino), found.st_size


def _follow(recording: str, *, live: bool, once: bool, typed: Callable[[float], str]) -> bool:
    """Follow one recording; return whether another one replaced it."""
    from knobmenu.errors import RecordingError
    from knobmenu.files.notes import read_notes
    from knobmenu.files.recordings import StopFollowing, follow_visible
    from knobmenu.session.moderator import add_notes
    from knobmenu.session.playback import WatchState, draw_watched, walk_frames, watch

    watched = WatchState()
    noted = read_notes(recording)
    view = _View(recording, noted) if live else None
    designs: list[Design] = []
    first, _ = _examine(recording)
    longest = 0
    replaced = False

    def pause() -> None:
        nonlocal replaced, longest
        if once:
            raise StopFollowing
        present, size = _examine(recording)
        # A recording only grows: a shorter one was begun again under the same name.
        if live and (size < longest or present not in (first, None)):
            replaced = True
            raise StopFollowing
        longest = size
        if view is not None:
            view.show(designs, watched)
            view.take(typed(POLL_S), watched)
        else:
            time.sleep(POLL_S)

    try:
        header, records = follow_visible(recording, pause)
    except RecordingError:
        if replaced:
            return True
        raise
    designs += [recorded.design for recorded in header.designs]
    if not live and not once:
        for problem in noted.problems:
            complain(problem)
        records = add_notes(records, noted.notes)
    for frame in walk_frames(header, records):
        watched, said = watch(watched, designs, frame)
        if said and not live and not once:
            print(said, flush=True)
    if once:
        lines = _list_note_lines(noted)
        print("\n".join((*draw_watched(designs, watched, LAST - len(lines)), *lines)))
    return replaced


def _list_note_lines(noted: ModeratorNotes) -> tuple[str, ...]:
    """List the last notes, the newest last, below a line about unreadable ones."""
    lines = list(noted.problems[:1])
    if len(noted.problems) > 1:
        lines.append("More of the notes cannot be read; knobmenu replay reports it.")
    room = LAST_NOTES - len(lines)
    earlier = max(len(noted.notes) - room, 0)
    if earlier:
        lines.append(f"{earlier + 1} earlier notes; knobmenu replay shows them all.")
    lines += [_format_note(note.real_ms, note.text) for note in noted.notes[earlier + 1 if earlier else 0 :]]
    return tuple(lines)


def _format_note(real_ms: int, text: str) -> str:
    """Format a note as one line that fits the terminal."""
    from knobmenu.picture.runs import count_cells
    from knobmenu.session.playback import format_clock

    line = f"{format_clock(real_ms):>9}  noted: {text}"
    columns = shutil.get_terminal_size().columns
    if not sys.stdout.isatty() or count_cells(line) <= columns:
        return line
    line = line[:columns]
    while count_cells(line) >= columns:
        line = line[:-1]
    return f"{line}…"


def _count_rows_beyond(lines: Sequence[str]) -> int:
    """Count the rows that do not fit the terminal, whose last row is for the cursor."""
    from knobmenu.picture.runs import count_cells

    columns, rows = shutil.get_terminal_size()
    return sum(max(-(-count_cells(line) // columns), 1) for line in lines) - (rows - 1)


class _View:
    """The moderator's screen, and the note being written."""

    def __init__(self, recording: str, noted: ModeratorNotes) -> None:
        self._recording = recording
        self._note = ""
        self._kept = _list_note_lines(noted)
        """The last notes, and errors of those that could not be kept."""
        self._drawn: tuple[str, ...] = ()
        self._last: Frame | None = None
        self._came_s = 0.0
        """The time of the last record. [s]"""

    def show(self, designs: Sequence[Design], watched: WatchState) -> None:
        """Draw the screen if it changed; the clock runs while a process writes the recording."""
        from knobmenu.files.locks import is_locked
        from knobmenu.session.playback import draw_watched

        if watched.frame is not self._last:
            self._last, self._came_s = watched.frame, time.monotonic()
        running = is_locked(self._recording)
        # In whole seconds, so that the screen is drawn once a second.
        later_ms = int(time.monotonic() - self._came_s) * 1000 if running else 0
        below = (*self._kept, "" if running else "It is not being recorded now.", f"note: {self._note}_")
        last = LAST - len(self._kept)
        lines = (*draw_watched(designs, watched, last, later_ms), *below)
        if (beyond := _count_rows_beyond(lines)) > 0:
            lines = (*draw_watched(designs, watched, max(last - beyond, 1), later_ms), *below)
        if lines != self._drawn:
            self._drawn = lines
            clear_screen()
            print("\n".join(lines), flush=True)

    def take(self, typed: str, watched: WatchState) -> None:
        """Process what the moderator types; Enter keeps it as a note."""
        from knobmenu.errors import RecordingError
        from knobmenu.files.sittings import append_note

        for character in typed:
            if character in "\r\n":
                text, self._note = self._note.strip(), ""
                if not text:
                    continue
                now_ms = 0 if watched.frame is None else watched.frame.real_ms
                now_ms += int(1000 * (time.monotonic() - self._came_s)) if watched.frame is not None else 0
                try:
                    append_note(self._recording, now_ms, text)
                except RecordingError as error:
                    self._kept, self._note = (*self._kept[1 - LAST_NOTES :], str(error)), text
                else:
                    self._kept = (*self._kept[1 - LAST_NOTES :], _format_note(now_ms, text))
            elif character in "\x7f\b":
                self._note = self._note[:-1]
            elif character == "\x15":
                self._note = ""
            elif character.isprintable():
                self._note += character


def _wait_without_keys(wait_s: float) -> str:
    time.sleep(wait_s)
    return ""
