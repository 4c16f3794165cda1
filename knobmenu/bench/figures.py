"""Numbers as people read them: a few significant digits, never an exponent."""

from __future__ import annotations

import math


def format_number(value: float, digits: int = 3) -> str:
    """Return a number with this many significant digits, without an exponent and without trailing zeros.

    Digits before the point are never rounded away: 104 with two digits stays 104.
    """
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    decimals = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_percent(rate: float, digits: int = 3) -> str:
    """Return a rate in percent, with its sign: 0.0123 is ``1.23 %``."""
    return f"{format_number(rate * 100, digits)} %"
