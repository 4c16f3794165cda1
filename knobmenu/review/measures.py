"""Usability measures by their published definitions.

The functions take numbers; the docstring of each states its source. Statistics come from scipy and statsmodels (the
extra `review`), which are imported on demand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import attrs

CONFIDENCE = 0.95
"""The confidence level of every interval."""

FEWEST_FOR_DIFFERENCE = 5
"""Pairs below which a comparison reports only that there are too few people (common practice)."""

ITEMS = 10
"""Items of the usability scale."""

SCALE = 5
"""Answers to each item, from 1, strongly disagree, to 5, strongly agree."""

_SAME = 1e-9
"""Relative differences below this are rounding errors."""


@attrs.frozen
class Interval:
    """An estimate with its confidence interval."""

    estimate: float
    low: float
    high: float


def estimate_success(successes: int, attempts: int) -> Interval:
    """Return the success rate with its adjusted-Wald interval, clipped to 0 and 1.

    The estimate is the plain proportion; the interval is that of Agresti and Coull (The American Statistician 52, 1998,
    119-126), which J. Sauro and J. R. Lewis recommend for small samples.

    Args:
        successes: Attempts that succeeded.
        attempts: All attempts, at least 1.
    """
    from statsmodels.stats.proportion import proportion_confint

    low, high = proportion_confint(successes, attempts, alpha=1 - CONFIDENCE, method="agresti_coull")
    return Interval(successes / attempts, max(0.0, float(low)), min(1.0, float(high)))


def estimate_time(times_s: Sequence[float]) -> Interval:
    """Return the geometric mean of task times with its confidence interval. [s]

    The interval is Student's on the logarithms of the times, so that it is skewed like task times (J. Sauro, 2006).

    Args:
        times_s: Times of successful attempts, each above 0; with fewer than two, the interval is unbounded. [s]
    """
    from scipy import stats

    logs = [math.log(time_s) for time_s in times_s]
    mean = math.fsum(logs) / len(logs)
    if len(logs) < 2:
        return Interval(math.exp(mean), 0.0, math.inf)
    error = float(stats.sem(logs))
    half = float(stats.t.ppf((1 + CONFIDENCE) / 2, len(logs) - 1)) * error
    return Interval(math.exp(mean), math.exp(mean - half), math.exp(mean + half))


def estimate_mean(values: Sequence[float]) -> Interval:
    """Return the mean of scores with Student's confidence interval, which is unbounded with fewer than two."""
    from scipy import stats

    mean = math.fsum(values) / len(values)
    if len(values) < 2:
        return Interval(mean, -math.inf, math.inf)
    half = float(stats.t.ppf((1 + CONFIDENCE) / 2, len(values) - 1)) * float(stats.sem(values))
    return Interval(mean, mean - half, mean + half)


def measure_lostness(visited: Sequence[str], fewest: int) -> float:
    """Compute Smith's lostness, 0 for the shortest way; from about 0.4 on, a person is visibly lost.

    L = sqrt((N/S - 1)^2 + (R/N - 1)^2) with N different screens, S visits in total and R the fewest screens needed
    (P. A. Smith, Interacting with Computers 8(4), 1996, 365-381). If fewer screens were visited than are needed, for
    example by a person who gave up immediately, R/N is not meaningful and counts as 1.

    Args:
        visited: Each screen visited, in order, including the first; at least one.
        fewest: R, at least 1.
    """
    total, different = len(visited), len(set(visited))
    return math.hypot(different / total - 1, min(fewest / different, 1.0) - 1)


def score_usability(answers: Sequence[int]) -> float:
    """Return the score of the ten-item usability scale, 0 to 100.

    Odd items count their answer less 1, even items 5 less their answer; the sum is multiplied by 2.5 (J. Brooke, 1996).
    The score is not a percentage; an average product scores about 68.

    Args:
        answers: Ten answers from 1 to 5, in the order of the items.

    Raises:
        ValueError: The answers are not ten integers from 1 to 5.
    """
    if len(answers) != ITEMS or not all(1 <= answer <= SCALE for answer in answers):
        raise ValueError(f"expected {ITEMS} answers from 1 to {SCALE}, got {list(answers)}")
    return 2.5 * sum(answer - 1 if item % 2 == 0 else SCALE - answer for item, answer in enumerate(answers))


def count_overshoots(values: Sequence[int], target: int) -> int:
    """Count how often a value went past its target while it was set.

    Args:
        values: The value before the edit and after each turn, in order.
        target: The target.
    """
    sides = [(value > target) - (value < target) for value in values]
    away = [side for side in sides if side]
    return sum(before != after for before, after in pairwise(away))


@attrs.frozen
class Difference:
    """The difference of two variants in one measure, over the people who tried both."""

    pairs: int
    mean: Interval
    """The second variant minus the first; for times, the ratio of geometric means."""
    p: float
    """The probability of a difference at least as large under the null hypothesis; 1 with too few pairs."""
    effect: float
    """Cohen's d of the pairs: the mean difference in standard deviations of the differences."""

    @property
    def says_something(self) -> bool:
        """Whether there are enough pairs and the difference is significant."""
        return self.pairs >= FEWEST_FOR_DIFFERENCE and self.p < 1 - CONFIDENCE


def compare_paired(first: Sequence[float], second: Sequence[float]) -> Difference:
    """Compare scores of the same people with two variants, by Student's paired test.

    Args:
        first: One value for each person.
        second: The same people's values with the other variant, in the same order; at least two.
    """
    from scipy import stats

    differences = [after - before for before, after in zip(first, second, strict=True)]
    mean = estimate_mean(differences)
    if max(differences) - min(differences) <= _SAME * max(
        map(abs, differences)
    ):  # all differences are equal, so Student's test is undefined; use the sign test
        effect = math.copysign(math.inf, mean.estimate) if mean.estimate else 0.0
        p = float(stats.binomtest(len(differences), len(differences)).pvalue) if mean.estimate else 1.0
        return Difference(len(differences), mean, p, effect)
    deviation = float(stats.tstd(differences))
    return Difference(len(differences), mean, float(stats.ttest_rel(second, first).pvalue), mean.estimate / deviation)


def compare_times(first_s: Sequence[float], second_s: Sequence[float]) -> Difference:
    """Compare times of the same people with two variants, on their logarithms; the mean is a ratio."""
    logs = compare_paired([math.log(time) for time in first_s], [math.log(time) for time in second_s])
    ratio = Interval(*(math.exp(value) for value in (logs.mean.estimate, logs.mean.low, logs.mean.high)))
    return attrs.evolve(logs, mean=ratio)


def compare_success(first: Sequence[bool], second: Sequence[bool]) -> Difference:
    """Compare the success of the same people with two variants.

    The p is that of McNemar's exact test (Q. McNemar, 1947). The interval is the adjusted Wald interval for pairs, with
    one observation added to each discordant cell (D. G. Bonett and R. M. Price, Journal of Educational and Behavioral
    Statistics 37, 2012, 479-488; from memory). The effect is the difference of the rates.

    Args:
        first: Whether each person succeeded with the first variant; at least one person.
        second: The same people with the second variant.
    """
    from scipy import stats

    pairs = len(first)
    gained = sum(after and not before for before, after in zip(first, second, strict=True))
    lost = sum(before and not after for before, after in zip(first, second, strict=True))
    p = float(stats.binomtest(gained, gained + lost).pvalue) if gained + lost else 1.0
    people = pairs + 2
    up, down = (gained + 1) / people, (lost + 1) / people
    z = float(stats.norm.ppf((1 + CONFIDENCE) / 2))
    half = z * math.sqrt((up + down - (up - down) ** 2) / people)
    estimate = (gained - lost) / pairs
    return Difference(pairs, Interval(estimate, max(up - down - half, -1.0), min(up - down + half, 1.0)), p, estimate)


def adjust_p_values(p: Sequence[float]) -> tuple[float, ...]:
    """Adjust the p of several comparisons so that the family-wise error rate stays at 5 %.

    S. Holm, Scandinavian Journal of Statistics 6, 1979, 65-70.
    """
    from statsmodels.stats.multitest import multipletests

    return tuple(map(float, multipletests(p, method="holm")[1])) if p else ()


def compute_chance_unseen(rate: float, people: int) -> float:
    """Compute the probability that none of a number of people meets a problem of a given rate.

    (1 - rate)^people (R. A. Virzi, Human Factors 34(4), 1992, 457-468; from memory).
    """
    return float((1 - rate) ** people)


def compute_chance_of_count(count: int, rates: Sequence[float]) -> float:
    """Compute the probability that at least `count` people meet a problem that each meets at a rate of their own.

    The upper tail of the Poisson binomial distribution (Y. H. Wang, Statistica Sinica 3, 1993, 295-312; from memory).

    Args:
        count: How many people met it.
        rates: The rate of each person, 0 to 1.
    """
    from scipy import stats

    return float(stats.poisson_binom(list(rates)).sf(count - 1))
