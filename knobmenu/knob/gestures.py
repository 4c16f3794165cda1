"""The gestures that a knob has."""

from __future__ import annotations

from knobmenu.design.hardware import Knob
from knobmenu.events import DoublePress, HeldTurn, LongPress, Press, Turn

Gesture = type[Turn | HeldTurn | Press | LongPress | DoublePress]


def list_gestures(knob: Knob) -> tuple[Gesture, ...]:
    """Return the events that a user can make with a knob; time and reports are not among them."""
    return (
        Turn,
        *((HeldTurn,) if knob.turns_while_held else ()),
        Press,
        LongPress,
        *((DoublePress,) if knob.double_press_ms else ()),
    )
