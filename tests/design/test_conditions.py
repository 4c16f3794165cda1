"""Conditions are judged as logic says: against Python's own operators, written here a second time."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.conditions import (
    All,
    Any,
    AtLeast,
    Condition,
    Equal,
    Less,
    Not,
    Unequal,
    holds,
    measure_depth,
    resolve,
    walk_comparisons,
)
from knobmenu.design.home import Home
from knobmenu.design.menu import Entry, Menu
from knobmenu.design.positions import NumberPosition
from knobmenu.design.settings import Number
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError

KEYS = ("heat", "time", "door")

_COMPARISONS = st.builds(
    lambda kind, key, value: kind(key, value),
    st.sampled_from((Equal, Unequal, Less, AtLeast)),
    st.sampled_from(KEYS),
    st.integers(-2, 2),
)
CONDITIONS: st.SearchStrategy[Condition] = st.recursive(
    _COMPARISONS,
    lambda parts: st.one_of(
        st.builds(Not, parts), st.builds(All, st.lists(parts, max_size=3)), st.builds(Any, st.lists(parts, max_size=3))
    ),
    max_leaves=8,
)
VALUES = st.fixed_dictionaries({key: st.integers(-3, 3) for key in KEYS})


def judged(condition: Condition, values: Mapping[str, int]) -> bool:
    match condition:
        case Equal(key, value):
            return values[key] == value
        case Unequal(key, value):
            return values[key] != value
        case Less(key, value):
            return values[key] < int(value)
        case AtLeast(key, value):
            return values[key] >= int(value)
        case All(parts):
            return False not in [judged(part, values) for part in parts]
        case Any(parts):
            return True in [judged(part, values) for part in parts]
        case Not(part):
            return not judged(part, values)


def told(condition: Condition, values: Mapping[str, int]) -> bool:
    numbers = [values[key] for key in KEYS]
    return holds(
        resolve(condition, lambda key, operand: (NumberPosition(KEYS.index(key)), int(operand))), numbers.__getitem__
    )


@given(CONDITIONS, VALUES)
def test_a_condition_holds_where_logic_says_so(condition: Condition, values: dict[str, int]) -> None:
    assert told(condition, values) == judged(condition, values)


@given(st.lists(CONDITIONS, max_size=4), VALUES)
def test_not_any_is_all_not_and_not_all_is_any_not(parts: list[Condition], values: dict[str, int]) -> None:
    """De Morgan's laws."""
    turned = [Not(part) for part in parts]

    assert told(Not(Any(parts)), values) == told(All(turned), values)
    assert told(Not(All(parts)), values) == told(Any(turned), values)


@given(CONDITIONS)
def test_every_comparison_is_found_at_the_path_where_it_stands(condition: Condition) -> None:
    for path, comparison in walk_comparisons(condition, "shown_if"):
        at: Condition = condition
        for step in path.removeprefix("shown_if").split(".")[1:]:
            assert isinstance(at, All | Any | Not)
            at = at.of if isinstance(at, Not) else at.of[int(step.partition("[")[2][:-1])]
        assert at == comparison


@given(CONDITIONS)
def test_each_joint_is_one_deeper_than_what_it_joins(condition: Condition) -> None:
    assert measure_depth(Not(condition)) == measure_depth(All([condition])) == measure_depth(condition) + 1
    assert measure_depth(condition) >= max((1 for _ in walk_comparisons(condition)), default=1)


def test_conditions_nest_sixteen_deep_and_no_deeper() -> None:
    """docs/reference/spec.md, on conditions: 16, a comparison alone being 1."""

    def design(joints: int) -> Design:
        condition: Condition = Equal("heat", 1)
        for _ in range(joints):
            condition = Not(condition)
        return Design(
            name="Deep",
            settings=[Number(key="heat", label="Heat", low=0, high=1, initial=0)],
            menus=[Menu(key="main", label="Main", entries=[Entry("heat", shown_if=condition)])],
            home=Home(press="main"),
        )

    assert measure_depth(design(15).menus[0].entries[0].shown_if or Equal("heat", 0)) == 16
    with pytest.raises(DesignError, match="conditions 17 deep"):
        design(16)


@pytest.mark.parametrize("value", [2**31, -(2**31) - 1, 1.5, None])
def test_nothing_is_compared_with_what_no_value_can_be(value: object) -> None:
    with pytest.raises(DesignError, match="32-bit"):
        Equal("heat", value)  # type: ignore[arg-type]
