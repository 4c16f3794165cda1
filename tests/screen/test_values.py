from __future__ import annotations

from decimal import Decimal

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import PixelDisplay
from knobmenu.design.home import Home
from knobmenu.design.kinds import Setting
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Choice, Clock, Digits, Number, Option, TextSetting
from knobmenu.design.whole import Design
from knobmenu.machine.values import Value
from knobmenu.screen.face import get_face
from knobmenu.screen.values import ValueText, describe_value, format_number, format_time, write_draft, write_value
from tests.screen.drawing import glass, proofer

INT32 = st.integers(-(2**31), 2**31 - 1)


@given(INT32, st.integers(0, 9))
def test_a_number_with_decimals_is_written_as_exact_decimal_arithmetic_writes_it(value: int, decimals: int) -> None:
    """Against Python's decimal arithmetic."""
    assert format_number(value, decimals) == f"{Decimal(value).scaleb(-decimals):f}"


@pytest.mark.parametrize(
    ("number", "unit", "text"),
    [("25", "°C", "25 °C"), ("42", "%", "42 %"), ("90", "°", "90°"), ("5", "″", "5″"), ("5", "", "5")],
)
def test_a_unit_follows_after_a_blank_but_for_angles(number: str, unit: str, text: str) -> None:
    """BIPM, The International System of Units, 9th edition, 5.4.3 and 5.4.7."""
    setting = Number(key="d", label="D", low=0, high=int(number), initial=0, unit=unit)

    assert _forms(_design(setting, "unicode"), "d", int(number))[0] == text


@given(st.integers(-50, 450))
def test_every_value_of_a_number_takes_the_same_field(value: int) -> None:
    text = _text(proofer(glass(16, 2)), "warmth", value)

    assert [len(form.text) for form in text.forms] == [len("-5.0 °C"), len("-5.0")]
    assert text.in_words == (value == -50)


def test_a_field_is_measured_in_characters_that_the_display_has() -> None:
    setting = Number(key="d", label="D", low=0, high=9, initial=0, unit="Ω", names=((0, "…"),))

    assert _forms(_design(setting, "unicode"), "d", 5) == ["5 Ω", "5"]
    assert _forms(_design(setting, "ascii"), "d", 5) == ["5 Ohm", "5"]
    assert _forms(_design(setting, "ascii"), "d", 0) == ["  ...", "..."]


def test_a_unit_that_leaves_no_character_leaves_no_blank() -> None:
    setting = Number(key="d", label="D", low=0, high=9, initial=0, unit="°")

    assert _forms(_design(setting, "ascii"), "d", 5) == ["5"]


def test_a_text_takes_one_cell_for_each_character_wherever_it_stands() -> None:
    setting = TextSetting(key="d", label="D", characters="Oß°…", longest=4)

    assert _forms(_design(setting, "ascii"), "d", "ß°…O") == ["s?.O"]


@given(st.data())
def test_a_clock_is_written_as_hours_minutes_and_seconds(data: st.DataObject) -> None:
    clock = Clock(key="t", label="T", fields="hours-minutes-seconds", most=23)
    value = data.draw(st.integers(0, clock.highest))

    assert format_time(clock, value) == f"{value // 3600:02}:{value // 60 % 60:02}:{value % 60:02}"


def test_the_first_field_of_a_clock_is_as_wide_as_its_largest_value() -> None:
    assert format_time(Clock(key="t", label="T", most=9), 65) == "1:05"
    assert format_time(Clock(key="t", label="T", fields="minutes-seconds", most=99), 65) == "01:05"


@given(st.data())
def test_the_part_at_hand_of_digits_is_the_digit_that_turning_changes(data: st.DataObject) -> None:
    decimals = data.draw(st.integers(0, 4))
    setting = Digits(key="d", label="D", low=0, high=data.draw(st.integers(1, 10**8)), initial=0, decimals=decimals)
    design = _design(setting)
    value = data.draw(st.integers(0, setting.high))
    place = data.draw(st.integers(0, setting.places - 1))
    text = write_draft(get_face(design, 0), "d", value, place)
    start, stop = text.at_hand

    assert text.full.text[start:stop] == str(value // 10 ** (setting.places - 1 - place) % 10)


def test_a_number_without_its_unit_is_the_same_number() -> None:
    text = _text(proofer(glass(16, 2)), "warmth", 285)

    assert ([form.text for form in text.forms], text.in_words) == (["28.5 °C", "28.5"], False)


def test_names_and_units_are_translated() -> None:
    design = attrs.evolve(
        proofer(glass(16, 2)),
        languages=("en", "de"),
        language="dough",
        settings=[
            attrs.evolve(setting, options=(Option(key="en", label="en"), Option(key="de", label="de")))
            if isinstance(setting, Choice)
            else setting
            for setting in proofer(glass(16, 2)).settings
        ],
        translations={"de": {"Off": "Aus", "rpm": "U/min", "On": "Ein"}},
    )
    german = get_face(design, 1)

    for key, value, shown in (("warmth", -50, "Aus"), ("fan", 20, "20 U/min"), ("beep", 1, "Ein")):
        assert write_value(german, key, value).full.text.strip() == shown
        assert describe_value(design, key, value, 1) == shown


def test_a_text_is_described_as_it_is_written_whatever_the_display_can_show() -> None:
    design = _design(TextSetting(key="d", label="D", characters="Öl", initial="Öl"))

    assert describe_value(design, "d", "Öl") == "Öl"
    assert describe_value(design, "d", "") == "empty"
    assert describe_value(design, "d", "  ") == "empty"


def test_a_field_is_wide_enough_for_the_longest_name() -> None:
    setting = Number(key="d", label="D", low=0, high=9, initial=0, unit="s", names=((0, "For ever"), (9, "x")))
    design = _design(setting)

    assert [_forms(design, "d", value)[0] for value in (0, 5, 9)] == ["For ever", "     5 s", "       x"]


def _text(design: Design, key: str, value: Value) -> ValueText:
    return write_value(get_face(design, 0), key, value)


def _forms(design: Design, key: str, value: Value) -> list[str]:
    return [form.text for form in _text(design, key, value).forms]


def _design(setting: Setting, characters: str = "lcd-a00") -> Design:
    return Design(
        name="One",
        display=PixelDisplay() if characters == "unicode" else glass(16, 2, characters),
        settings=(setting,),
        menus=(Menu(key="m", label="M", entries=("d",)),),
        home=Home(press="m"),
    )
