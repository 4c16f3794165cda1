"""The knob from above: its position, its detents, whether it is pressed and the progress of a hold."""

from __future__ import annotations

from functools import lru_cache
from math import atan2, cos, pi, sin
from typing import NamedTuple

from knobmenu.picture.disc import Shading, draw_disc
from knobmenu.picture.dots import ACROSS, DOWN, DotField
from knobmenu.picture.runs import Box, Drawing, Row, Run, merge

HOLD_STEPS = 16
"""In how many steps the arc of a hold fills."""

KNOB_WORDS = 2
"""Rows of words under the knob. [terminal cells]"""

MIDDLE = 0.7
"""How much of the knob's radius is its middle."""

_MARKS_APART = 3.5
"""Detent marks closer than this are thinned out. [dots]"""


def compute_angle_degrees(detent: int, detents_per_turn: int) -> int:
    """Compute the angle of a knob, clockwise from its position at power-on. [degrees, 0 to 359]"""
    return detent % detents_per_turn * 360 // detents_per_turn


def locate_on_knob(box: Box, x: float, y: float) -> tuple[float, bool]:
    """Return where the mouse is around a knob, and whether it is on its middle.

    Args:
        box: The knob's place.
        x: The mouse. [terminal cells from the left]
        y: The mouse. [terminal cells from the top]

    Returns:
        The angle clockwise from the top [turns], and whether the mouse is on the middle.
    """
    rows = box.rows - KNOB_WORDS
    across = (x + 0.5 - box.x - box.columns / 2) / 2
    down = y + 0.5 - box.y - rows / 2
    middle = min(box.columns / 2, rows) / 2 * MIDDLE
    return (atan2(across, -down) / (2 * pi)) % 1.0, across * across + down * down <= middle * middle


@lru_cache(maxsize=512)
def draw_knob(
    detent: int,
    detents_per_turn: int,
    columns: int,
    rows: int,
    pressed: bool = False,
    held: int = 0,
    shading: Shading | None = None,
) -> Drawing:
    """Draw the knob with a pointer, its detents around it: a ring of dots, or a shaded disc.

    Pressed, the middle of the ring is filled and the disc tinted. The arc of a hold runs clockwise from the top, inside
    the ring and on the disc's rim.

    Args:
        detent: Its position, clockwise from the top. [detents]
        detents_per_turn: Detents in one turn.
        columns: Width. [terminal cells]
        rows: Height. [terminal cells]
        pressed: Whether it is down.
        held: The progress of a long press, 0 to `HOLD_STEPS`.
        shading: The disc's colours; None: a ring.
    """
    if shading is not None:
        return _draw_shaded(detent, detents_per_turn, columns, rows, pressed, held, shading)
    canvas = _draw_still(detents_per_turn, columns, rows, pressed).copy()
    ring = _Ring.of(columns, rows)
    here = detent % detents_per_turn / detents_per_turn
    if held:
        for inset in range(ring.gap - ring.thick):
            ring.draw_arc(canvas, min(held, HOLD_STEPS) / HOLD_STEPS, ring.radius - ring.thick - inset, "hold")
    for x, y in ring.list_pointer_dots(here):
        # Cut out of a filled knob, the pointer can be read without colour too.
        if pressed:
            canvas.clear(x, y)
        else:
            canvas.set_dot(x, y, "pointer")
    for radius in (ring.outer, ring.outer - 1):
        canvas.set_dot(*ring.find_dot(here, radius), "pointer")
    return canvas.draw("panel")


def _draw_shaded(
    detent: int, detents_per_turn: int, columns: int, rows: int, pressed: bool, held: int, shading: Shading
) -> Drawing:
    """Draw the disc, and the dots of its detents around it."""
    marks = DotField(columns, rows)
    ring = _Ring.of(columns, rows)
    here = detent % detents_per_turn / detents_per_turn
    for mark in _choose_marks(detents_per_turn, ring.outer):
        marks.set_dot(*ring.find_dot(mark / detents_per_turn, ring.outer), "detent")
    for radius in (ring.outer, ring.outer - 1):
        marks.set_dot(*ring.find_dot(here, radius), "pointer")
    part = min(held, HOLD_STEPS) / HOLD_STEPS
    disc = draw_disc(shading, columns, rows, ring.radius / ACROSS + 0.5, here, pressed, part)
    return tuple(map(_lay_over, disc, marks.draw("panel")))


# Most rows are the same at the next angle: as the same objects they need not be compared when the knob turns.
@lru_cache(maxsize=1024)
def _lay_over(disc: Row, marks: Row) -> Row:
    """Lay a row of the disc over a row of marks."""
    above, below = ([(character, run) for run in row for character in run.text] for row in (disc, marks))
    pairs = zip(above, below, strict=True)
    return merge(
        Run(character, run.ink, run.ground)
        for character, run in (under if over[1].ground == "panel" else over for over, under in pairs)
    )


class _Ring(NamedTuple):
    """Where the knob is on its canvas. [dots]"""

    x: float
    """The middle."""
    y: float
    outer: float
    """Radius of the circle of detent marks."""
    radius: float
    """Radius of the knob."""
    thick: int
    """Thickness of its ring."""
    gap: int
    """From the outside of the ring to the filled middle: where a hold's arc runs."""

    @classmethod
    def of(cls, columns: int, rows: int) -> _Ring:
        width, height = columns * ACROSS, rows * DOWN
        outer = min(width, height) / 2 - 0.5
        radius = outer * 0.76
        thick, gap = (1, 3) if radius < 14 else (2, 5)
        return cls((width - 1) / 2, (height - 1) / 2, outer, radius, thick, gap)

    def find_dot(self, turn: float, radius: float) -> tuple[int, int]:
        """Return the dot at a part of a turn, clockwise from the top, and a distance from the middle."""
        return round(self.x + radius * sin(2 * pi * turn)), round(self.y - radius * cos(2 * pi * turn))

    def draw_arc(self, canvas: DotField, turn: float, radius: float, ink: str) -> None:
        """Draw an arc from the top."""
        steps = max(1, round(2 * pi * radius * turn * 1.5))
        for step in range(steps + 1):
            canvas.set_dot(*self.find_dot(turn * step / steps, radius), ink)

    def list_pointer_dots(self, here: float) -> set[tuple[int, int]]:
        """Return the dots of the pointer: from beside the middle to near the ring."""
        along_x, along_y = sin(2 * pi * here), -cos(2 * pi * here)
        across = (-0.5, 0.5) if self.radius < 14 else (-1.0, 0.0, 1.0)
        return {
            (
                round(self.x + tenth / 10 * along_x - aside * along_y),
                round(self.y + tenth / 10 * along_y + aside * along_x),
            )
            for tenth in range(round(self.radius * 4), round(self.radius * 8), 3)
            for aside in across
        }


@lru_cache(maxsize=32)
def _draw_still(detents_per_turn: int, columns: int, rows: int, pressed: bool) -> DotField:
    """Draw what does not depend on the angle: marks, ring and filled middle."""
    canvas = DotField(columns, rows)
    ring = _Ring.of(columns, rows)
    for mark in _choose_marks(detents_per_turn, ring.outer):
        canvas.set_dot(*ring.find_dot(mark / detents_per_turn, ring.outer), "detent")
    if pressed:
        inside = (ring.radius - ring.gap) ** 2
        for y in range(canvas.height):
            for x in range(canvas.width):
                if (x - ring.x) ** 2 + (y - ring.y) ** 2 <= inside:
                    canvas.set_dot(x, y, "knob-pressed")
    for inset in range(ring.thick):
        ring.draw_arc(canvas, 1, ring.radius - inset, "knob")
    return canvas


def _choose_marks(detents_per_turn: int, radius: float) -> range:
    """Choose the detents that are marked: all, or every n-th if the marks would touch."""
    apart = 2 * pi * radius / detents_per_turn
    every = 1
    while apart * every < _MARKS_APART or detents_per_turn % every:
        every += 1
        if every >= detents_per_turn:
            return range(0, detents_per_turn, detents_per_turn)
    return range(0, detents_per_turn, every)


def describe_knob(detent: int, detents_per_turn: int, pressed: bool = False) -> str:
    """Describe the position of the knob, such as ``135°, detent 9 of 24``."""
    words = (
        f"{compute_angle_degrees(detent, detents_per_turn)}°, detent {detent % detents_per_turn} of {detents_per_turn}"
    )
    return f"{words}, pressed" if pressed else words
