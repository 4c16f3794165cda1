"""Preferred values are those of the standard, and a suggested pair of parts does what it is suggested for."""

from __future__ import annotations

import eseries
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain
from knobmenu.bench.chain_file import loads
from knobmenu.bench.contact import Burst, Contact
from knobmenu.bench.corners import list_worst_corners
from knobmenu.bench.filter import Filter
from knobmenu.bench.inputs import get_thresholds_v
from knobmenu.bench.preferred import E24, SERIES, list_candidates, list_values
from knobmenu.bench.remedies import list_remedies
from knobmenu.bench.signal import Signal
from knobmenu.bench.suggest import suggest
from knobmenu.bench.verdict import reach_verdict
from tests.bench.stages import bouncing, filtered

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
    found = list_values(name, low, low * times)
    expected = list(eseries.erange(getattr(eseries, name), low, low * times))

    # The library leaves out a bound that is a value itself but for the last bit of a float; ours takes it.
    assert [one for one in found if low * 1.000001 < one < low * times * 0.999999] == pytest.approx(
        [one for one in expected if low * 1.000001 < one < low * times * 0.999999]
    )
    assert all(low * 0.999999 <= one <= low * times * 1.000001 for one in found)


def test_values_take_both_bounds_in() -> None:
    assert list_values("E3", 1e-9, 1e-8) == [1e-9, 2.2e-9, 4.7e-9, 1e-8]
    assert list_values("E12", 100.0, 100.0) == [100.0]
    assert list_values("E3", 5.0, 9.0) == []


def test_candidates_are_of_the_series_that_can_be_bought() -> None:
    """E12 resistors and E6 capacitors, IEC 60063."""
    for series_ohm, capacitor_f in list_candidates(Chain(), 9):
        assert series_ohm in list_values("E12", 1e3, 1e5)
        assert capacitor_f in list_values("E6", 1e-9, 1e-5)


def test_the_first_candidate_removes_the_longest_bounce_at_every_corner() -> None:
    """Tried by simulation: a hundred bursts of the longest length, one by one."""
    burst = Burst(mean_ms=3.0, longest_ms=3.0, bounces=4.0)
    chain = Chain(contact=Contact(on_make=burst, on_break=burst))
    train = bouncing(chain.contact, Signal(0, np.arange(100.0)), 1)
    series_ohm, capacitor_f = list_candidates(chain, 1)[0]
    rising_v, falling_v = get_thresholds_v("schmitt", chain.filter.supply_v)
    parts = Filter(series_ohm=series_ohm, capacitor_f=capacitor_f, rising_v=rising_v, falling_v=falling_v)

    for corner in list_worst_corners(parts, chain.tolerance):
        assert len(filtered(corner.a, train).changes_s) == 100


def test_suggestions_reach_what_the_verdict_says_and_the_best_comes_first() -> None:
    chain = loads("[contact]\npreset = 'encoder-2ms'\n[judging]\nseeds = 6\ntarget_turns_per_s = 1")
    found = suggest(chain)

    assert [one.reached_turns_per_s for one in found] == sorted(
        (one.reached_turns_per_s for one in found), reverse=True
    )
    for one in found[:2]:
        assert reach_verdict(one.chain).worst.turns_per_s >= one.reached_turns_per_s * 0.999
        assert one.is_enough == reach_verdict(one.chain).is_yes


def test_contacts_that_do_not_bounce_need_no_filter() -> None:
    assert not remedies_about_filters(Chain(contact=Contact()))


def remedies_about_filters(chain: Chain) -> list[str]:
    return [remedy.words for remedy, _ in list_remedies(chain) if remedy.part == "filter"]
