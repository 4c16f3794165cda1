"""Domains of values, against the list of every value written out and judged one by one."""

from __future__ import annotations

from bisect import bisect_right
from itertools import pairwise

import pytest
from hypothesis import assume, given

from knobmenu.design.conditions import AtLeast, Condition, Equal, Resolved, holds
from knobmenu.design.domains import (
    count_values,
    find_all_thresholds,
    find_thresholds,
    get_domain,
    walk_conditions,
    walk_resolved_comparisons,
)
from knobmenu.design.home import Home
from knobmenu.design.menu import Entry, Menu, Readout
from knobmenu.design.settings import Number, Scale, TextSetting
from knobmenu.design.whole import Design
from tests.invariants import check_fits
from tests.strategies import designs


@given(designs())
def test_a_domain_holds_values_that_its_setting_can_have_and_no_others(design: Design) -> None:
    settings = [setting for setting in design.settings if not isinstance(setting, TextSetting)]
    assume(settings)
    for setting in settings:
        domain = get_domain(design, setting.key)
        assert count_values(design, setting.key) == len(domain) >= 2
        for value in (domain[0], domain[-1], domain[len(domain) // 2]):
            check_fits(design, setting.key, value)
        for outside in (domain[0] - 1, domain[-1] + 1):
            assert outside not in domain
            with pytest.raises(AssertionError):
                check_fits(design, setting.key, outside)


def judge_all(comparisons: list[Resolved], value: int) -> list[bool]:
    return [holds(comparison, lambda _: value) for comparison in comparisons]


@given(designs())
def test_thresholds_part_exactly_the_values_that_some_comparison_judges_differently(design: Design) -> None:
    places = {key: place for place, key in enumerate(design.index.positions)}
    over: dict[str, list[Resolved]] = {}
    for condition in walk_conditions(design):
        for comparison in walk_resolved_comparisons(condition):
            over.setdefault(list(places)[comparison.position], []).append(comparison)
    thresholds = find_all_thresholds(design)
    assert set(thresholds) == set(over)
    for key, comparisons in over.items():
        domain = get_domain(design, key)
        near = {0, len(domain) - 1}
        for value in (*thresholds[key], *(comparison.value for comparison in comparisons)):
            place = bisect_right(domain, value)
            near |= {one for one in range(place - 3, place + 3) if 0 <= one < len(domain)}
        tried = [domain[one] for one in sorted(near)]
        for before, after in pairwise(tried):
            verdicts = [judge_all(comparisons, value) for value in (before, after)]
            same = bisect_right(thresholds[key], before) == bisect_right(thresholds[key], after)
            assert same == (verdicts[0] == verdicts[1])


def design_with(*conditions: Condition) -> Design:
    """A design of a few values, and entries that are shown on these conditions."""
    entries = [Entry("level", shown_if=condition) for condition in conditions]
    return Design(
        name="Small",
        home=Home(press="main"),
        settings=(
            Number(key="level", label="Level", low=-10, high=10, initial=0, step=5),
            Number(key="limit", label="Limit", low="level", high=20, initial=10, step=5),
            Scale(key="rate", label="Rate", values=(1, 2, 5, 10, 20), low=2, high="cap", initial=2),
            Scale(key="cap", label="Cap", values=(2, 5, 10, 20), high=10, initial=10),
            TextSetting(key="name", label="Name", characters="AB", longest=3),
        ),
        readouts=(Readout(key="signal", label="Signal", low=-5, high=5), Readout(key="count", label="Count")),
        menus=(Menu(key="main", label="Main", entries=entries or [Entry("level")]),),
    )


def test_domains_of_a_small_design() -> None:
    design = design_with()
    assert list(get_domain(design, "level")) == [-10, -5, 0, 5, 10]
    assert list(get_domain(design, "limit")) == [-10, -5, 0, 5, 10, 15, 20]
    assert list(get_domain(design, "rate")) == [2, 5, 10]
    assert list(get_domain(design, "signal")) == list(range(-5, 6))
    assert count_values(design, "count") == 2**32
    assert count_values(design, "name") == 1 + 2 + 4 + 8
    with pytest.raises(ValueError, match='"name" is a text'):
        get_domain(design, "name")
    with pytest.raises(KeyError):
        get_domain(design, "main")


def test_thresholds_stand_on_the_steps() -> None:
    """A value that is not on the steps equals nothing; at least 1 begins at 5."""
    design = design_with(Equal("level", 0), Equal("level", 3), AtLeast("limit", 1), AtLeast("signal", -5))
    assert find_all_thresholds(design) == {"level": (0, 5), "limit": (5,), "signal": ()}
    assert find_thresholds(range(4), [Resolved("equal", value=0), Resolved("less", value=9)]) == (1,)
