"""What is different between two pictures of the same place."""

from __future__ import annotations

from operator import attrgetter, ne
from typing import NamedTuple

from knobmenu.picture.runs import Box, Drawing, Row, Run, count_cells


class Change(NamedTuple):
    """A piece of one row that looks different now."""

    box: Box
    """Where it is."""
    runs: Row
    """What is there now; as wide as the box."""


def changes(box: Box, before: Drawing, after: Drawing) -> list[Change]:
    """Return what changed in a picture, at most one piece of each row.

    Args:
        box: The picture's place.
        before: Its rows before.
        after: Its rows now. Rows that are the same objects as before are not looked at.
    """
    found = []
    for number in range(min(max(len(before), len(after)), box.rows)):
        old = before[number] if number < len(before) else ()
        new = after[number] if number < len(after) else ()
        if old is not new and old != new:
            found.append(_change(box, box.y + number, old, new))
    return found


def padding(columns: int) -> Run:
    """Return what fills a row up behind its runs. [terminal cells]"""
    return Run(" " * columns, "text")


def _change(box: Box, y: int, old: Row, new: Row) -> Change:
    same = _same(old, new)
    x = _width(new[:same])
    old, new = old[same:], new[same:]
    again = _same(old[::-1], new[::-1])
    middle = new[: len(new) - again]
    width = _width(middle)
    if width and width == _width(old[: len(old) - again]):
        return Change(Box(box.x + x, y, width, 1), middle)
    rest = box.columns - x
    return Change(Box(box.x + x, y, rest, 1), (*new, padding(rest - _width(new))))


# Both are asked for every run of every changed row on every key, so they are written to be worked by the interpreter's
# own loops.


def _same(one: Row, other: Row) -> int:
    """Return how many runs are the same from the beginning."""
    different = list(map(ne, one, other))
    return different.index(True) if True in different else len(different)


def _width(runs: Row) -> int:
    """Return how wide runs are together. [terminal cells]"""
    return sum(map(count_cells, map(_text, runs)))


_text = attrgetter("text")
