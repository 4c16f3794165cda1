"""The gestures that a knob has, and no others."""

from knobmenu.design.hardware import Knob
from knobmenu.events import DoublePress, HeldTurn, LongPress, Press, Turn
from knobmenu.knob.gestures import list_gestures


def test_every_knob_turns_presses_and_is_held() -> None:
    assert list_gestures(Knob()) == (Turn, Press, LongPress)


def test_the_rarer_gestures_are_those_that_the_knob_asks_for() -> None:
    assert list_gestures(Knob(turns_while_held=True)) == (Turn, HeldTurn, Press, LongPress)
    assert list_gestures(Knob(double_press_ms=250)) == (Turn, Press, LongPress, DoublePress)
