"""Lamps and the sounder: nothing depends on colour."""

from __future__ import annotations

from knobmenu.design.conditions import Equal
from knobmenu.design.hardware import Lamp
from knobmenu.machine.effects import Sound
from knobmenu.picture.runs import extract_text
from knobmenu.session.narration import describe_lamp
from knobmenu.terminal.drawing.signals import lamp_row, sounder_row


def test_a_lamp_is_shown_by_shape_and_by_words() -> None:
    lamp = Lamp(key="heat", label="Heat", colour="bright green", blink_ms=1000, lit_if=Equal("on", True))

    assert extract_text((lamp_row(lamp, lit=True),)) == "● Heat on, bright green, blinks every 1000 ms"
    assert extract_text((lamp_row(lamp, lit=False),)) == "○ Heat off"
    assert extract_text((lamp_row(lamp, lit=True, dark=True),)).startswith("○")
    assert lamp_row(lamp, lit=True)[0].ink == "lamp-green"
    assert describe_lamp(lamp, lit=False, flashing=True) == "flash, bright green"


def test_a_sound_is_described_in_words() -> None:
    assert extract_text((sounder_row(Sound("long_press", 40, 2000)),)) == "♪ long press, 2000 Hz for 40 ms"
    assert extract_text((sounder_row(None),)) == "♪ silent"
