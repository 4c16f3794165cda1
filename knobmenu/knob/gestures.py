"""The gestures that are possible with a knob."""

from __future__ import annotations

from knobmenu.design.hardware import Knob
from knobmenu.events import DoublePress, HeldTurn, LongPress, Press, Turn

Gesture = type[Turn | HeldTurn | Press | LongPress | DoublePress]


def list_gestures(knob: Knob) -> tuple[Gesture, ...]:
    """List the events that a user can cause with a knob; `Wait` and `Report` are not among them."""
    return (
        Turn,
        *((HeldTurn,) if knob.turns_while_held else ()),
        Press,
        LongPress,
        *((DoublePress,) if knob.double_press_ms else ()),
    )
