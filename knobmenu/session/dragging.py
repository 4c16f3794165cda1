"""The knob's rim, dragged around: how far that turns it."""

from __future__ import annotations

import attrs


@attrs.frozen
class Drag:
    """The rim, held by the mouse."""

    at: float
    """Where the mouse is around the knob, clockwise from the top. [turns]"""
    rest: float = 0.0
    """What it moved beyond the last detent. [turns]"""


def continue_drag(drag: Drag, turn: float, detents_per_turn: int) -> tuple[Drag, int]:
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
