"""What a part refuses by itself, at the place of the field, and the nearest neighbour that it accepts."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import attrs
import pytest

from knobmenu.design.conditions import Equal
from knobmenu.design.domains import count_values, get_domain
from knobmenu.design.fields import INT32_HIGH, INT32_LOW, Boolean, Optional, Paragraphs
from knobmenu.design.generators import Generator
from knobmenu.design.hardware import Acceleration, Glyph, Knob, Lamp, PixelDisplay, SegmentDisplay, Sounder, Tone
from knobmenu.design.home import Home, Translation
from knobmenu.design.kinds import Setting, count_decimals
from knobmenu.design.labels import get_label
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Choice, Clock, Digits, Number, Option, Scale, Switch, TextSetting
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError

Fields = dict[str, Any]

NUMBER = partial(Number, key="n", label="N", low=0, high=9, initial=0)
SCALE = partial(Scale, key="s", label="S", initial=1)
TEXT = partial(TextSetting, key="t", label="T")
CLOCK = partial(Clock, key="c", label="C")
DIGITS = partial(Digits, key="d", label="D")
LAMP = partial(Lamp, key="l", label="L")
TENS = Generator(kind="grid", low=10, high=90, step=10)
RULES = (Acceleration(faster_than_ms=20, times=10), Acceleration(faster_than_ms=50, times=4))


def _names(*pairs: tuple[Any, Any]) -> Fields:
    return {"names": pairs}


def _translated(*pairs: tuple[str, Any]) -> Fields:
    return {"language": "de", "texts": pairs}


def _second_rule(faster_than_ms: int, times: int) -> Fields:
    return {"acceleration": (RULES[0], Acceleration(faster_than_ms=faster_than_ms, times=times))}


CASES: list[tuple[Callable[..., object], str, str, Fields, Fields]] = [
    (NUMBER, "names.1.5", "a 32-bit integer", _names((1.5, "N")), _names((1, "N"))),
    (NUMBER, "names.True", "a 32-bit integer", _names((True, "N")), _names((1, "N"))),
    (NUMBER, f"names.{2**31}", "a 32-bit integer", _names((2**31, "N")), _names((INT32_HIGH, "N"))),
    (NUMBER, f"names.{-(2**31) - 1}", "a 32-bit integer", _names((-(2**31) - 1, "N")), _names((INT32_LOW, "N"))),
    (NUMBER, "names.1", "the value again", _names((1, "N"), (1, "M")), _names((1, "N"), (2, "N"))),
    (NUMBER, "names.1", "text of 1 to 40", _names((1, "")), _names((1, "N"))),
    (NUMBER, "names.1", "text of 1 to 40", _names((1, "N" * 41)), _names((1, "N" * 40))),
    (NUMBER, "names.1", "text of 1 to 40", _names((1, 7)), _names()),
    (SCALE, "values", "got neither values nor a generator", {}, {"values": (1, 2)}),
    (SCALE, "values", "got both", {"values": (1, 2), "generator": TENS}, {"generator": TENS}),
    (SCALE, "values", "got 1 values", {"values": (1,)}, {"values": (1, 2)}),
    (SCALE, "values[2]", "more than 2, the value before it", {"values": (1, 2, 2)}, {"values": (1, 2, 3)}),
    (TEXT, "characters", '"A" again', {"characters": "ABA"}, {"characters": "ABa"}),
    (TEXT, "initial", "each one of", {"characters": "AB", "initial": "C"}, {"characters": "AB", "initial": "BB"}),
    (TEXT, "initial", "at most 2", {"longest": 2, "initial": "ABC"}, {"longest": 2, "initial": "AB"}),
    (CLOCK, "initial", "at most 1439", {"initial": 1440}, {"initial": 1439}),
    (CLOCK, "initial", "at most 599", {"most": 9, "initial": 600}, {"most": 9, "initial": 599}),
    (
        CLOCK,
        "initial",
        "at most 86399",
        {"fields": "hours-minutes-seconds", "initial": 86_400},
        {"fields": "hours-minutes-seconds", "initial": 86_399},
    ),
    (
        DIGITS,
        "high",
        "more than low, which is 5",
        {"low": 5, "high": 5, "initial": 5},
        {"low": 5, "high": 6, "initial": 5},
    ),
    (DIGITS, "initial", "5 to 6", {"low": 5, "high": 6, "initial": 4}, {"low": 5, "high": 6, "initial": 5}),
    (DIGITS, "initial", "5 to 6", {"low": 5, "high": 6, "initial": 7}, {"low": 5, "high": 6, "initial": 6}),
    (Knob, "detents_per_period", "1, 2 or 4", {"detents_per_period": 3, "pulses_per_turn": 8}, {}),
    (
        Knob,
        "detents_per_turn",
        "48, pulses times detents per period",
        {"detents_per_period": 2},
        {"detents_per_period": 2, "detents_per_turn": 48},
    ),
    (
        Knob,
        "long_press_ms",
        "more than debounce_ms, which is 50",
        {"debounce_ms": 50, "long_press_ms": 50},
        {"debounce_ms": 50, "long_press_ms": 51},
    ),
    (Knob, "acceleration[1]", "from the fastest", _second_rule(20, 4), _second_rule(21, 4)),
    (Knob, "acceleration[1]", "from the fastest", _second_rule(50, 10), _second_rule(50, 9)),
    (
        Knob,
        "acceleration[2]",
        "from the fastest",
        {"acceleration": (*RULES, Acceleration(faster_than_ms=40, times=2))},
        {"acceleration": (*RULES, Acceleration(faster_than_ms=51, times=2))},
    ),
    (LAMP, "lit_if", "got nothing", {}, {"answers": ("turn",)}),
    (LAMP, "lit_if", "got nothing", {"blink_ms": 500}, {"lit_if": Equal("n", 0), "blink_ms": 500}),
    (
        LAMP,
        "blink_ms",
        "at least 334",
        {"answers": ("turn",), "blink_ms": 333},
        {"answers": ("turn",), "blink_ms": 334},
    ),
    (LAMP, "blink_ms", "at least 334", {"answers": ("turn",), "blink_ms": 1}, {"answers": ("turn",), "blink_ms": 0}),
    (
        Sounder,
        "tones[1].answers",
        '"turn" again',
        {"tones": (Tone(answers=("turn",)), Tone(answers=("limit", "turn")))},
        {"tones": (Tone(answers=("turn",)), Tone(answers=("limit", "press")))},
    ),
    (
        Glyph,
        "dots[7]",
        "five characters",
        {"character": "x", "dots": ["....."] * 7 + ["..o.."]},
        {"character": "x", "dots": ["....."] * 7 + ["..#.."]},
    ),
    (PixelDisplay, "cell_width", "a grid of 7 by 4", {"width": 63}, {"width": 64}),
    (PixelDisplay, "cell_width", "a grid of 16 by 0", {"height": 15}, {"height": 16}),
    (Home, "press", "no gesture", {"double_press": "n"}, {"turn": "n"}),
    (Home, "press", "no gesture", {}, {"long_press": "n"}),
    (Translation, '"N"', "the text again", _translated(("N", "a"), ("N", "b")), _translated(("N", "a"), ("M", "a"))),
    (Translation, '"N"', "200 characters", _translated(("N", "a" * 201)), _translated(("N", "a" * 200))),
    (Translation, '"N"', "200 characters", _translated(("N", "a\n")), _translated(("N", ""))),
    (Translation, '"N"', "200 characters", _translated(("N", 7)), _translated()),
    (Generator, "high", "more than low", {"kind": "grid", "low": 1, "high": 1}, {"kind": "grid", "low": 1, "high": 2}),
    (
        Generator,
        "high",
        "a range of at most 10000 values",
        {"kind": "airband", "low": 0, "high": 62_500},
        {"kind": "airband", "low": 0, "high": 62_499},
    ),
    (
        Generator,
        "high",
        "at least two values of airband",
        {"kind": "airband", "low": 15, "high": 24},
        {"kind": "airband", "low": 15, "high": 25},
    ),
]


@pytest.mark.parametrize(("make", "path", "words", "refused", "accepted"), CASES)
def test_a_part_refuses_what_contradicts_itself_and_accepts_its_neighbour(
    make: Callable[..., object], path: str, words: str, refused: Fields, accepted: Fields
) -> None:
    assert make(**accepted)

    with pytest.raises(DesignError) as caught:
        make(**refused)
    (problem,) = caught.value.problems
    assert problem.path == path
    assert words in str(problem)


def test_options_of_one_key_are_refused_at_the_later_one() -> None:
    options = [Option(key=key, label="O") for key in ("a", "b", "a")]

    with pytest.raises(DesignError, match=r"options\[2\].key: expected each key once"):
        Choice(key="c", label="C", options=options)
    assert Choice(key="c", label="C", options=options[:2])


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (7, "at most 12 characters"),
        ("x" * 13, "Shorten it by 1 characters"),
        ("  \n ", "text that is not blank"),
        ("a\tb", "remove U\\+0009"),
    ],
)
def test_paragraphs_are_bounded_readable_text(value: object, words: str) -> None:
    rule, field = Paragraphs(12), attrs.fields(Number).label

    with pytest.raises(DesignError, match=f"(?i){words}"):
        rule(None, field, value)
    for readable in ("", "x" * 12, "two\nlines"):
        rule(None, field, readable)


def test_a_rule_that_may_be_left_out_says_so() -> None:
    assert str(Optional(Boolean())) == "true or false, or nothing"
    assert str(Paragraphs(12)) == "text of at most 12 characters"


ONE_OF_EACH: list[tuple[Setting, int]] = [
    (NUMBER(decimals=2), 2),
    (SCALE(values=(1, 2), decimals=1), 1),
    (DIGITS(low=0, high=9, initial=0, decimals=3), 3),
    (Choice(key="o", label="O", options=[Option(key="a", label="A"), Option(key="b", label="B")]), 0),
    (Switch(key="w", label="W"), 0),
    (CLOCK(), 0),
]


@pytest.mark.parametrize(("setting", "decimals"), ONE_OF_EACH, ids=lambda one: getattr(one, "key", None))
def test_only_numbers_have_decimals(setting: Any, decimals: int) -> None:
    assert count_decimals(setting) == decimals


def test_a_text_has_values_without_an_order_and_they_are_counted() -> None:
    text = TEXT(characters="ABC", longest=2)
    design = Design(name="N", settings=[text], menus=[Menu(key="m", label="M", entries=["t"])], home=Home(press="m"))

    with pytest.raises(ValueError, match='"t" is a text'):
        get_domain(design, "t")
    assert count_values(design, "t") == 1 + 3 + 9
    assert get_label(design, "back") == design.wording.back
    assert get_label(design, "m") == "M"


def test_a_seven_segment_display_is_one_row_of_its_digits() -> None:
    assert (SegmentDisplay(digits=6).columns, SegmentDisplay(digits=6).rows) == (6, 1)
