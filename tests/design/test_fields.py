"""What a field refuses, it names."""

from collections.abc import Callable
from typing import Any

import attrs
import pytest

from knobmenu.design.fields import KEY_RULE, Boolean, Each, Key, OneOf, Text, Whole, WholeOrKey, to_tuple
from knobmenu.design.home import Home
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Choice, Digits, TextSetting
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError


@pytest.mark.parametrize(
    ("options", "found"), [("low high", '"low high"'), (b"low", "low"), (7, "7"), ({"a": 1}, "a table")]
)
def test_what_is_given_in_place_of_a_list_is_named(options: Any, found: str) -> None:
    with pytest.raises(DesignError, match="options: expected a list") as refused:
        Choice(key="source", label="Source", options=options)

    assert found in str(refused.value)


@pytest.mark.parametrize(
    ("make", "name"),
    [
        (lambda given: Menu(key="main", label="Main", entries=given), "entries"),
        (lambda given: Home(press="main", rows=given), "rows"),
        (lambda given: Design(name="Small", home=Home(press="main"), translations=given), "translations"),
    ],
)
def test_what_is_given_in_place_of_a_list_of_parts_is_named(make: Callable[[Any], object], name: str) -> None:
    with pytest.raises(DesignError, match=f"{name}: expected a list, got 7"):
        make(7)


@pytest.mark.parametrize(
    ("value", "advice"),
    [("12", "Remove the quotes"), ("-12", "Remove the quotes"), (12.5, "12.5 with decimals = 1 is written 125")],
)
@pytest.mark.parametrize("rule", [Whole(), WholeOrKey()])
def test_what_was_most_likely_meant_in_place_of_a_number_is_advised(rule: Any, value: object, advice: str) -> None:
    with pytest.raises(DesignError) as refused:
        rule(None, attrs.fields(Digits).low, value)
    assert advice in str(refused.value)


@pytest.mark.parametrize("value", ["twelve!", None, True, "1.5"])
@pytest.mark.parametrize("rule", [Whole(), WholeOrKey()])
def test_nothing_is_advised_where_no_number_was_meant(rule: Any, value: object) -> None:
    with pytest.raises(DesignError) as refused:
        rule(None, attrs.fields(Digits).low, value)
    assert [problem.advice for problem in refused.value.problems] == [""]


def test_a_list_and_a_generator_become_a_tuple() -> None:
    assert to_tuple([1, 2]) == to_tuple(number for number in (1, 2)) == (1, 2)


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        (Whole(), "a 32-bit integer"),
        (Whole(1, 9), "a whole number from 1 to 9"),
        (Whole(low=0), f"a whole number from 0 to {2**31 - 1}"),
        (Whole(high=0), f"a whole number from {-(2**31)} to 0"),
        (OneOf(("live", "on-commit")), 'one of "live" or "on-commit"'),
        (Text(), "text of at most 200 characters"),
        (Text(longest=12), "text of at most 12 characters"),
        (Text(1), "text of 1 to 200 characters"),
        (Text(2, 60), "text of 2 to 60 characters"),
        (Key(), KEY_RULE),
        (Key(optional=True), f"{KEY_RULE}, or nothing"),
        (Each(Boolean()), "at most 100000 items, each true or false"),
        (Each(Boolean(), 2, 4), "2 to 4 items, each true or false"),
        (Each(Boolean(), 8, 8), "8 items, each true or false"),
    ],
)
def test_a_rule_says_what_it_expects(rule: object, words: str) -> None:
    assert str(rule) == words


def test_a_number_may_be_either_of_its_ends_and_nothing_beyond() -> None:
    for decimals in (0, 9):
        assert Digits(key="band", label="Band", low=0, high=9, initial=0, decimals=decimals).decimals == decimals
    for decimals in (-1, 10):
        with pytest.raises(DesignError, match=f"expected a whole number from 0 to 9, got {decimals}"):
            Digits(key="band", label="Band", low=0, high=9, initial=0, decimals=decimals)


@pytest.mark.parametrize(("high", "decimals", "places"), [(9, 0, 1), (9, 2, 3), (100, 2, 3), (1080, 1, 4), (99, 9, 10)])
def test_digits_show_as_many_places_as_their_highest_value_and_one_before_the_point(
    high: int, decimals: int, places: int
) -> None:
    """docs/reference/spec.md, 11.4.2: at least one digit before the full stop."""
    assert Digits(key="band", label="Band", low=0, high=high, initial=0, decimals=decimals).places == places


def test_a_text_holds_up_to_forty_characters() -> None:
    assert TextSetting(key="name", label="Name", longest=40, initial="A" * 40).initial == "A" * 40
    with pytest.raises(DesignError, match="longest: expected a whole number from 1 to 40, got 41"):
        TextSetting(key="name", label="Name", longest=41)
