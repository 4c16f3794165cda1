"""Seven segments drawn as segments."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from knobmenu.picture.runs import Size
from knobmenu.screen.segments import PATTERNS

A, B, C, D, E, F, G = (1 << bit for bit in range(7))
"""The segments' bits: a at the top, then clockwise, g in the middle."""

LINES = Size(4, 3)
"""The size of a digit whose segments are drawn as lines, including its point. [terminal cells]"""


class Digit(NamedTuple):
    """The dimensions of a drawn digit. [dots]"""

    width: int
    height: int
    stroke: int
    """Thickness of a segment."""

    @property
    def pitch(self) -> int:
        """The distance between digits: the digit, its point and the gaps beside that; an even number."""
        return self.width + 2 + 2 * self.stroke


@lru_cache(maxsize=1024)
def draw_digit_levels(digit: Digit, character: str, point: bool) -> tuple[tuple[int, ...], ...]:
    """Return a digit's dots: 0 where there is no segment, 1 on an unlit one, 2 on a lit one.

    Args:
        digit: Its measures.
        character: A character of `knobmenu.screen.segments.PATTERNS`.
        point: Whether its decimal point is lit.
    """
    pattern = PATTERNS[character]
    levels = [[0] * digit.pitch for _ in range(digit.height)]
    for x in range(digit.width):
        for y in range(digit.height):
            segment = _find_segment(digit, x, y)
            if segment:
                levels[y][x] = 2 if pattern & segment else 1
    for y in range(digit.height - digit.stroke, digit.height):
        for x in range(digit.width + 1, digit.width + 1 + digit.stroke):
            levels[y][x] = 2 if point else 1
    return tuple(map(tuple, levels))


def _find_segment(digit: Digit, x: int, y: int) -> int:
    """Find the segment that a dot belongs to; the segments' ends are bevelled, as on a real display."""
    stroke, last = digit.stroke, digit.width - 1
    middle = (digit.height - stroke) // 2
    below = digit.height - 1 - y
    if middle <= y < middle + stroke and stroke <= x <= last - stroke:
        return G
    inset = min(x, last - x)
    edge = min(y, below)
    if edge < stroke and inset > edge:
        return A if y < below else D
    if inset < stroke and inset < edge < middle:
        upper = y < below
        if x < last - x:
            return F if upper else E
        return B if upper else C
    return 0


def draw_digit_lines(character: str, point: bool) -> tuple[str, str, str]:
    """Return a digit drawn with lines, three rows of four characters."""
    pattern = PATTERNS[character]

    def draw_line(segment: int, drawn: str) -> str:
        return drawn if pattern & segment else " "

    return (
        f" {draw_line(A, '_')}  ",
        f"{draw_line(F, '|')}{draw_line(G, '_')}{draw_line(B, '|')} ",
        f"{draw_line(E, '|')}{draw_line(D, '_')}{draw_line(C, '|')}{'.' if point else ' '}",
    )
