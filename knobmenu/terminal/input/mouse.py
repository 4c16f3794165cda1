"""The mouse on the knob: its middle is pressed, its rim is dragged around."""

from __future__ import annotations

from math import atan2, pi

import attrs

from knobmenu.picture.knob import KNOB_WORDS
from knobmenu.picture.runs import Box

CAP = 0.7
"""How much of the knob's radius is its middle."""


@attrs.frozen
class Drag:
    """The rim, held by the mouse."""

    at: float
    """Where the mouse is around the knob, clockwise from the top. [turns]"""
    rest: float = 0.0
    """What it moved beyond the last detent. [turns]"""


def around(box: Box, x: float, y: float) -> tuple[float, bool]:
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
    middle = min(box.columns / 2, rows) / 2 * CAP
    return (atan2(across, -down) / (2 * pi)) % 1.0, across * across + down * down <= middle * middle


def dragged(drag: Drag, turn: float, detents_per_turn: int) -> tuple[Drag, int]:
    """Move the mouse around a knob.

    Args:
        drag: Before.
        turn: Where the mouse is now, clockwise from the top. [turns]
        detents_per_turn: Detents in one turn.

    Returns:
        The drag after that, and how far the knob turns, clockwise. [detents]
    """
    rest = drag.rest + (turn - drag.at + 0.5) % 1.0 - 0.5
    detents = int(rest * detents_per_turn)
    return Drag(turn, rest - detents / detents_per_turn), detents
