"""The values of a setting that a way of least cost may leave it at.

Between two thresholds all values are alike to every condition. Of those, only the ones at which a hand that turns by
one or by ten steps, or fast, can first arrive are worth keeping: any other is turned to over one of these.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import prod
from typing import TYPE_CHECKING, assert_never

from knobmenu.design.domains import get_domain
from knobmenu.design.kinds import Setting
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.machine.changing import find_bounds, get_number
from knobmenu.machine.values import Values

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

MOST_LISTED = 1500
"""Values of a clock or of digits up to which each is tried, where a condition reads them."""


def walk_candidates(
    design: Design, values: Values, setting: Setting, thresholds: Sequence[int], reach: int
) -> Iterator[int]:
    """Walk the values worth keeping: the first that a turn meets where a condition may change.

    Args:
        design: The design.
        values: The values of its settings before the turn.
        setting: The setting that is turned.
        thresholds: Where its values begin to be judged differently, ascending; with none, no value is worth keeping.
        reach: How many steps a detent can be worth, at most.
    """
    if not thresholds:
        return
    match setting:
        case Choice():
            yield from range(len(setting.options))
        case Number() | Scale():
            yield from _walk_line(design, values, setting, thresholds, reach)
        case Clock():
            weights = [prod(setting.sizes[place + 1 :]) for place in range(len(setting.sizes))]
            yield from _walk_parts(design, values, setting, thresholds, (0, setting.highest), weights)
        case Digits():
            weights = [10**place for place in range(setting.places)]
            yield from _walk_parts(design, values, setting, thresholds, (setting.low, setting.high), weights)
        case Switch() | TextSetting():
            return
        case _:
            assert_never(setting)


def has_too_many(setting: Setting) -> bool:
    """Return whether a setting has parts, and too many values to try them all."""
    match setting:
        case Clock():
            return setting.highest >= MOST_LISTED
        case Digits():
            return setting.high - setting.low >= MOST_LISTED
        case _:
            return False


def _walk_parts(
    design: Design,
    values: Values,
    setting: Clock | Digits,
    thresholds: Sequence[int],
    bounds: tuple[int, int],
    weights: Sequence[int],
) -> Iterator[int]:
    low, high = bounds
    if not has_too_many(setting):
        yield from range(low, high + 1)
        return
    # Beside the values at the thresholds, those at which turning one part alone crosses one.
    start = get_number(design, values, setting.key)
    tried = {low, high, *_list_near(thresholds, low, high)}
    for cut in thresholds:
        for weight in weights:
            parts = (cut - start) // weight
            tried.update(start + more * weight for more in (parts - 1, parts, parts + 1, parts + 2))
    yield from sorted(value for value in tried if low <= value <= high)


def _walk_line(
    design: Design, values: Values, setting: Number | Scale, thresholds: Sequence[int], reach: int
) -> Iterator[int]:
    low, high = find_bounds(design, values, setting.key)
    domain = get_domain(design, setting.key)
    domain = domain[bisect_left(domain, low) : bisect_left(domain, high) + 1]
    if len(domain) <= 4 * reach + 8:
        yield from domain
        return
    cuts = sorted({0, len(domain), *(bisect_left(domain, cut) for cut in thresholds)})
    tried: set[int] = set()
    for begin, end in pairwise(cuts):
        tried.update(range(begin, min(begin + reach + 1, end)))
        tried.update(range(max(end - reach - 1, begin), end))
    yield from (domain[index] for index in sorted(tried))


def _list_near(thresholds: Iterable[int], low: int, high: int) -> list[int]:
    """Return the values just around each threshold, one for each class that a comparison can tell apart."""
    return sorted({value for cut in thresholds for value in (cut - 1, cut, cut + 1) if low <= value <= high})
