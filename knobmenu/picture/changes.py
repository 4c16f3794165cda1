"""What is different between two pictures of the same place."""

from __future__ import annotations

from functools import lru_cache
from operator import attrgetter
from typing import NamedTuple

from knobmenu.picture.runs import Box, Drawing, Row, Run, count_cells


class Change(NamedTuple):
    """A piece of one row that looks different now."""

    box: Box
    """Where it is."""
    runs: Row
    """What is there now; as wide as the box."""


def list_changes(box: Box, before: Drawing, after: Drawing) -> list[Change]:
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
            x, width, runs = _differ(old, new, box.columns)
            found.append(Change(Box(box.x + x, box.y + number, width, 1), runs))
    return found


def make_padding(columns: int) -> Run:
    """Return what fills a row up behind its runs. [terminal cells]"""
    return Run(" " * columns, "text")


# Of a knob that turns to and fro, and of a list that is walked up and down, the same rows follow each other again.
@lru_cache(maxsize=4096)
def _differ(old: Row, new: Row, columns: int) -> tuple[int, int, Row]:
    """Return the piece of a row that is different: how far from the left, how wide, and what is there now.

    Args:
        old: The row before.
        new: The row now, which is different.
        columns: How wide its place is. [terminal cells]
    """
    shorter = min(len(old), len(new))
    same = 0
    while same < shorter and old[same] == new[same]:
        same += 1
    again = 0
    while again < shorter - same and old[-1 - again] == new[-1 - again]:
        again += 1
    x = _measure_width(new[:same])
    middle = new[same : len(new) - again]
    width = _measure_width(middle)
    if width and width == _measure_width(old[same : len(old) - again]):
        return x, width, middle
    rest = columns - x
    return x, rest, (*new[same:], make_padding(rest - _measure_width(new[same:])))


def _measure_width(runs: Row) -> int:
    """Return how wide runs are together. [terminal cells]"""
    return sum(map(count_cells, map(_text, runs)))


_text = attrgetter("text")
