"""Corners: each is a filter that can be, within the tolerances, and none of the others that are drawn is worse."""

from __future__ import annotations

import attrs
import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from knobmenu.bench.chain_file import loads
from knobmenu.bench.corners import Corner, Tolerance, list_worst_corners
from knobmenu.bench.filter import Filter, Pin, compute_closing_delay_s, compute_opening_delay_s
from knobmenu.bench.inputs import InputKind, get_thresholds_v
from knobmenu.bench.verdict import is_good, measure_row
from tests.bench.strategies import filters

TYPICAL = Filter(supply_v=4.5, series_ohm=22_000.0, capacitor_f=1e-7, rising_v=2.36, falling_v=1.53)


@given(filters())
@example(Filter(supply_v=1.0, pull_up_ohm=1000.0, series_ohm=0.0, capacitor_f=1.7e-07, contact_ohm=1.0,
                rising_v=0.10000000000000002, falling_v=0.1, noise_v=0.0))  # fmt: skip
def test_the_corners_of_any_filter_keep_its_kind_of_input(parts: Filter) -> None:
    found = list_worst_corners(parts, Tolerance())

    assert bool(found) == bool(parts.capacitor_f)
    for corner in found:
        for one in (corner.a, corner.b):
            assert (one.rising_v == one.falling_v) == (parts.rising_v == parts.falling_v)


@pytest.mark.parametrize(
    ("kind", "rising", "falling", "apart"),
    [
        # NXP 74HC1G14, table 7, http://www.datasheetandpdf.com/EN/NXP/4/74HC1G14.htm: volts at 4.5 V.
        ("schmitt", (1.7, 3.15), (0.9, 2.0), 0.4),
        # 74HC family: low below 0.3 and high above 0.7 of the supply (from memory).
        ("cmos", (1.35, 3.15), (1.35, 3.15), 0.0),
        # ATmega48/88/168: low below 0.3 and high above 0.6 of the supply (from memory).
        ("microcontroller", (1.35, 2.7), (1.35, 2.7), 0.05 * 4.5),
    ],
)
def test_the_thresholds_of_an_input_with_a_name_lie_between_its_published_limits(
    kind: InputKind, rising: tuple[float, float], falling: tuple[float, float], apart: float
) -> None:
    """And reach them, except where the least hysteresis keeps falling and rising apart."""
    rising_v, falling_v = get_thresholds_v(kind, 4.5)
    parts = attrs.evolve(TYPICAL, rising_v=rising_v, falling_v=falling_v)
    ones = [one for corner in list_worst_corners(parts, Tolerance()) for one in (corner.a, corner.b)]

    assert rising[0] <= min(one.rising_v for one in ones) + 1e-9
    assert max(one.rising_v for one in ones) <= rising[1] + 1e-9
    assert falling[0] <= min(one.falling_v for one in ones) + 1e-9
    assert max(one.falling_v for one in ones) <= falling[1] + 1e-9
    assert min(one.rising_v - one.falling_v for one in ones) >= apart - 1e-9
    if kind == "schmitt":
        assert (min(one.rising_v for one in ones), max(one.rising_v for one in ones)) == pytest.approx(rising)
        assert min(one.falling_v for one in ones) == pytest.approx(falling[0])


def test_thresholds_without_a_name_are_off_by_the_tolerance() -> None:
    parts = attrs.evolve(TYPICAL, rising_v=2.5, falling_v=1.5)
    ones = [one for corner in list_worst_corners(parts, Tolerance(threshold=0.1)) for one in (corner.a, corner.b)]

    assert {round(one.rising_v, 6) for one in ones} == {2.25, 2.75}
    assert {round(one.falling_v, 6) for one in ones} == {1.35, 1.65}


@given(filters(), st.floats(0.5, 2.0))
def test_a_supply_that_thresholds_and_pull_ups_follow_changes_no_crossing(parts: Filter, factor: float) -> None:
    """Every voltage is off in proportion, so that every moment stays: the supply's tolerance cancels."""
    quiet = attrs.evolve(parts, noise_v=0.0)
    scaled = attrs.evolve(
        quiet,
        supply_v=quiet.supply_v * factor,
        rising_v=quiet.rising_v * factor,
        falling_v=quiet.falling_v * factor,
    )
    contact_s = np.cumsum(np.array([1.0, 0.5, 2.0, 0.3, 5.0, 0.1, 0.7])) * max(quiet.open_s, 1e-6)

    assert list(Pin(scaled, 0).feed(contact_s, np.inf)) == pytest.approx(
        list(Pin(quiet, 0).feed(contact_s, np.inf)), rel=1e-9
    )


@pytest.mark.parametrize("kind", ["cmos", "microcontroller", "schmitt"])
def test_the_supply_of_an_input_with_a_name_stays_nominal(kind: InputKind) -> None:
    rising_v, falling_v = get_thresholds_v(kind, 4.5)
    parts = attrs.evolve(TYPICAL, rising_v=rising_v, falling_v=falling_v)

    assert list_worst_corners(parts, Tolerance(supply=0.5)) == list_worst_corners(parts, Tolerance(supply=0.0))


STATED = attrs.evolve(TYPICAL, supply_v=5.0, rising_v=2.0, falling_v=0.8)
"""TTL levels, 2.0 and 0.8 V at any supply (JEDEC's interface standard, from memory), behind pull-ups to 5 V."""


def test_a_supply_that_stated_thresholds_do_not_follow_widens_the_delays_and_is_one_for_both_phases() -> None:
    off, exact = list_worst_corners(STATED, Tolerance(supply=0.1)), list_worst_corners(STATED, Tolerance(supply=0.0))

    assert {one.supply_v for corner in off for one in (corner.a, corner.b)} == {4.5, 5.5}
    assert all(corner.a.supply_v == corner.b.supply_v for corner in off)
    for corner, before in zip(off, exact, strict=True):
        for one, other in ((corner.a, before.a), (corner.b, before.b)):
            later = compute_opening_delay_s(one) > compute_opening_delay_s(other)
            assert later == (one.supply_v < other.supply_v)
    # A slow opening is late by the closed form: a supply 10 % lower against a threshold that stays where it is.
    slow = next(corner for corner in off if corner.name == "both phases slow").a
    assert compute_opening_delay_s(slow) == pytest.approx(
        slow.open_s * np.log((4.5 - slow.closed_v) / (4.5 - 2.0 * 1.3))
    )


@given(filters(), st.floats(0.0, 0.5))
def test_no_supply_within_any_tolerance_makes_a_filter_that_cannot_be(parts: Filter, supply: float) -> None:
    for corner in list_worst_corners(parts, Tolerance(supply=supply)):
        for one in (corner.a, corner.b):
            assert one.closed_v < one.falling_v <= one.rising_v < one.supply_v


def test_parts_and_supplies_drawn_within_the_tolerances_open_no_later_than_the_corners() -> None:
    generator = np.random.default_rng(3)
    tolerance = Tolerance()
    ones = [one for corner in list_worst_corners(STATED, tolerance) for one in (corner.a, corner.b)]
    low, high = min(map(compute_opening_delay_s, ones)), max(map(compute_opening_delay_s, ones))
    for _ in range(300):
        off = generator.uniform(-1, 1, 5)
        drawn = attrs.evolve(
            STATED,
            supply_v=5.0 * (1 + 0.05 * off[0]),
            pull_up_ohm=STATED.pull_up_ohm * (1 + 0.05 * off[1]),
            series_ohm=STATED.series_ohm * (1 + 0.05 * off[1]),
            capacitor_f=STATED.capacitor_f * (1 + 0.1 * off[2]),
            rising_v=2.0 * (1 + 0.3 * off[3]),
            falling_v=min(0.8 * (1 + 0.3 * off[4]), 2.0 * (1 + 0.3 * off[3]) - 0.2),
        )
        assert low * 0.999 <= compute_opening_delay_s(drawn) <= high * 1.001


def test_no_filter_within_the_tolerances_is_slower_or_faster_than_the_corners() -> None:
    generator = np.random.default_rng(1)
    ones = [one for corner in list_worst_corners(TYPICAL, Tolerance()) for one in (corner.a, corner.b)]
    # How early a closing is seen is limited by the hysteresis that is left, so of a closing the latest counts.
    for delay_s, lowest in ((compute_opening_delay_s, 0.99), (compute_closing_delay_s, 0.0)):
        low, high = min(map(delay_s, ones)), max(map(delay_s, ones))
        for _ in range(200):
            off = generator.uniform(-1, 1, 4)
            drawn = Filter(
                supply_v=TYPICAL.supply_v,
                pull_up_ohm=TYPICAL.pull_up_ohm * (1 + 0.05 * off[0]),
                series_ohm=TYPICAL.series_ohm * (1 + 0.05 * off[0]),
                capacitor_f=TYPICAL.capacitor_f * (1 + 0.1 * off[1]),
                rising_v=TYPICAL.rising_v * (1 + 0.25 * off[2]),
                falling_v=min(TYPICAL.falling_v * (1 + 0.25 * off[3]), TYPICAL.rising_v * (1 + 0.25 * off[2]) - 0.4),
            )
            assert low * lowest <= delay_s(drawn) <= high * 1.01


def test_parts_drawn_within_the_tolerances_do_not_err_where_no_corner_does() -> None:
    """Each phase with its own parts, at the speed that the worst corner just reaches."""
    chain = loads(
        "[contact]\npreset = 'encoder-3ms'\n[judging]\nseeds = 9\n[filter]\nsupply_v = 4.5\nseries_ohm = 22000\n"
        "capacitor_f = 1e-7\nrising_v = 2.36\nfalling_v = 1.53"
    )
    corners = list_worst_corners(chain.filter, chain.tolerance)
    speed = max(
        speed
        for speed in (0.3, 0.5, 0.7, 1.0, 1.2)
        if all(is_good(chain, measure_row(chain, speed, 6, corner)) for corner in corners)
    )
    generator = np.random.default_rng(2)

    def drawn() -> Filter:
        off = generator.uniform(-1, 1, 4)
        rising_v = 2.36 * (1 + 0.28 * off[2])
        return Filter(
            supply_v=4.5,
            pull_up_ohm=10_000 * (1 + 0.05 * off[0]),
            series_ohm=22_000 * (1 + 0.05 * off[0]),
            capacitor_f=1e-7 * (1 + 0.1 * off[1]),
            rising_v=rising_v,
            falling_v=min(1.53 * (1 + 0.28 * off[3]), rising_v - 0.4),
        )

    for _ in range(15):
        assert is_good(chain, measure_row(chain, speed, 4, Corner("drawn", drawn(), drawn())))
