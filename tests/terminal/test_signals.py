"""Lamps and the sounder: nothing depends on colour."""

from __future__ import annotations

import pytest

from knobmenu.design.conditions import Equal
from knobmenu.design.hardware import Lamp
from knobmenu.machine.effects import Sound
from knobmenu.picture.runs import extract_text
from knobmenu.session.narration import describe_lamp
from knobmenu.terminal.desk.views.device import _draw_signals
from knobmenu.terminal.drawing.signals import draw_lamp_row, draw_sounder_row


def test_a_lamp_is_shown_by_shape_and_by_words() -> None:
    lamp = Lamp(key="heat", label="Heat", colour="bright green", blink_ms=1000, lit_if=Equal("on", True))

    assert extract_text((draw_lamp_row(lamp, lit=True),)) == "● Heat on, bright green, blinks every 1000 ms"
    assert extract_text((draw_lamp_row(lamp, lit=False),)) == "○ Heat off"
    assert extract_text((draw_lamp_row(lamp, lit=True, dark=True),)).startswith("○")
    assert draw_lamp_row(lamp, lit=True)[0].ink == "lamp-green"
    assert describe_lamp(lamp, lit=False, flashing=True) == "flash, bright green"


def test_a_sound_is_described_in_words() -> None:
    assert extract_text((draw_sounder_row(Sound("long_press", 40, 2000)),)) == "♪ long press, 2000 Hz for 40 ms"
    assert extract_text((draw_sounder_row(None),)) == "♪ silent"


@pytest.mark.parametrize(
    ("columns", "shown"),
    [
        (52, "○ Heat off   ○ Fan off   ● Ready on, red   ♪ silent"),
        (51, "○ Heat off   ○ Fan off   ● Ready on, red   ♪ silent"),
        (50, "○ Heat off   ○ Fan off   ● Ready on, red"),
        (39, "○ Heat  ○ Fan  ● Ready  ♪ silent"),
        (32, "○ Heat  ○ Fan  ● Ready  ♪ silent"),
        (31, "○ Heat  ○ Fan  ● Ready"),
        (22, "○ Heat  ○ Fan  ● Ready"),
        (21, "● Ready  ○ Heat  ○ F…"),
    ],
)
def test_where_room_is_scarce_words_give_way_and_lamps_that_shine_come_first(columns: int, shown: str) -> None:
    lamps = [
        Lamp(key="heat", label="Heat", lit_if=Equal("on", False)),
        Lamp(key="fan", label="Fan", lit_if=Equal("on", False)),
        Lamp(key="ready", label="Ready", colour="red", lit_if=Equal("on", True)),
    ]

    row = _draw_signals(tuple(lamps), (False, False, True), True, (), "shown", "", "", columns)

    assert extract_text((row,)) == shown
