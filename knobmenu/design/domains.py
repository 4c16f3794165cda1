"""The values that a setting or readout can have, without listing them, and where conditions distinguish them.

A domain is a sequence: a `range` where the values are evenly spaced, however many they are, and a tuple for a scale.
So its size is ``len(domain)``, its ends are ``domain[0]`` and ``domain[-1]``, and ``value in domain`` tests membership.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, assert_never

from knobmenu.design.conditions import Resolved
from knobmenu.design.fields import INT32_HIGH, INT32_LOW
from knobmenu.design.limits import find_first_index, find_last_index
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def get_domain(design: Design, key: str) -> Sequence[int]:
    """Return all values that a setting or readout can ever have, in ascending order.

    The domain of a setting limited by another one spans its widest limits. A readout without a declared range can have
    any 32-bit integer.

    Raises:
        KeyError: The design has no setting and no readout of this key.
        ValueError: The setting is a text; see `count_values`.
    """
    if key in design.index.readouts:
        readout = design.index.readouts[key]
        low = INT32_LOW if readout.low is None else readout.low
        return range(low, (INT32_HIGH if readout.high is None else readout.high) + 1)
    setting = design.index.settings[key]
    match setting:
        case Number():
            limits = design.index.limits[key]
            return range(limits.low, limits.high + 1, setting.step)
        case Scale():
            limits = design.index.limits[key]
            return setting.steps[find_first_index(setting, limits.low) : find_last_index(setting, limits.high) + 1]
        case Choice():
            return range(len(setting.options))
        case Switch():
            return range(2)
        case Clock():
            return range(setting.highest + 1)
        case Digits():
            return range(setting.low, setting.high + 1)
        case TextSetting():
            raise ValueError(f'"{key}" is a text: its values have no order')
        case _:
            assert_never(setting)


def count_values(design: Design, key: str) -> int:
    """Count the values that a setting or readout can have; for a text, all texts up to its greatest length.

    Raises:
        KeyError: The design has no setting and no readout of this key.
    """
    setting = design.index.settings.get(key)
    if isinstance(setting, TextSetting):
        return sum(len(setting.characters) ** length for length in range(setting.longest + 1))
    domain = get_domain(design, key)
    return domain.stop - domain.start if isinstance(domain, range) and domain.step == 1 else len(domain)


def walk_conditions(design: Design) -> Iterator[Resolved]:
    """Walk every condition of a design: of entries, menu by menu, and of lamps."""
    for rules in (*design.index.shown.values(), *design.index.enabled.values(), design.index.lit.values()):
        yield from (rule for rule in rules if rule is not None)


def walk_resolved_comparisons(condition: Resolved) -> Iterator[Resolved]:
    """Walk the comparisons inside a condition, which may itself be a comparison."""
    if condition.operator in ("all", "any", "not"):
        for part in condition.parts:
            yield from walk_resolved_comparisons(part)
    else:
        yield condition


def find_thresholds(domain: Sequence[int], comparisons: Iterable[Resolved]) -> tuple[int, ...]:
    """Find the values of a domain at which the result of a comparison can change.

    Args:
        domain: The domain of the compared value, from `get_domain`.
        comparisons: Comparisons of this value only.

    Returns:
        Values of the domain in ascending order, never its first. Two values give the same result in every comparison
        if no threshold is above the one and at most the other; so `bisect.bisect_right(thresholds, value)` numbers
        the classes from 0.
    """
    places = set()
    for comparison in comparisons:
        place = bisect_left(domain, comparison.value)
        if comparison.operator not in ("equal", "unequal"):
            places.add(place)
        elif comparison.value in domain:
            places |= {place, place + 1}
    return tuple(domain[place] for place in sorted(places) if 0 < place < len(domain))


def find_all_thresholds(design: Design) -> Mapping[str, tuple[int, ...]]:
    """Map each setting and readout that a condition compares to its thresholds over all conditions."""
    keys = list(design.index.positions)
    compared: dict[str, list[Resolved]] = {}
    for condition in walk_conditions(design):
        for comparison in walk_resolved_comparisons(condition):
            compared.setdefault(keys[comparison.position], []).append(comparison)
    return {key: find_thresholds(get_domain(design, key), comparisons) for key, comparisons in compared.items()}
