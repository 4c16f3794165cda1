"""What a field refuses, it names."""

from typing import Any

import pytest

from knobmenu.design.fields import Boolean, Each, OneOf, Whole, to_tuple
from knobmenu.design.settings import Choice, Digits, TextSetting
from knobmenu.errors import DesignError


@pytest.mark.parametrize(
    ("options", "found"), [("low high", '"low high"'), (b"low", "low"), (7, "7"), ({"a": 1}, "a table")]
)
def test_what_is_given_in_place_of_a_list_is_named(options: Any, found: str) -> None:
    with pytest.raises(DesignError, match="options: expected a list") as refused:
        Choice(key="source", label="Source", options=options)

    assert found in str(refused.value)


def test_a_list_and_a_generator_become_a_tuple() -> None:
    assert to_tuple([1, 2]) == to_tuple(number for number in (1, 2)) == (1, 2)


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        (Whole(), "a whole number in 32 bits"),
        (Whole(1, 9), "a whole number from 1 to 9"),
        (Whole(low=0), f"a whole number from 0 to {2**31 - 1}"),
        (Whole(high=0), f"a whole number from {-(2**31)} to 0"),
        (OneOf(("live", "on-commit")), 'one of "live" or "on-commit"'),
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


def test_a_text_holds_up_to_forty_characters() -> None:
    assert TextSetting(key="name", label="Name", longest=40, initial="A" * 40).initial == "A" * 40
    with pytest.raises(DesignError, match="longest: expected a whole number from 1 to 40, got 41"):
        TextSetting(key="name", label="Name", longest=41)
