"""The verdict: intervals that rest on published numbers, the fastest speed, and in plain words what to change."""

from __future__ import annotations

import math

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from knobmenu.bench import verdict
from knobmenu.bench.chain import Chain, Judging, Turning
from knobmenu.bench.chain_file import loads
from knobmenu.bench.corners import Tolerance, list_worst_corners
from knobmenu.bench.run import Count
from knobmenu.bench.statistics import compute_interval, is_tolerated, student_t
from knobmenu.bench.verdict import SPEEDS, Verdict, measure_row

QUICK = "[contact]\npreset = 'encoder-3ms'\n[judging]\nseeds = 8\n"


def judged(text: str) -> Verdict:
    return verdict.reach_verdict(loads(QUICK + text))


def test_students_t_is_that_of_scipy_for_any_number_of_seeds() -> None:
    """Two-sided 95 percent, against the library scipy from the registry."""
    for degrees in (*range(1, 60), 99, 499, 999):
        allowed = 6e-4 if degrees <= 30 else 1e-5
        assert student_t(degrees) == pytest.approx(stats.t.ppf(0.975, degrees), abs=allowed)


@given(st.integers(0, 500), st.integers(2, 30))
def test_where_all_seeds_agree_the_interval_is_wilsons(wrong: int, seeds: int) -> None:
    """E. B. Wilson, J. Am. Statist. Assoc. 22, 1927, 209-212, as the library scipy computes it."""
    expected = stats.binomtest(wrong * seeds, 500 * seeds).proportion_ci(method="wilson")

    assert compute_interval([wrong / 500] * seeds, 500 * seeds) == pytest.approx(tuple(expected), abs=1e-6)


def test_an_interval_of_no_error_at_all_still_has_a_width() -> None:
    """For 2000 detents without an error about two in a thousand are still possible: Wilson's z^2 / (n + z^2)."""
    low, high = compute_interval([0.0] * 20, 2000)

    assert low == 0
    assert high == pytest.approx(1.959964**2 / (2000 + 1.959964**2))


@given(st.lists(st.floats(0, 5), min_size=2, max_size=60), st.integers(100, 10_000))
def test_an_interval_holds_its_mean_and_students_interval(shares: list[float], detents: int) -> None:
    low, high = compute_interval(shares, detents)
    error = stats.sem(shares) * stats.t.ppf(0.975, len(shares) - 1)

    assert low <= np.mean(shares) + 1e-12
    assert high >= np.mean(shares) - 1e-12
    assert high >= np.mean(shares) + error * 0.999 - 1e-12


@pytest.mark.parametrize("share", [0.002, 0.05, 0.4])
def test_ninety_five_of_a_hundred_intervals_hold_the_truth(share: float) -> None:
    """Of independent errors; 400 times 20 seeds of 100 detents."""
    generator = np.random.default_rng(1)
    trials = generator.binomial(100, share, (400, 20)) / 100
    held = [low <= share <= high for low, high in (compute_interval(list(one), 2000) for one in trials)]

    assert np.mean(held) > 0.93


def test_a_row_holds_one_count_for_each_seed_and_their_mean_error() -> None:
    found = measure_row(loads(QUICK + "[decoder]\nkind = 'one-edge'"), 1.0)

    assert len(found.counts) == 8
    assert found.true == 800
    assert found.error_rate == pytest.approx(sum(one.errors for one in found.counts) / 800)
    assert found.low < found.error_rate < found.high


def test_the_first_seed_settles_all_chance() -> None:
    chain = loads(QUICK + "[decoder]\nkind = 'one-edge'")
    other = attrs.evolve(chain, judging=attrs.evolve(chain.judging, first_seed=100))

    assert measure_row(chain, 1.0) == measure_row(chain, 1.0)
    assert measure_row(chain, 1.0) != measure_row(other, 1.0)


def test_errors_of_a_rocked_knob_are_told_for_each_time_that_it_is_rocked() -> None:
    """A quarter-period encoder that is rocked over an edge counts back and forth."""
    part = "[encoder]\ndetents_per_period = 4\nphase_error_deg = 30\n"
    chain = loads(part + "[turning]\nkind = 'dither'\ndetents = 50")
    found = measure_row(chain, 0.2, 4)

    assert found.true == 0
    assert found.error_rate == pytest.approx(sum(one.extra for one in found.counts) / 200)
    assert found.error_rate > 0


def test_a_verdict_tries_every_speed_and_finds_the_fastest_that_is_right() -> None:
    found = judged("")
    right = [one.turns_per_s for one in found.rows if one.error_rate <= 0.01]

    assert tuple(one.turns_per_s for one in found.rows) == SPEEDS
    assert found.searched_to_turns_per_s == SPEEDS[-1]
    assert max(right) <= found.nominal.turns_per_s < min(set(SPEEDS) - set(right))
    assert measure_row(found.chain, found.nominal.turns_per_s).error_rate <= 0.01
    assert found.nominal.low <= found.nominal.turns_per_s <= found.nominal.high


def test_the_target_is_among_the_speeds_and_settles_the_answer() -> None:
    slow, fast = (judged(f"target_turns_per_s = {target}\n[reader]\nperiod_ms = 1") for target in (0.6, 4.0))

    assert 0.6 in [one.turns_per_s for one in slow.rows]
    assert slow.nominal == fast.nominal
    assert (slow.is_yes, fast.is_yes) == (True, False)


def test_without_a_capacitor_the_worst_corner_is_the_nominal_one_and_with_one_it_is_no_better() -> None:
    """Thresholds and parts matter where a voltage needs time."""
    filtered = judged("[filter]\nseries_ohm = 22000\ncapacitor_f = 1e-7\nrising_v = 2.62\nfalling_v = 1.7")

    assert judged("").worst == judged("").nominal
    assert 0 < filtered.worst.turns_per_s < filtered.nominal.turns_per_s
    assert filtered.worst.corner in {corner.name for corner in list_worst_corners(filtered.chain.filter, Tolerance())}


def test_a_chain_that_is_right_at_every_speed_reaches_the_fastest() -> None:
    found = verdict.reach_verdict(
        loads("[judging]\nseeds = 4\n[contact]\npreset = 'clean'\n[reader]\nkind = 'interrupt'")
    )

    assert found.nominal.turns_per_s == SPEEDS[-1]
    assert math.isinf(found.nominal.high)


def test_a_chain_that_is_wrong_at_every_speed_is_good_up_to_none() -> None:
    found = judged("[decoder]\nkind = 'one-edge'")

    assert (found.nominal.turns_per_s, found.nominal.low, found.nominal.high) == (0, 0, SPEEDS[0])
    assert not found.is_yes


def test_a_recorded_motion_is_tried_at_its_own_speed_alone() -> None:
    text = "[turning]\nkind = 'recorded'\nrecorded_ms = [0, 400, 900]\nrecorded_detents = [0, 4, 1]"
    found = verdict.reach_verdict(loads(text))

    assert [one.turns_per_s for one in found.rows] == [1.0]
    assert found.is_yes


@pytest.mark.parametrize(
    ("errors", "true", "rate", "tolerated"),
    [
        (20, 2000, 0.01, True),
        (21, 2000, 0.01, False),
        (3, 30, 0.1, True),
        # Written as fractions of two, 0.07 * 100 is 7.000000000000001 and 7 / 100 is 0.07: whole numbers decide.
        (7, 100, 0.07, True),
        (0, 0, 0.01, True),
        (1, 0, 0.01, False),
    ],
)
def test_errors_are_compared_with_the_tolerated_rate_as_whole_numbers(
    errors: int, true: int, rate: float, tolerated: bool
) -> None:
    assert is_tolerated(errors, true, rate) is tolerated


def test_a_mean_that_is_above_the_rate_by_its_last_bit_alone_is_tolerated() -> None:
    """Twenty seeds of 100 detents, of which each errs once: their mean is 0.010000000000000002 by addition."""
    assert sum([0.01] * 20) / 20 > 0.01
    count = Count(true=100, counted=99, lost=1, extra=0, reversed=0, net=99)

    assert verdict.is_good(Chain(), verdict.make_row(Chain(), 1.0, [count] * 20))


def test_progress_is_told_in_words() -> None:
    told: list[str] = []
    verdict.reach_verdict(Chain(turning=Turning(detents=10), judging=Judging(seeds=2)), told.append)

    assert told[0] == "trying 0.1 turns/s"
