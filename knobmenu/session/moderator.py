"""What a moderator wrote about a recording while it was made: notes on its clock, one JSON object a line.

They stand in a file of their own, since another process writes the recording. Nothing here opens a file.
"""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import attrs

from knobmenu.errors import Problem, printable, quote_value
from knobmenu.session.recording import Shown

MOST_PROBLEMS = 5
"""Lines that cannot be read and are each named; of more, the number is stated."""


@attrs.frozen
class ModeratorNote:
    """A note of a moderator."""

    real_ms: int
    """When it was written. [ms of real time since the header of the recording]"""
    text: str
    """Printable characters only: what a terminal would obey is spelled out."""


@attrs.frozen
class ModeratorNotes:
    """Everything that moderators wrote about a recording."""

    notes: tuple[ModeratorNote, ...] = ()
    """In order of time."""
    problems: tuple[str, ...] = ()
    """What cannot be read; each says the file, the line, what was expected and what was found."""


def decode_notes(lines: Iterable[str], file: str) -> ModeratorNotes:
    """Read the notes about a recording; a line that cannot be read is reported, and the others are read.

    Args:
        lines: The lines of their file.
        file: What problems call it.
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
        note = _note_from(plain)
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


def _note_from(plain: Any) -> ModeratorNote | None:
    match plain:
        case {"real_ms": int(real_ms), "text": str(text)} if real_ms is not True and 0 <= real_ms < 2**63:
            return ModeratorNote(int(real_ms), printable(text))
        case _:
            return None


def add_notes(shown: Iterable[Shown], notes: Sequence[ModeratorNote]) -> Iterator[Shown]:
    """Walk what a recording shows with the notes about it, each behind what had happened when it was written.

    Args:
        shown: What the recording shows.
        notes: In order of time.
    """
    rest, number = deque(notes), 0
    for one in shown:
        while rest and rest[0].real_ms < one.real_ms:
            yield _show(rest.popleft(), number)
        number = one.number
        yield one
    yield from (_show(note, number) for note in rest)


def _show(note: ModeratorNote, number: int) -> Shown:
    plain = {"kind": "note", "real_ms": note.real_ms, "text": note.text}
    return Shown(note.real_ms, "note", number, plain, (), "")
