from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.home import Home
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Clock, Digits, Number
from knobmenu.design.whole import Design
from knobmenu.screen.values import clock_text, draft_text, number_text, part_at_hand, text_of, with_unit
from tests.screen.drawing import glass, proofer

INT32 = st.integers(-(2**31), 2**31 - 1)


@given(INT32, st.integers(0, 9))
def test_a_number_with_decimals_is_written_as_exact_decimal_arithmetic_writes_it(value: int, decimals: int) -> None:
    """Against Python's decimal arithmetic."""
    assert number_text(value, decimals) == f"{Decimal(value).scaleb(-decimals):f}"


@pytest.mark.parametrize(
    ("number", "unit", "text"),
    [("25", "°C", "25 °C"), ("42", "%", "42 %"), ("90", "°", "90°"), ("5", "″", "5″"), ("5", "", "5")],
)
def test_a_unit_follows_after_a_blank_but_for_angles(number: str, unit: str, text: str) -> None:
    """BIPM, The International System of Units, 9th edition, 5.4.3 and 5.4.7."""
    assert with_unit(number, unit) == text


@given(st.integers(-50, 450))
def test_every_value_of_a_number_takes_the_same_field(value: int) -> None:
    design = proofer(glass(16, 2))
    text = text_of(design, "warmth", value, {})

    assert len(text.full) == len("-5.0 °C")
    assert text.in_words == (value == -50)


@given(st.data())
def test_a_clock_is_written_as_hours_minutes_and_seconds(data: st.DataObject) -> None:
    clock = Clock(key="t", label="T", fields="hours-minutes-seconds", most=23)
    value = data.draw(st.integers(0, clock.highest))

    assert clock_text(clock, value) == f"{value // 3600:02}:{value // 60 % 60:02}:{value % 60:02}"


def test_the_first_field_of_a_clock_is_as_wide_as_its_largest_value() -> None:
    assert clock_text(Clock(key="t", label="T", most=9), 65) == "1:05"
    assert clock_text(Clock(key="t", label="T", fields="minutes-seconds", most=99), 65) == "01:05"


@given(st.data())
def test_the_part_at_hand_of_digits_is_the_digit_that_turning_changes(data: st.DataObject) -> None:
    decimals = data.draw(st.integers(0, 4))
    setting = Digits(key="d", label="D", low=0, high=data.draw(st.integers(1, 10**8)), initial=0, decimals=decimals)
    design = _design(setting)
    value = data.draw(st.integers(0, setting.high))
    place = data.draw(st.integers(0, setting.places - 1))
    text = draft_text(design, "d", value, {})
    start, stop = part_at_hand(setting, text, place)

    assert text.full[start:stop] == str(value // 10 ** (setting.places - 1 - place) % 10)


def test_a_number_without_its_unit_is_the_same_number() -> None:
    text = text_of(proofer(glass(16, 2)), "warmth", 285, {})

    assert text == ("28.5 °C", "28.5", False)


def test_names_and_units_are_translated() -> None:
    design = proofer(glass(16, 2))

    assert text_of(design, "warmth", -50, {"Off": "Aus"}).full.strip() == "Aus"
    assert text_of(design, "fan", 20, {"rpm": "U/min"}).full.strip() == "20 U/min"
    assert text_of(design, "beep", 1, {"On": "Ein"}).full.strip() == "Ein"


def test_a_field_is_wide_enough_for_the_longest_name() -> None:
    setting = Number(key="d", label="D", low=0, high=9, initial=0, unit="s", names=((0, "For ever"), (9, "x")))
    design = _design(setting)

    assert [text_of(design, "d", value, {}).full for value in (0, 5, 9)] == ["For ever", "     5 s", "       x"]


def _design(setting: Number | Digits) -> Design:
    return Design(
        name="One",
        display=glass(16, 2),
        settings=(setting,),
        menus=(Menu(key="m", label="M", entries=("d",)),),
        home=Home(press="m"),
    )
