"""Numbers and names of a report in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from knobmenu.review.measures import Interval
from knobmenu.review.report.comparison import Comparison
from knobmenu.review.study import Study


def variant_name(study: Study, key: str) -> str:
    """Return what a variant is called: its label, or its key."""
    return next((variant.label for variant in study.variants if variant.key == key), "") or key


def percent(rate: float) -> str:
    """Write a rate, such as ``25 %``."""
    return f"{100 * rate:.0f} %"


def number(value: float) -> str:
    """Write a number with three digits at most that say something, such as ``0.62``, ``5.4`` and ``137``."""
    if math.isinf(value):
        return "∞" if value > 0 else "−∞"
    size = abs(value)
    digits = 0 if size >= 100 else 1 if size >= 10 else 2
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def interval_words(interval: Interval | None, write: Callable[[float], str] = number) -> str:
    """Write an estimate with its interval, such as ``68 (46 to 101)``; a dash where there is none."""
    if interval is None:
        return "–"
    if math.isinf(interval.high) or math.isinf(interval.low):
        return f"{write(interval.estimate)} (one person)"
    return f"{write(interval.estimate)} ({write(interval.low)} to {write(interval.high)})"


def difference_words(comparison: Comparison) -> str:
    """Say how the second variant differs from the first, with the interval."""
    assert comparison.difference is not None
    mean = comparison.difference.mean
    match comparison.measure.name:
        case "success":
            low, high = f"{100 * mean.low:+.0f}", f"{100 * mean.high:+.0f}"
            return f"success {100 * mean.estimate:+.0f} percentage points (95 %: {low} to {high})"
        case name if comparison.measure.is_ratio:
            low, high = number(mean.low), number(mean.high)
            return f"{name} × {number(mean.estimate)} (95 %: {low} to {high})"
        case name:
            return f"{name} {mean.estimate:+.1f} (95 %: {mean.low:+.1f} to {mean.high:+.1f})"


def joined(parts: Sequence[str]) -> str:
    """Join parts as a sentence does: with commas, and the last with ``and``."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def count_words(count: int, one: str, many: str = "") -> str:
    """Write a count of things, such as ``1 person`` and ``8 people``."""
    return f"{count} {one if count == 1 else many or one + 's'}"
