"""What is different between two pictures of the same place."""

from __future__ import annotations

from typing import NamedTuple

from rich.cells import cell_len
from textual.geometry import Region

from knobmenu.terminal.drawing.runs import Drawing, Row, Run
from knobmenu.terminal.layout import Box


class Change(NamedTuple):
    """A piece of one row that looks different now."""

    region: Region
    """Where it is."""
    runs: Row
    """What is there now; as wide as the region."""


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
    same = 0
    for one, other in zip(old, new, strict=False):
        if one != other:
            break
        same += 1
    old, new, x = old[same:], new[same:], _width(new[:same])
    again = 0
    for one, other in zip(reversed(old), reversed(new), strict=False):
        if one != other:
            break
        again += 1
    middle = new[: len(new) - again]
    width = _width(middle)
    if width and width == _width(old[: len(old) - again]):
        return Change(Region(box.x + x, y, width, 1), middle)
    rest = box.columns - x
    return Change(Region(box.x + x, y, rest, 1), (*new, padding(rest - _width(new))))


def _width(runs: Row) -> int:
    return sum(cell_len(run.text) for run in runs)
