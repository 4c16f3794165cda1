"""A map of errors over two numbers of a chain, with the line that the tolerated error rate draws in it."""

from __future__ import annotations

import math
from html import escape
from itertools import pairwise

from knobmenu.bench.figures import format_number, format_percent
from knobmenu.bench.plot import svg
from knobmenu.bench.plot.svg import FAINT, INK, LEFT, RIGHT, WIDTH
from knobmenu.bench.sweep import Cell, Map

_TOP = 104.0
"""Where the cells begin. [px]"""

_NO_ERROR = "#f7f9fb"
_STOPS = ((243, 221, 196), (224, 160, 112), (168, 67, 47), (61, 12, 30))
"""Colours at 0.1, 1, 10 and 100 %. Their lightness falls by equal steps, so that they differ in grey, too."""
_DARK_FROM = 0.03
"""From this error rate on, writing is light. [unitless]"""


def draw_error_map(found: Map) -> str:
    """Draw a map of errors.

    Returns:
        A whole SVG document.
    """
    columns, rows = len(found.across.values), len(found.down.values)
    wide = (WIDTH - LEFT - RIGHT) / columns
    high = min(max(460 / rows, 16.0), 60.0)
    drawn = []
    for row, cells in enumerate(found.cells):
        y = _TOP + row * high
        drawn.append(svg.draw_text(LEFT - 10, y + high / 2 + 4, format_number(found.down.values[row]), anchor="end"))
        for column, cell in enumerate(cells):
            drawn += _draw_cell(found, row, column, cell, (LEFT + column * wide, y, wide, high))
    drawn += _draw_limit(found, wide, high)
    bottom = _TOP + rows * high
    every = max(1, round(60 / wide))
    drawn += [
        svg.draw_text(LEFT + (column + 0.5) * wide, bottom + 18, format_number(value), anchor="middle")
        for column, value in enumerate(found.across.values)
        if column % every == 0
    ]
    middle = LEFT + (WIDTH - LEFT - RIGHT) / 2
    drawn.append(svg.draw_text(middle, bottom + 42, found.across.path, anchor="middle", weight=600))
    drawn.append(svg.draw_text(14, _TOP - 12, found.down.path, weight=600))
    drawn += _draw_scale(found.tolerated_error_rate)
    remark = "lost, extra and reversed together, in percent; crossed out: such a chain cannot be"
    return svg.draw_document("Errors for each 100 detents", remark, bottom + 60, drawn)


def _draw_cell(
    found: Map, row: int, column: int, cell: Cell | None, box: tuple[float, float, float, float]
) -> list[str]:
    x, y, wide, high = box
    words = (
        "not a chain"
        if cell is None
        else f"{format_percent(cell.error_rate)}{'' if cell.is_tolerated else ', too many'}"
    )
    tip = ", ".join(
        f"{axis.path} {format_number(axis.values[place])}"
        for axis, place in ((found.down, row), (found.across, column))
    )
    fill = "#ffffff" if cell is None else choose_colour(cell.error_rate)
    drawn = [
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide - 1:.1f}" height="{high - 1:.1f}" fill="{fill}">'
        f"<title>{escape(tip)}: {words}</title></rect>"
    ]
    if cell is None:
        drawn.append(svg.draw_line(x, y + high - 1, x + wide - 1, y, stroke=FAINT, width=0.8))
    elif wide > 44:
        ink = "#ffffff" if cell.error_rate > _DARK_FROM else INK
        rate = format_number(cell.error_rate * 100)
        drawn.append(svg.draw_text(x + wide / 2, y + high / 2 + 4, rate, anchor="middle", fill=ink, size=11))
    return drawn


def _draw_limit(found: Map, wide: float, high: float) -> list[str]:
    """Draw a line between the cells within the tolerated error rate and the others."""
    sides: list[tuple[float, float, float, float]] = []
    for row, cells in enumerate(found.cells):
        y = _TOP + row * high
        for column, (left, right) in enumerate(pairwise(cells)):
            if _differ(left, right):
                x = LEFT + (column + 1) * wide - 0.5
                sides.append((x, y - 0.5, x, y + high - 0.5))
        if row:
            for column, (above, below) in enumerate(zip(found.cells[row - 1], cells, strict=True)):
                if _differ(above, below):
                    x = LEFT + column * wide - 0.5
                    sides.append((x, y - 0.5, x + wide, y - 0.5))
    return [
        svg.draw_line(*side, stroke=stroke, width=width)
        for stroke, width in (("#ffffff", 6), (INK, 3))
        for side in sides
    ]


def _differ(one: Cell | None, other: Cell | None) -> bool:
    return one is not None and other is not None and one.is_tolerated != other.is_tolerated


def _draw_scale(tolerated: float) -> list[str]:
    """Draw the colour scale of rates, with the tolerated rate marked."""
    left, wide, high, y = WIDTH - RIGHT - 330.0, 300.0, 14.0, 34.0
    drawn = [
        f'<rect x="{left - 50:.1f}" y="{y}" width="20" height="{high}" fill="{_NO_ERROR}" stroke="{FAINT}"/>',
        svg.draw_text(left - 40, y + high + 14, "0", anchor="middle", size=10),
    ]
    pieces = 60
    for piece in range(pieces):
        rate = 10 ** (-3 + 3 * (piece + 0.5) / pieces)
        x = left + piece * wide / pieces
        drawn.append(
            f'<rect x="{x:.1f}" y="{y}" width="{wide / pieces + 0.3:.1f}" height="{high}"'
            f' fill="{choose_colour(rate)}"/>'
        )
    for rate in (0.001, 0.01, 0.1, 1.0):
        x = left + wide * _place_rate(rate)
        drawn.append(svg.draw_text(x, y + high + 14, format_percent(rate), anchor="middle", size=10))
    x = left + wide * _place_rate(tolerated)
    drawn += [
        svg.draw_line(x, y - 4, x, y + high + 2, stroke="#ffffff", width=6),
        svg.draw_line(x, y - 4, x, y + high + 2, stroke=INK, width=3),
        svg.draw_text(x, y - 9, f"tolerated: {format_percent(tolerated)}", anchor="middle", size=11, weight=600),
    ]
    return drawn


def _place_rate(rate: float) -> float:
    """Return the position of a rate between 0.1 and 100 %, on a logarithmic scale."""
    return min(max((math.log10(rate) + 3) / 3, 0.0), 1.0)


def choose_colour(rate: float) -> str:
    """Return the colour of an error rate: almost white for none, darker on a logarithmic scale from 0.1 % to 100 %."""
    if rate <= 0:
        return _NO_ERROR
    place, part = divmod(_place_rate(rate) * (len(_STOPS) - 1), 1)
    light, dark = _STOPS[int(place)], _STOPS[min(int(place) + 1, len(_STOPS) - 1)]
    return "#{:02x}{:02x}{:02x}".format(*(round(a + (b - a) * part) for a, b in zip(light, dark, strict=True)))
