"""The knob from above: where it stands, its detents, whether it is pressed and how far a hold has come."""

from __future__ import annotations

from functools import lru_cache
from math import cos, pi, sin

from knobmenu.terminal.drawing.canvas import ACROSS, DOWN, Canvas
from knobmenu.terminal.drawing.runs import Drawing

HOLD_STEPS = 16
"""In how many steps the arc of a hold fills."""

_MARKS_APART = 3.5
"""Detent marks closer than this are thinned out. [dots]"""


def angle_degrees(detent: int, detents_per_turn: int) -> int:
    """Return how far a knob is turned from where it stood at power-on, clockwise. [degrees, 0 to 359]"""
    return detent % detents_per_turn * 360 // detents_per_turn


@lru_cache(maxsize=512)
def draw_knob(
    detent: int, detents_per_turn: int, columns: int, rows: int, pressed: bool = False, held: int = 0
) -> Drawing:
    """Draw the knob as a ring with a pointer, its detents around it.

    Pressed, its middle is filled. The arc of a hold runs clockwise from the top, inside the ring.

    Args:
        detent: Where it stands, clockwise from the top. [detents]
        detents_per_turn: Detents in one turn.
        columns: Width. [terminal cells]
        rows: Height. [terminal cells]
        pressed: Whether it is down.
        held: How much of a long press has passed, 0 to `HOLD_STEPS`.
    """
    canvas = Canvas(columns, rows)
    centre_x, centre_y = (canvas.width - 1) / 2, (canvas.height - 1) / 2
    outer = min(columns * ACROSS, rows * DOWN) / 2 - 0.5

    def dot(turn: float, radius: float, ink: str) -> None:
        """Set the dot at a part of a turn, clockwise from the top, and a distance from the middle."""
        x, y = centre_x + radius * sin(2 * pi * turn), centre_y - radius * cos(2 * pi * turn)
        canvas.dot(round(x), round(y), ink)

    def arc(first: float, last: float, radius: float, ink: str) -> None:
        steps = max(1, round(2 * pi * radius * (last - first) * 1.5))
        for step in range(steps + 1):
            dot(first + (last - first) * step / steps, radius, ink)

    here = detent % detents_per_turn / detents_per_turn
    ring = outer * 0.76
    thick = 1 if ring < 14 else 2
    gap = 3 if ring < 14 else 5
    for mark in _marks(detents_per_turn, outer):
        dot(mark / detents_per_turn, outer, "detent")
    if pressed:
        # The gap between the filled middle and the ring is where a hold's arc runs.
        for half in range(round(2 * (ring - gap))):
            arc(0, 1, half / 2, "knob-pressed")
    for inset in range(thick):
        arc(0, 1, ring - inset, "knob")
    if held:
        for inset in range(gap - thick):
            arc(0, min(held, HOLD_STEPS) / HOLD_STEPS, ring - thick - inset, "hold")
    for x, y in _pointer(centre_x, centre_y, here, ring):
        # Cut out of a filled knob, the pointer can be read without colour too.
        if pressed:
            canvas.clear(x, y)
        else:
            canvas.dot(x, y, "pointer")
    for radius in (outer, outer - 1):
        dot(here, radius, "pointer")
    return canvas.drawing("panel")


def _pointer(centre_x: float, centre_y: float, here: float, ring: float) -> set[tuple[int, int]]:
    """Return the dots of the pointer: from beside the middle to near the ring."""
    along_x, along_y = sin(2 * pi * here), -cos(2 * pi * here)
    across = (-0.5, 0.5) if ring < 14 else (-1.0, 0.0, 1.0)
    return {
        (
            round(centre_x + tenth / 10 * along_x - aside * along_y),
            round(centre_y + tenth / 10 * along_y + aside * along_x),
        )
        for tenth in range(round(ring * 4), round(ring * 8))
        for aside in across
    }


def _marks(detents_per_turn: int, radius: float) -> range:
    """Return which detents are marked: all, or every so many where they would touch."""
    apart = 2 * pi * radius / detents_per_turn
    every = 1
    while apart * every < _MARKS_APART or detents_per_turn % every:
        every += 1
        if every >= detents_per_turn:
            return range(0, detents_per_turn, detents_per_turn)
    return range(0, detents_per_turn, every)


def knob_words(detent: int, detents_per_turn: int, pressed: bool = False) -> str:
    """Say where the knob stands, such as ``135°, detent 9 of 24``."""
    words = f"{angle_degrees(detent, detents_per_turn)}°, detent {detent % detents_per_turn} of {detents_per_turn}"
    return f"{words}, pressed" if pressed else words
