"""``knobmenu watch``: what a moderator sees in a second terminal while somebody tries a device."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from typing import TYPE_CHECKING

from knobmenu.cli.parsing import Parser, add_command, file_name
from knobmenu.cli.streams import clear_screen, typing

if TYPE_CHECKING:
    from knobmenu.design.whole import Design
    from knobmenu.session.playback import Frame, Watched

_EPILOG = """\
The recording itself is not changed. Each line that you type is kept as a note beside it: in p07.notes for p07.jsonl.
Ctrl-C quits.

examples:
  knobmenu try radio.toml --present --record session.jsonl     in the participant's terminal
  knobmenu watch session.jsonl                                 in yours
  knobmenu watch lamp.sittings/p07.jsonl                       a sitting of a study
"""

POLL_S = 0.1
"""How often it looks for new records. [s]"""

LAST = 12
"""How many of the last things are shown. [lines]"""


def add_parser(commands: argparse._SubParsersAction[Parser]) -> None:
    """Add the command's own parser."""
    parser = add_command(
        commands,
        "watch",
        help="follow a session in a second terminal while it is recorded",
        description="Show what happens in a session that is being recorded: screens, events, task, clock and notes.",
        epilog=_EPILOG,
    )
    parser.add_argument("recording", metavar="SESSION", type=file_name, help="the recording of the session")
    parser.add_argument("--once", action="store_true", help="show the current state and exit")


def run(options: argparse.Namespace) -> int:
    """Watch the session; return the exit code."""
    live = sys.stdout.isatty() and not options.once
    with typing() if live else nullcontext() as keys:
        typed = keys or _nothing_typed
        while True:
            if live:
                _wait_for(options.recording, typed)
            if not _follow(options.recording, live=live, once=options.once, typed=typed):
                return 0


def _wait_for(recording: str, typed: Callable[[float], str]) -> None:
    """Wait until the recording is there; a moderator may be there before the participant."""
    if os.path.exists(recording):
        return
    clear_screen()
    print(f"Waiting for {recording}, which is not there yet. Ctrl-C quits.", flush=True)
    while not os.path.exists(recording):
        typed(POLL_S)


def _identity(recording: str) -> tuple[int, int] | None:
    """Return which file stands under the name of the recording; None where none does."""
    try:
        found = os.stat(recording)
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _follow(recording: str, *, live: bool, once: bool, typed: Callable[[float], str]) -> bool:
    """Follow one recording; return whether another file took its place."""
    from knobmenu.errors import RecordingError
    from knobmenu.files.recordings import StopFollowing, follow_shown
    from knobmenu.session.playback import Watched, draw_watched, frames, watch

    watched = Watched()
    view = _View(recording) if live else None
    designs: list[Design] = []
    first = _identity(recording)
    replaced = False

    def pause() -> None:
        nonlocal replaced
        if once:
            raise StopFollowing
        if live and _identity(recording) not in (first, None):
            replaced = True
            raise StopFollowing
        if view is not None:
            view.show(designs, watched)
            view.take(typed(POLL_S), watched)
        else:
            time.sleep(POLL_S)

    try:
        header, records = follow_shown(recording, pause)
    except RecordingError:
        if replaced:
            return True
        raise
    designs += [recorded.design for recorded in header.designs]
    for frame in frames(header, records):
        watched, said = watch(watched, designs, frame)
        if said and not live and not once:
            print(said, flush=True)
    if once:
        print("\n".join(draw_watched(designs, watched, LAST)))
    return replaced


class _View:
    """The screen of a moderator, and the note that they write."""

    def __init__(self, recording: str) -> None:
        self._recording = recording
        self._note = ""
        self._kept: tuple[str, ...] = ()
        """What became of the last notes."""
        self._drawn: tuple[str, ...] = ()
        self._last: Frame | None = None
        self._came_s = 0.0
        """When the last record came."""

    def show(self, designs: Sequence[Design], watched: Watched) -> None:
        """Draw what changed; the clock runs while somebody writes the recording."""
        from knobmenu.files.locks import is_locked
        from knobmenu.session.playback import draw_watched

        if watched.frame is not self._last:
            self._last, self._came_s = watched.frame, time.monotonic()
        running = is_locked(self._recording)
        # In whole seconds, so that it is drawn once a second.
        later_ms = int(time.monotonic() - self._came_s) * 1000 if running else 0
        drawn = draw_watched(designs, watched, LAST - len(self._kept), later_ms)
        lines = (*drawn, *self._kept, "" if running else "It is not being recorded now.", f"note: {self._note}_")
        if lines != self._drawn:
            self._drawn = lines
            clear_screen()
            print("\n".join(lines), flush=True)

    def take(self, typed: str, watched: Watched) -> None:
        """Take what the moderator types; Enter keeps it as a note."""
        from knobmenu.errors import RecordingError
        from knobmenu.files.sittings import append_note
        from knobmenu.session.playback import clock_words

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
                    self._kept, self._note = (*self._kept[-2:], str(error)), text
                else:
                    self._kept = (*self._kept[-2:], f"{clock_words(now_ms):>9}  noted: {text}")
            elif character in "\x7f\b":
                self._note = self._note[:-1]
            elif character == "\x15":
                self._note = ""
            elif character.isprintable():
                self._note += character


def _nothing_typed(wait_s: float) -> str:
    time.sleep(wait_s)
    return ""
