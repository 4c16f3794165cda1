"""Errors whose messages state the place, what was expected, what was found and what to do.

All errors have one root. The module is the lowest of all, so that no module imports upwards to raise an error.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from datetime import date, time
from itertools import islice
from typing import NamedTuple

MOST_PATH = 200
"""The longest path in a message; a longer one is cut in the middle. [characters]"""


class Problem(NamedTuple):
    """One thing that is wrong, and its remedy."""

    path: str
    """The place in the design, such as ``settings.volume.high``; empty for the design as a whole."""
    got: str
    """What was found, as its author would recognise it."""
    expected: str = ""
    """What is expected; empty if `got` is a complete sentence about the problem."""
    advice: str = ""
    """What to do, such as the nearest valid name; empty if `expected` already implies it."""
    file: str = ""
    """The file's name; empty for a design in Python."""
    line: int = 0
    """The line in the file, from 1; 0 if unknown."""

    def __str__(self) -> str:
        place = self.file
        if self.line:
            place += f":{self.line}" if self.file else f"line {self.line}"
        path = self.path
        if len(path) > MOST_PATH:
            path = f"{path[: MOST_PATH // 2]}…{path[-MOST_PATH // 2 :]}"
        where = ": ".join(part for part in (place, path) if part)
        what = mismatch(self.expected, self.got, self.advice)
        return printable(f"{where}: {what}" if where else what)


def mismatch(expected: str, got: str, advice: str = "") -> str:
    """Return the message of an error: what was expected, what was found, and what to do.

    Args:
        expected: What is expected; empty if `got` is a complete sentence about the problem.
        got: What was found.
        advice: What to do, as a sentence; the capital letter and the full stop are added.
    """
    message = f"expected {expected}, got {got}" if expected else got
    if not advice:
        return message
    return f"{message}. {advice[0].upper()}{advice[1:]}{'' if advice[-1] in '.?!…' else '.'}"


MOST_LISTED = 100
"""How many problems of a file are listed; the others are only counted."""


def list_problems(problems: Sequence[Problem]) -> str:
    """Format problems as text, one on a line: the first `MOST_LISTED`, and the number of the others."""
    lines = [str(problem) for problem in problems[:MOST_LISTED]]
    if len(problems) > MOST_LISTED:
        lines.append(f"… and {len(problems) - MOST_LISTED} more problems")
    return "\n".join(lines)


class KnobmenuError(Exception):
    """The root of every error that knobmenu raises for bad input."""


class ProblemsError(KnobmenuError):
    """Something cannot be used; `problems` holds all of its problems."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        return list_problems(self.problems)

    @classmethod
    def raise_any(cls, problems: Sequence[Problem]) -> None:
        """Raise the error with these problems, unless there are none."""
        if problems:
            raise cls(problems)


class DesignError(ProblemsError):
    """A design that is not valid; `problems` holds all of its problems."""


class EventError(KnobmenuError):
    """An event that is not valid, or earlier than the previous one; nothing has changed."""


class TraceError(KnobmenuError):
    """A trace that cannot be read; the message states the word and its position."""


class RecordingError(KnobmenuError):
    """A recording that cannot be read; the message states the line, what was expected and what was found."""


class StateError(KnobmenuError):
    """A saved state that cannot be read at all."""


class FileError(KnobmenuError):
    """A file that cannot be read or written; the message states the file, what was expected and what to do."""

    def __init__(self, file: str, expected: str, got: str, advice: str = "") -> None:
        self.file = file
        self.expected = expected
        self.got = got
        self.advice = advice
        super().__init__(file, expected, got, advice)

    def __str__(self) -> str:
        sentence = f"expected {self.expected}, got {self.got}. {self.advice}".strip()
        return printable(f"{self.file}: {sentence}" if self.file else sentence)


def quote_value(value: object, longest: int = 60) -> str:
    """Format a value as its author would recognise it, cut to `longest` characters.

    It must not fail for any value, since it is used while an error is being reported.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if value is None:
        return "nothing"
    if isinstance(value, int) and value.bit_length() > 256:
        return "a number with too many digits"
    if isinstance(value, dict | list | tuple):
        kind = "table" if isinstance(value, dict) else "list"
        return f"a {kind}" if value else f"an empty {kind}"
    if isinstance(value, date | time):
        text = value.isoformat()
    else:
        text = f'"{value}"' if isinstance(value, str) else repr(value)
    text = printable(text[: longest * 2])
    return text if len(text) <= longest else text[: longest - 1] + "…"


def printable(text: str) -> str:
    """Escape characters that a terminal would interpret or could not show, such as control characters."""
    if text.isprintable():
        return text
    return "".join(one if one.isprintable() else f"\\x{ord(one):02x}" for one in text)


_MOST_COMPARED = 100
"""How many names are compared with a mistyped one; one comparison takes several microseconds."""

_LONGEST_NAME = 200
"""The length of a name up to which it is compared. [characters]"""


def nearest(name: str, names: Iterable[str]) -> str:
    """Return advice with the valid name nearest to a mistyped one; empty if none is near."""
    names = list(names)
    if len(names) > _MOST_COMPARED:
        # Most typing errors are after the first character.
        alike = (other for other in names if other[:1] == name[:1] and abs(len(other) - len(name)) <= 3)
        names = list(islice(alike, _MOST_COMPARED))
    close = difflib.get_close_matches(name[:_LONGEST_NAME], names, n=1, cutoff=0.6)
    return f'Did you mean "{close[0]}"?' if close else ""


def one_of(names: Iterable[str], most: int = 12) -> str:
    """Format a list of valid names, with at most `most` of them."""
    listed = names if isinstance(names, Sequence) else list(names)
    quoted = [f'"{name}"' for name in listed[:most]]
    if not quoted:
        return "nothing (none is declared)"
    if len(listed) == 1:
        return quoted[0]
    if len(listed) > most:
        return "one of " + ", ".join(quoted) + f" … ({len(listed)} in all)"
    return "one of " + ", ".join(quoted[:-1]) + " or " + quoted[-1]
