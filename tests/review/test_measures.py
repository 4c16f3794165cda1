"""Each measure gives what its published worked example gives, and what the statistics libraries give."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.contingency_tables import mcnemar

from knobmenu.review.measures import (
    Interval,
    adjust_p_values,
    compare_paired,
    compare_success,
    compare_times,
    compute_chance_unseen,
    count_overshoots,
    estimate_mean,
    estimate_success,
    estimate_time,
    measure_lostness,
    score_usability,
)


def rounded(interval: Interval, digits: int) -> tuple[float, float, float]:
    return round(interval.estimate, digits), round(interval.low, digits), round(interval.high, digits)


@pytest.mark.parametrize(
    ("successes", "attempts", "low", "high"),
    [
        # T. Tullis, 2008, measuringux.com/adjustedwald.htm: every step of 4 of 5 is printed there.
        (4, 5, 0.3596, 0.9796),
        # Calculated by hand from the same formula, the upper limits clipped.
        (9, 10, 0.5740, 1.0),
        (7, 9, 0.4428, 0.9466),
        (10, 10, 0.6791, 1.0),
    ],
)
def test_success_has_the_adjusted_wald_interval(successes: int, attempts: int, low: float, high: float) -> None:
    found = estimate_success(successes, attempts)

    assert found.estimate == successes / attempts
    # The example uses z = 1.96, the library 1.959964: they differ in the fifth place.
    assert found.low == pytest.approx(low, abs=1.5e-4)
    assert found.high == pytest.approx(high, abs=1.5e-4)


def test_time_on_task_has_the_published_geometric_mean_and_interval() -> None:
    """J. Sauro, 2006, measuringu.com/time_intervals.php: 68 s (46 to 101)."""
    assert rounded(estimate_time([55, 65, 75, 62, 45, 135]), 0) == (68, 46, 101)


def test_one_time_has_no_bounds() -> None:
    assert rounded(estimate_time([50]), 6) == (50, 0.0, math.inf)


@given(st.lists(st.floats(0.5, 600), min_size=2, max_size=40, unique=True))
def test_the_geometric_mean_is_that_of_scipy(times: list[float]) -> None:
    assert estimate_time(times).estimate == pytest.approx(float(stats.gmean(times)))


@given(st.lists(st.integers(-100_000, 100_000).map(lambda score: score / 1000), min_size=2, max_size=40, unique=True))
def test_the_interval_of_a_mean_is_that_of_scipy(values: list[float]) -> None:
    found = estimate_mean(values)
    low, high = stats.t.interval(0.95, len(values) - 1, stats.tmean(values), stats.sem(values))

    assert found.low == pytest.approx(low, abs=1e-9)
    assert found.high == pytest.approx(high, abs=1e-9)


@pytest.mark.parametrize(
    ("fewest", "different", "total", "lostness"),
    # From the formula of P. A. Smith, 1996; no published numeric example was found, so these are calculated by hand.
    [(4, 4, 4, 0.0), (4, 5, 7, 0.34876), (3, 6, 10, 0.64031)],
)
def test_lostness_follows_its_formula(fewest: int, different: int, total: int, lostness: float) -> None:
    visited = [str(number) for number in range(different)] + ["0"] * (total - different)

    assert measure_lostness(visited, fewest) == pytest.approx(lostness, abs=1e-5)


@given(st.lists(st.sampled_from("abcdefgh"), min_size=1), st.integers(1, 8))
def test_lostness_stays_below_the_root_of_two(visited: list[str], fewest: int) -> None:
    assert 0 <= measure_lostness(visited, fewest) < math.sqrt(2)


@pytest.mark.parametrize(
    ("answers", "score"),
    [
        # J. Brooke, 1996 (contributions 4 1 1 4 1 2 1 1 4 3, 22 in all, from memory; the arithmetic is checked).
        ((5, 4, 2, 1, 2, 3, 2, 4, 5, 2), 55.0),
        ((3,) * 10, 50.0),
        ((5, 1) * 5, 100.0),
        ((1, 5) * 5, 0.0),
    ],
)
def test_the_usability_scale_scores_as_published(answers: tuple[int, ...], score: float) -> None:
    assert score_usability(answers) == score


@given(st.lists(st.integers(1, 5), min_size=10, max_size=10))
def test_the_usability_scale_agrees_with_its_other_formula(answers: list[int]) -> None:
    """(sum of odd items - 5 + 25 - sum of even items) * 2.5, from the same source."""
    assert score_usability(answers) == (sum(answers[::2]) - 5 + 25 - sum(answers[1::2])) * 2.5


@pytest.mark.parametrize("answers", [(3,) * 9, (3,) * 9 + (6,), (0,) * 10])
def test_answers_that_the_scale_lacks_are_refused(answers: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="expected 10 answers from 1 to 5"):
        score_usability(answers)


@pytest.mark.parametrize(
    ("values", "target", "overshoots"),
    [([0, 5, 10], 10, 0), ([0, 5, 15, 10], 10, 1), ([0, 15, 5, 12, 10], 10, 3), ([10], 10, 0), ([20, 10, 20], 10, 0)],
)
def test_an_overshoot_is_a_pass_from_one_side_of_the_target_to_the_other(
    values: list[int], target: int, overshoots: int
) -> None:
    assert count_overshoots(values, target) == overshoots


@pytest.mark.parametrize("seed", range(20))
def test_paired_comparisons_are_those_of_scipy(seed: int) -> None:
    chance = random.Random(seed)
    first = [chance.uniform(1, 100) for _ in range(8)]
    second = [value * chance.uniform(0.5, 1.2) for value in first]

    scores, times = compare_paired(first, second), compare_times(first, second)
    paired = stats.ttest_rel(second, first)

    assert scores.p == pytest.approx(paired.pvalue)
    assert (scores.mean.low, scores.mean.high) == pytest.approx(tuple(paired.confidence_interval()))
    assert times.mean.estimate == pytest.approx(float(stats.gmean(second) / stats.gmean(first)))
    assert scores.effect == pytest.approx(paired.statistic / math.sqrt(8))


@given(st.lists(st.tuples(st.booleans(), st.booleans()), min_size=1, max_size=40))
def test_success_is_compared_by_the_exact_test_of_mcnemar(people: list[tuple[bool, bool]]) -> None:
    first, second = [one for one, _ in people], [two for _, two in people]
    table = [
        [sum((one, two) == cell for one, two in people) for cell in row]
        for row in ([(True, True), (True, False)], [(False, True), (False, False)])
    ]

    assert compare_success(first, second).p == pytest.approx(float(mcnemar(table, exact=True).pvalue))


@pytest.mark.parametrize(("both", "gain", "loss"), [(0.6, 0.25, 0.05), (0.3, 0.3, 0.3), (0.8, 0.1, 0.02)])
def test_the_interval_of_a_difference_in_success_holds_it_as_often_as_it_says(
    both: float, gain: float, loss: float
) -> None:
    """Simulated people whose true difference is known; the method is made for few of them."""
    chance = random.Random(1)
    held = 0
    for _ in range(2000):
        cells = chance.choices([(1, 1), (0, 1), (1, 0), (0, 0)], [both, gain, loss, 1 - both - gain - loss], k=12)
        found = compare_success([bool(one) for one, _ in cells], [bool(two) for _, two in cells]).mean
        held += found.low <= gain - loss <= found.high

    assert held / 2000 >= 0.93


def test_the_same_difference_of_everybody_is_judged_by_the_sign_test() -> None:
    """Five of five on one side by chance: 2 / 2^5."""
    found = compare_paired([1, 2, 3, 4, 5], [2, 3, 4, 5, 6])

    assert found.p == pytest.approx(2 / 2**5)
    assert not found.says_something


def test_several_comparisons_are_adjusted_step_by_step() -> None:
    """Holm's method by hand: 0.01 x 4, 0.02 x 3, the rest no less than those before."""
    assert adjust_p_values([0.04, 0.01, 0.02, 0.03]) == pytest.approx((0.06, 0.04, 0.06, 0.06))
    assert adjust_p_values([]) == ()


def test_what_one_in_ten_meets_is_often_unseen_by_eight_people() -> None:
    assert compute_chance_unseen(0.1, 8) == pytest.approx(0.4305, abs=1e-4)


def test_too_few_people_say_nothing() -> None:
    assert not compare_paired([1, 2, 3], [11, 12.5, 13]).says_something
    assert compare_paired([1, 2, 3, 4, 5], [11, 12.5, 13, 14, 15]).says_something
