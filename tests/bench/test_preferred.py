"""Preferred values are those of the standard, and a suggested pair of parts does what it is suggested for."""

from __future__ import annotations

import attrs
import eseries
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.contact import Burst, Contact
from knobmenu.bench.filter import Filter, judge
from knobmenu.bench.preferred import E24, SERIES, Corners, at_corners, suggest, values
from knobmenu.bench.signal import Signal
from tests.bench.stages import bouncing, filtered
from tests.bench.strategies import filters

PULL_UP = Filter(supply_v=4.5)
"""10 kilohm at 4.5 V, where the default corners are the published thresholds of a Schmitt trigger."""


@pytest.mark.parametrize("name", ["E3", "E6", "E12", "E24"])
def test_the_series_are_those_of_a_library_made_elsewhere(name: str) -> None:
    """The package eseries of the Python registry."""
    assert SERIES[name] == eseries.series(getattr(eseries, name))


def test_e24_is_that_of_the_standard_as_it_is_printed() -> None:
    """IEC 60063:2015, as printed at https://www.qsl.net/g4usp/Components/Component%20preferred%20values.htm"""
    printed = "1.0 1.1 1.2 1.3 1.5 1.6 1.8 2.0 2.2 2.4 2.7 3.0 3.3 3.6 3.9 4.3 4.7 5.1 5.6 6.2 6.8 7.5 8.2 9.1"

    assert [f"{digits / 10:.1f}" for digits in E24] == printed.split()


def test_eight_members_of_e24_are_not_what_the_formula_gives() -> None:
    """Calculated: 10^(n/24) rounded to two digits is something else for these; a generator by formula fails."""
    formula = [round(10 * 10 ** (nth / 24)) for nth in range(24)]

    assert [kept for kept, made in zip(E24, formula, strict=True) if kept != made] == [27, 30, 33, 36, 39, 43, 47, 82]


@given(st.sampled_from(["E3", "E6", "E12", "E24"]), st.floats(1e-10, 1e6), st.floats(1, 1e4))
def test_values_between_two_bounds_are_those_of_a_library_made_elsewhere(name: str, low: float, times: float) -> None:
    found = values(name, low, low * times)
    expected = list(eseries.erange(getattr(eseries, name), low, low * times))

    # The library leaves out a bound that is a value itself but for the last bit of a float; ours takes it.
    assert [one for one in found if low * 1.000001 < one < low * times * 0.999999] == pytest.approx(
        [one for one in expected if low * 1.000001 < one < low * times * 0.999999]
    )
    assert all(low * 0.999999 <= one <= low * times * 1.000001 for one in found)


def test_values_take_both_bounds_in() -> None:
    assert values("E3", 1e-9, 1e-8) == [1e-9, 2.2e-9, 4.7e-9, 1e-8]
    assert values("E12", 100.0, 100.0) == [100.0]
    assert values("E3", 5.0, 9.0) == []


@given(filters())
def test_the_corners_are_all_sixteen_but_those_whose_thresholds_cross(parts: Filter) -> None:
    low, way = parts.closed_v / 0.95, parts.supply_v - parts.closed_v / 0.95
    corners = Corners(
        rising_v=(low + 0.4 * way, low + 0.6 * way),
        falling_v=(low + 0.2 * way, low + 0.5 * way),
    )
    found = at_corners(parts, corners)

    assert len(found) == 12
    assert all(one.falling_v <= one.rising_v for one in found)
    assert {round(one.pull_up_ohm / parts.pull_up_ohm, 6) for one in found} == {0.95, 1.05}


def test_a_suggested_pair_removes_the_bounce_and_passes_the_turn_at_every_corner() -> None:
    """Tried by simulation: bursts of the wanted length one by one, and an even turn at the wanted speed."""
    bounce_s, periods_per_s = 2e-3, 30.0
    found = suggest(PULL_UP, Corners(), bounce_s, periods_per_s)
    burst = Burst(mean_ms=2.0, longest_ms=2.0, bounces=4.0)
    bounce = Contact(on_make=burst, on_break=burst)
    burst_train = bouncing(bounce, Signal(0, np.arange(100.0)), 1)
    half_s = 0.5 / periods_per_s
    beats = np.arange(1, 200, dtype=np.float64) * half_s

    assert found
    for one in found[:5]:
        pair = attrs.evolve(PULL_UP, series_ohm=one.series_ohm, capacitor_f=one.capacitor_f)
        for corner in at_corners(pair, Corners()):
            assert len(filtered(corner, burst_train).changes_s) == 100
            a, b = (filtered(corner, Signal(0, beats + lag)).changes_s for lag in (0.0, half_s / 2))
            assert len(a) == len(b) == len(beats)
            assert np.all(a < b)
            assert np.all(b[:-1] < a[1:])


def test_suggestions_state_their_worst_corner_and_the_best_margin_comes_first() -> None:
    found = suggest(PULL_UP, Corners(), 1e-3, 20.0)
    margins = [min(one.bounce_s / 1e-3, one.periods_per_s / 20.0) for one in found]
    best = attrs.evolve(PULL_UP, series_ohm=found[0].series_ohm, capacitor_f=found[0].capacitor_f)
    judged = [judge(corner) for corner in at_corners(best, Corners())]

    assert margins == sorted(margins, reverse=True)
    assert all(margin >= 1 for margin in margins)
    assert found[0].bounce_s == pytest.approx(min(one.longest_bounce_removed_s for one in judged))
    assert found[0].periods_per_s == pytest.approx(min(one.fastest_periods_per_s for one in judged))


def test_suggested_parts_are_of_the_series_that_can_be_bought() -> None:
    for one in suggest(PULL_UP, Corners(), 1e-3, 20.0):
        assert round(one.series_ohm / 10 ** (np.floor(np.log10(one.series_ohm)) - 1)) in SERIES["E12"]
        assert round(one.capacitor_f / 10 ** (np.floor(np.log10(one.capacitor_f)) - 1)) in SERIES["E6"]


def test_wishes_that_contradict_each_other_get_no_suggestion() -> None:
    """Ten milliseconds of bounce do not fit between the edges of 30 periods a second, 8.3 ms apart."""
    assert suggest(PULL_UP, Corners(), 10e-3, 30.0) == []
