"""The layout of the bench for any size of terminal: pure arithmetic.

The knobs of the chain stand at the left; at the right the waveforms, and below them the table of speeds. What to change
first goes across the bottom.
"""

from __future__ import annotations

from knobmenu.picture.runs import Box, Size

LEAST = Size(80, 22)
"""The smallest terminal that the bench works in. [terminal cells]"""

ABOUT_FROM = 26
"""From so many rows on there is one that says what the chosen knob is. [terminal cells]"""

_MARGIN = 1
_BETWEEN = 2
_KNOBS = 29
"""Least width of the list of knobs. [terminal cells]"""
_WAVES, _TALL_WAVES = 13, 20
"""Rows of waveforms before the table gets more than its least, in a low and in a tall terminal. [terminal cells]"""
_TABLE = (4, 12)
"""Fewest and most rows of the table. [terminal cells]"""


def make_bench_plan(columns: int, rows: int) -> dict[str, Box] | None:
    """Lay everything out.

    Args:
        columns: Width of the terminal. [terminal cells]
        rows: Height of it. [terminal cells]

    Returns:
        Where each thing is, by name: ``head``, ``knobs``, ``waves``, ``table``, ``advice``, ``about`` and ``keys``;
        None where the terminal is too small.
    """
    if columns < LEAST.columns or rows < LEAST.rows:
        return None
    about = 1 if rows >= ABOUT_FROM else 0
    advice = 5 if rows < 30 else 6
    middle = rows - 2 - about - advice
    table = min(max(middle - (_WAVES if rows < 30 else _TALL_WAVES), _TABLE[0]), _TABLE[1])
    width = columns - 2 * _MARGIN
    knobs = min(max(_KNOBS, width // 4), 40)
    right, beside = _MARGIN + knobs + _BETWEEN, width - knobs - _BETWEEN
    boxes = {
        "head": Box(0, 0, columns, 1),
        "knobs": Box(_MARGIN, 1, knobs, middle),
        "waves": Box(right, 1, beside, middle - table),
        "table": Box(right, 1 + middle - table, beside, table),
        "advice": Box(_MARGIN, 1 + middle, width, advice),
        "keys": Box(0, rows - 1, columns, 1),
    }
    if about:
        boxes["about"] = Box(_MARGIN, rows - 2, width, 1)
    return boxes
