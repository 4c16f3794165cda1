"""Confidence intervals of figures, and error rates compared as whole numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

import attrs

_T_975 = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
    2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
    2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
)  # fmt: skip
"""Student's t, two-sided 95 %, for 1 to 30 degrees of freedom; handbook table, compared with scipy in the tests."""

_Z_975 = 1.959964
"""The normal distribution's. [unitless]"""


def student_t(degrees: int) -> float:
    """Return the two-sided 95 % quantile of Student's t distribution.

    Above 30 degrees of freedom by the Cornish-Fisher expansion (Abramowitz and Stegun, 26.7.5; from memory), whose
    error is below 1e-5 there.
    """
    if degrees <= len(_T_975):
        return _T_975[degrees - 1]
    z = _Z_975
    return (
        z
        + (z**3 + z) / (4 * degrees)
        + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * degrees**2)
        + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * degrees**3)
    )


@attrs.frozen(kw_only=True)
class Rated:
    """An error rate and its confidence interval."""

    error_rate: float
    """Errors for each detent or press, mean over the seeds. [unitless]"""
    low: float
    """Where the mean lies with 95 % confidence: from here. [unitless]"""
    high: float
    """To here; above 0 even where no error was seen. [unitless]"""


def compute_interval(rates: Sequence[float], detents: int) -> tuple[float, float]:
    """Return the 95 % confidence interval of a mean over seeds.

    Student's t over the seeds. Where all seeds agree it says nothing, so the interval is at least as wide as Wilson's
    for as many detents (E. B. Wilson, J. Am. Statist. Assoc. 22, 1927, 209-212); a rate above 1, which is not a
    proportion, keeps to the t interval.

    Args:
        rates: errors for each detent, one for each seed; 2 at least.
        detents: true detents of all seeds together; 1 at least.
    """
    number = len(rates)
    mean = math.fsum(rates) / number
    deviation = math.sqrt(math.fsum((rate - mean) ** 2 for rate in rates) / (number - 1))
    half = student_t(number - 1) * deviation / math.sqrt(number)
    low, high = max(mean - half, 0.0), mean + half
    if mean <= 1:
        z = _Z_975
        middle = (mean + z * z / (2 * detents)) / (1 + z * z / detents)
        width = z / (1 + z * z / detents) * math.sqrt(mean * (1 - mean) / detents + z * z / (4 * detents**2))
        low, high = min(low, max(middle - width, 0.0)), max(high, middle + width)
    return low, high


def is_tolerated(errors: int, true: int, rate: float) -> bool:
    """Return whether a number of errors is within a rate, compared as whole numbers.

    Args:
        errors: how many there are.
        true: of how many.
        rate: the tolerated rate, as it is written in decimal digits.
    """
    limit = Fraction(repr(rate))
    return errors * limit.denominator <= limit.numerator * true
