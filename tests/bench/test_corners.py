"""Corners: each is a filter that can be, within the tolerances, and none of the others that are drawn is worse."""

from __future__ import annotations

import numpy as np
from hypothesis import given

from knobmenu.bench import schmitt
from knobmenu.bench.chain_file import loads
from knobmenu.bench.corners import Corner, Tolerance, worst_corners
from knobmenu.bench.filter import Filter, closing_delay_s, opening_delay_s
from knobmenu.bench.verdict import is_good, row
from tests.bench.strategies import filters

TYPICAL = Filter(
    supply_v=schmitt.SUPPLY_V,
    series_ohm=22_000.0,
    capacitor_f=1e-7,
    rising_v=schmitt.RISING_V[1],
    falling_v=schmitt.FALLING_V[1],
)


@given(filters())
def test_the_corners_of_any_filter_keep_its_kind_of_input(parts: Filter) -> None:
    found = worst_corners(parts, Tolerance())

    assert bool(found) == bool(parts.capacitor_f)
    for corner in found:
        for one in (corner.a, corner.b):
            assert (one.rising_v == one.falling_v) == (parts.rising_v == parts.falling_v)


def test_the_thresholds_of_a_published_schmitt_trigger_lie_within_the_default_tolerance_or_nearly() -> None:
    """NXP 74HC1G14, table 7: rising 1.7 to 3.15 V and falling 0.9 to 2.0 V at 4.5 V; within 0.2 V."""
    ones = [one for corner in worst_corners(TYPICAL, Tolerance()) for one in (corner.a, corner.b)]

    assert abs(min(one.rising_v for one in ones) - 1.7) < 0.2
    assert abs(max(one.rising_v for one in ones) - 3.15) < 0.2
    assert abs(min(one.falling_v for one in ones) - 0.9) < 0.2
    assert min(one.rising_v - one.falling_v for one in ones) >= 0.48 * (2.36 - 1.53) - 1e-9


def test_no_filter_within_the_tolerances_is_slower_or_faster_than_the_corners() -> None:
    generator = np.random.default_rng(1)
    ones = [one for corner in worst_corners(TYPICAL, Tolerance()) for one in (corner.a, corner.b)]
    # How early a closing is seen is limited by the hysteresis that is left, so of a closing the latest counts.
    for delay_s, lowest in ((opening_delay_s, 0.99), (closing_delay_s, 0.0)):
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
    corners = worst_corners(chain.filter, chain.tolerance)
    speed = max(
        speed
        for speed in (0.3, 0.5, 0.7, 1.0, 1.2)
        if all(is_good(chain, row(chain, speed, 6, corner)) for corner in corners)
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
        assert is_good(chain, row(chain, speed, 4, Corner("drawn", drawn(), drawn())))
