"""A moderator's notes on a recording, written while it was made: one JSON object a line, timed by its clock.

They are in a file of their own, since another process writes the recording. This module does not open files.
"""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import attrs

from knobmenu.errors import Problem, printable, quote_value
from knobmenu.session.recording import VisibleRecord

MOST_PROBLEMS = 5
"""How many unreadable lines are listed; the others are only counted."""


@attrs.frozen
class ModeratorNote:
    """A note of a moderator."""

    real_ms: int
    """When it was written. [ms of real time since the header of the recording]"""
    text: str
    """Printable characters only; control characters are escaped."""


@attrs.frozen
class ModeratorNotes:
    """Everything that moderators wrote about a recording."""

    notes: tuple[ModeratorNote, ...] = ()
    """In order of time."""
    problems: tuple[str, ...] = ()
    """One message for each unreadable line: the file, the line, what was expected and what was found."""


def decode_notes(lines: Iterable[str], file: str) -> ModeratorNotes:
    """Read the notes on a recording; an unreadable line is reported, and the others are used.

    Args:
        lines: The lines of their file.
        file: The name of the file in messages.
    """
    notes: list[ModeratorNote] = []
    damaged: list[Problem] = []
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            plain = json.loads(line)
        except (ValueError, RecursionError):
            plain = line.strip()
        note = _note_from_plain(plain)
        if note is None:
            expected = "a note with real_ms and text"
            damaged.append(
                Problem(
                    "", quote_value(plain), expected, "correct or remove the line; the others are used", file, number
                )
            )
        else:
            notes.append(note)
    problems = [str(problem) for problem in damaged[:MOST_PROBLEMS]]
    if len(damaged) > MOST_PROBLEMS:
        problems.append(printable(f"{file}: … and {len(damaged) - MOST_PROBLEMS} more lines that cannot be read"))
    return ModeratorNotes(tuple(sorted(notes, key=lambda note: note.real_ms)), tuple(problems))


def _note_from_plain(plain: Any) -> ModeratorNote | None:
    match plain:
        case {"real_ms": int(real_ms), "text": str(text)} if real_ms is not True and 0 <= real_ms < 2**63:
            return ModeratorNote(int(real_ms), printable(text))
        case _:
            return None


def add_notes(shown: Iterable[VisibleRecord], notes: Sequence[ModeratorNote]) -> Iterator[VisibleRecord]:
    """Merge the records of a recording with the notes on it, by time; a note follows the records of its time.

    Args:
        shown: The records.
        notes: In order of time.
    """
    rest, number = deque(notes), 0
    for one in shown:
        while rest and rest[0].real_ms < one.real_ms:
            yield _show(rest.popleft(), number)
        number = one.number
        yield one
    yield from (_show(note, number) for note in rest)


def _show(note: ModeratorNote, number: int) -> VisibleRecord:
    plain = {"kind": "note", "real_ms": note.real_ms, "text": note.text}
    return VisibleRecord(note.real_ms, "note", number, plain, (), "")
