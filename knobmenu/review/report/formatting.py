"""Formatting of numbers and names in a report."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from knobmenu.review.measures import Interval
from knobmenu.review.report.comparison import Comparison
from knobmenu.review.study import Study


def get_variant_name(study: Study, key: str) -> str:
    """Return the label of a variant, or its key if it has no label."""
    return next((variant.label for variant in study.variants if variant.key == key), "") or key


def format_percent(rate: float) -> str:
    """Format a rate, such as ``25 %``."""
    return f"{100 * rate:.0f} %"


def format_number(value: float) -> str:
    """Format a number with up to three significant digits, such as ``0.62``, ``5.4`` and ``137``."""
    if math.isinf(value):
        return "–"
    size = abs(value)
    digits = 0 if size >= 100 else 1 if size >= 10 else 2
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_interval(interval: Interval | None, write: Callable[[float], str] = format_number) -> str:
    """Format an estimate with its interval, such as ``68 (46 to 101)``; None is a dash."""
    if interval is None:
        return "–"
    if math.isinf(interval.high) or math.isinf(interval.low):
        return f"{write(interval.estimate)} (one person)"
    return f"{write(interval.estimate)} ({write(interval.low)} to {write(interval.high)})"


def format_difference(comparison: Comparison) -> str:
    """Format the difference of the second variant from the first, with its interval."""
    assert comparison.difference is not None
    mean = comparison.difference.mean
    match comparison.measure.name:
        case "success":
            bounds = _format_bounds(mean, lambda rate: f"{100 * rate:+.0f}")
            return f"success {100 * mean.estimate:+.0f} percentage points{bounds}"
        case name if comparison.measure.is_ratio:
            return f"{name} × {format_number(mean.estimate)}{_format_bounds(mean, format_number)}"
        case name:
            return f"{name} {mean.estimate:+.1f}{_format_bounds(mean, lambda value: f'{value:+.1f}')}"


def _format_bounds(interval: Interval, write: Callable[[float], str]) -> str:
    if interval.low == interval.high:  # without variation, Student's interval has no width and is not meaningful
        return ", the same for everybody"
    return f" (95 %: {write(interval.low)} to {write(interval.high)})"


def format_p(p: float) -> str:
    """Format a p, such as ``0.021`` and ``< 0.001``."""
    return "< 0.001" if p < 0.0005 else f"{p:.3f}"


def join_names(parts: Sequence[str]) -> str:
    """Join names with commas, and the last with ``and``."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def format_count(count: int, one: str, many: str = "") -> str:
    """Format a count of things, such as ``1 person`` and ``8 people``."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def format_gestures(gestures: float) -> str:
    """Format a count of gestures, which may be a median: ``1 gesture``, ``3.5 gestures``."""
    return f"{format_number(gestures)} {'gesture' if gestures == 1 else 'gestures'}"
