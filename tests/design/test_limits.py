"""Limits and steps, against the list of every value written out."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.kinds import Limited, Setting
from knobmenu.design.limits import (
    count_steps,
    find_limit_problems,
    find_step_at_least,
    find_step_at_most,
    move_by_steps,
    resolve_limits,
)
from knobmenu.design.settings import ENDS, Ends, Number, Scale
from tests.strategies import bound_pairs


def number(key: str, low: int | str, high: int | str, initial: int, step: int = 1) -> Number:
    return Number(key=key, label=key, low=low, high=high, initial=initial, step=step)


@st.composite
def short_settings(draw: st.DrawFn) -> tuple[Limited, list[int]]:
    """A number or a scale, with all its values."""
    ends: Ends = draw(st.sampled_from(ENDS))
    if draw(st.booleans()):
        values = sorted(draw(st.sets(st.integers(-40, 40), min_size=2, max_size=9)))
        return Scale(key="a", label="a", values=values, initial=values[0], ends=ends), values
    low, step, count = draw(st.integers(-40, 40)), draw(st.integers(1, 9)), draw(st.integers(1, 12))
    values = [low + step * index for index in range(count + 1)]
    setting = Number(key="a", label="a", low=low, high=values[-1], initial=low, step=step, ends=ends)
    return setting, values


@given(short_settings(), st.data())
def test_laying_a_number_on_the_steps_gives_the_nearest_below_or_above(
    given_: tuple[Limited, list[int]], data: st.DataObject
) -> None:
    setting, values = given_
    value = data.draw(st.integers(values[0], values[-1]))

    assert find_step_at_most(setting, value) == max(one for one in values if one <= value)
    assert find_step_at_least(setting, value) == min(one for one in values if one >= value)


@given(st.lists(st.integers(-40, 40), min_size=2, max_size=9, unique=True), st.integers(1, 50))
def test_what_is_beyond_the_list_of_a_scale_is_laid_on_its_end(listed: list[int], beyond: int) -> None:
    values = sorted(listed)
    scale = Scale(key="a", label="a", values=values, initial=values[0])

    assert find_step_at_most(scale, values[0] - beyond) == values[0]
    assert find_step_at_least(scale, values[-1] + beyond) == values[-1]


@given(short_settings(), st.data())
def test_stepping_walks_the_values_between_two_limits_and_stops_or_wraps_there(
    given_: tuple[Limited, list[int]], data: st.DataObject
) -> None:
    setting, values = given_
    first = data.draw(st.integers(0, len(values) - 1))
    last = data.draw(st.integers(first, len(values) - 1))
    allowed = values[first : last + 1]
    value, steps = data.draw(st.sampled_from(allowed)), data.draw(st.integers(-30, 30))
    place = allowed.index(value) + steps
    wanted = allowed[place % len(allowed)] if setting.ends == "wrap" else allowed[min(max(place, 0), len(allowed) - 1)]

    moved = move_by_steps(setting, value, steps, allowed[0], allowed[-1])

    assert moved == wanted
    assert count_steps(setting, value, moved) == allowed.index(moved) - allowed.index(value)


@given(bound_pairs())
def test_of_two_bound_settings_each_knows_who_must_make_room(pair: tuple[Setting, Setting]) -> None:
    lower, upper = pair
    limits = resolve_limits({setting.key: setting for setting in pair})

    assert limits[lower.key].pushed_up == (upper.key,)
    assert limits[upper.key].pushed_down == (lower.key,)
    assert (limits[lower.key].pushed_down, limits[upper.key].pushed_up) == ((), ())


@given(bound_pairs())
def test_a_limit_that_names_a_setting_reaches_as_far_as_that_setting_can_go(pair: tuple[Setting, Setting]) -> None:
    limits = resolve_limits({setting.key: setting for setting in pair})
    for own in pair:
        assert isinstance(own, Limited)
        for side in ("low", "high"):
            declared = getattr(own, side)
            if isinstance(declared, str):
                reach, far = getattr(limits[own.key], side), getattr(limits[declared], side)
                laid = find_step_at_least(own, far) if side == "low" else find_step_at_most(own, far)
                assert reach == laid


def test_a_chain_of_limits_ends_at_the_number_at_its_end() -> None:
    settings = {
        setting.key: setting
        for setting in (number("cold", 0, "mild", 10), number("mild", 0, "hot", 20), number("hot", 0, 95, 30))
    }

    assert [resolve_limits(settings)[key].high for key in settings] == [95, 95, 95]


@pytest.mark.parametrize(
    ("settings", "found", "hint"),
    [
        ([number("low", 0, "hgih", 1), number("high", 0, 9, 5)], '"hgih"', "high"),
        ([number("low", 0, "low", 1)], "the setting itself", ""),
        ([number("a", 0, "b", 1), number("b", 0, "a", 1)], 'the cycle "b" at most "a" at most "b"', ""),
        ([number("a", 0, "b", 7), number("b", 0, 9, 5)], '"a" starting at 7 above "b" at 5', ""),
        ([number("a", 5, "b", 6), number("b", 0, 9, 8)], 'the low end of "a" is 5, that of "b" is 0', ""),
        ([number("a", 0, 9, 0, step=2)], "9", "Write 8 or 10"),
        ([number("a", 0, 9, 4, step=3)], "4", "The nearest one is 3"),
        ([number("a", 9, 9, 9)], "9", ""),
        ([number("a", -(2**31), 2**31 - 1, 0)], "4294967295 above low", ""),
    ],
    ids=lambda value: value if isinstance(value, str) and value else None,
)
def test_limits_that_leave_no_room_are_told(settings: list[Setting], found: str, hint: str) -> None:
    problems = list(find_limit_problems({setting.key: setting for setting in settings}))

    assert any(found in problem.got and hint in str(problem) for problem in problems), problems
