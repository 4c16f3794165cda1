"""Limits, which can be other settings, and the steps between them.

If the high limit of A is B, or the low limit of B is A, A never exceeds B (`knobmenu.design.pairs`). A setting stops at
limits that it declares itself and pushes settings that declare it as their limit: a low alarm can stop at the high
alarm while the high alarm pushes the low one down. The rules below ensure, when a design is built, that a push always
finds room.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal, assert_never

import attrs

from knobmenu.design.fields import INT32_HIGH
from knobmenu.design.kinds import Limited, Setting
from knobmenu.design.pairs import Pair, find_cycles, group_pairs, list_pairs, order_keys, order_pairs
from knobmenu.design.settings import Number, Scale
from knobmenu.errors import Problem, nearest, one_of
from knobmenu.structure import Structure

Side = Literal["low", "high"]
SIDES: tuple[Side, ...] = ("low", "high")


@attrs.frozen(eq=False, repr=False)
class Limits(Structure):
    """The widest bounds of a setting, and the settings that narrow them."""

    low: int
    """The lowest value that it can ever have; one of its steps. [units of the last place]"""
    high: int
    """The highest value that it can ever have; one of its steps. [units of the last place]"""
    low_from: str = ""
    """The setting that it declares as its low limit; empty: none."""
    high_from: str = ""
    """The setting that it declares as its high limit; empty: none."""
    pushed_down: tuple[str, ...] = ()
    """Settings that must stay at or below this one."""
    pushed_up: tuple[str, ...] = ()
    """Settings that must stay at or above this one."""
    pairs: tuple[Pair, ...] = attrs.field(default=(), repr=False)
    """All pairs that a change of this setting can move, directly or through others, in topological order."""


def find_step_at_most(setting: Limited, value: int) -> int:
    """Return the highest step at or below `value`; the lowest step of a scale if all are above."""
    if isinstance(setting, Scale):
        return setting.steps[max(bisect_right(setting.steps, value) - 1, 0)]
    return value - (value - _get_origin(setting)) % setting.step


def find_step_at_least(setting: Limited, value: int) -> int:
    """Return the lowest step at or above `value`; the highest step of a scale if all are below."""
    if isinstance(setting, Scale):
        return setting.steps[min(bisect_left(setting.steps, value), len(setting.steps) - 1)]
    return value + (_get_origin(setting) - value) % setting.step


def find_first_index(setting: Scale, low: int) -> int:
    """Return the index of a scale's first value that is at least `low`."""
    return bisect_left(setting.steps, low)


def find_last_index(setting: Scale, high: int) -> int:
    """Return the index of a scale's last value that is at most `high`."""
    return bisect_right(setting.steps, high) - 1


def move_by_steps(setting: Limited, value: int, steps: int, low: int, high: int) -> int:
    """Move a value by whole steps between two limits, and stop or wrap there as the setting declares.

    Args:
        setting: The setting.
        value: Its value: one of its steps, from `low` to `high`.
        steps: How many; negative is down.
        low: The lowest step allowed now. [units of the last place]
        high: The highest step allowed now. [units of the last place]
    """
    if isinstance(setting, Scale):
        first, last = find_first_index(setting, low), find_last_index(setting, high)
        index = bisect_left(setting.steps, value) - first
        return setting.steps[first + _move(index, steps, last - first, setting.ends)]
    index, last = (value - low) // setting.step, (high - low) // setting.step
    return low + setting.step * _move(index, steps, last, setting.ends)


def count_steps(setting: Limited, value: int, end: int) -> int:
    """Count the steps from one of a setting's values to another; negative is down."""
    if isinstance(setting, Scale):
        return bisect_left(setting.steps, end) - bisect_left(setting.steps, value)
    return (end - value) // setting.step


def _move(index: int, steps: int, last: int, ends: str) -> int:
    index += steps
    if 0 <= index <= last:
        return index
    return index % (last + 1) if ends == "wrap" else 0 if index < 0 else last


def _get_origin(setting: Number) -> int:
    """Return the value from which the steps of a number are counted."""
    return setting.low if isinstance(setting.low, int) else setting.initial


def _get_declared_end(setting: Limited, side: Side) -> int | str:
    """Return the limit that a setting declares, as a value or as another setting's key; by default, a scale's end."""
    match setting:
        case Number():
            return setting.low if side == "low" else setting.high
        case Scale():
            declared, end = (setting.low, 0) if side == "low" else (setting.high, -1)
            return setting.steps[end] if declared is None else declared
        case _:
            assert_never(setting)


def _follow_ends(limited: Mapping[str, Limited], order: Sequence[str]) -> dict[str, tuple[int, int]]:
    """Follow the limits from setting to setting to the numbers that they end at, rounded inwards to its steps."""
    low: dict[str, int] = {}
    high: dict[str, int] = {}
    for key in order:
        setting = limited[key]
        other = _get_declared_end(setting, "low")
        low[key] = find_step_at_least(setting, low[other] if isinstance(other, str) else other)
    for key in reversed(order):
        setting = limited[key]
        other = _get_declared_end(setting, "high")
        high[key] = find_step_at_most(setting, high[other] if isinstance(other, str) else other)
    return {key: (low[key], high[key]) for key in order}


def _select_limited(settings: Mapping[str, Setting]) -> dict[str, Limited]:
    return {key: setting for key, setting in settings.items() if isinstance(setting, Limited)}


def list_bound_pairs(settings: Mapping[str, Setting]) -> tuple[Pair, ...]:
    """List the pairs of settings of which the first never exceeds the second, in the order in which they push.

    Raises:
        graphlib.CycleError: The limits lead back to themselves; `find_limit_problems` says where.
    """
    limited = _select_limited(settings)
    return order_pairs(limited, _list_declared_pairs(limited))


def _list_declared_pairs(limited: Mapping[str, Limited]) -> list[Pair]:
    return list_pairs({key: (setting.low, setting.high) for key, setting in limited.items()})


def resolve_limits(settings: Mapping[str, Setting]) -> dict[str, Limits]:
    """Compute the limits of every number and scale; the declared limits must be valid.

    Raises:
        KeyError: A limit does not name a number or scale; `find_limit_problems` says which.
        graphlib.CycleError: The limits lead back to themselves; `find_limit_problems` says where.
    """
    limited = _select_limited(settings)
    pairs = list_bound_pairs(settings)
    groups = group_pairs(pairs)
    ends = _follow_ends(limited, order_keys(limited, pairs))
    down: dict[str, list[str]] = {}
    up: dict[str, list[str]] = {}
    for lower, upper in pairs:
        down.setdefault(upper, []).append(lower)
        up.setdefault(lower, []).append(upper)
    return {
        key: Limits(
            low=ends[key][0],
            high=ends[key][1],
            low_from=setting.low if isinstance(setting.low, str) else "",
            high_from=setting.high if isinstance(setting.high, str) else "",
            pushed_down=tuple(down.get(key, ())),
            pushed_up=tuple(up.get(key, ())),
            pairs=groups.get(key, ()),
        )
        for key, setting in limited.items()
    }


def find_limit_problems(settings: Mapping[str, Setting]) -> Iterator[Problem]:
    """Find the problems in the limits of a design's numbers and scales."""
    limited = _select_limited(settings)
    unsound = list(_find_reference_problems(limited)) or list(_find_cycle_problems(limited))
    yield from unsound
    if unsound:
        return
    limits = resolve_limits(settings)
    for key, setting in limited.items():
        yield from _find_range_problems(key, setting, limits[key])
    for key, setting in limited.items():
        for side in SIDES:
            other = _get_declared_end(setting, side)
            if isinstance(other, str):
                yield from _find_pair_problems(limited, limits, key, side, other)


def _find_reference_problems(limited: Mapping[str, Limited]) -> Iterator[Problem]:
    for key, setting in limited.items():
        for side in SIDES:
            other, path = _get_declared_end(setting, side), f"settings.{key}.{side}"
            if not isinstance(other, str):
                continue
            if other not in limited or other == key:
                others = [name for name in limited if name != key]
                found = f'"{other}"' + (", the setting itself" if other == key else "")
                expected = f"a whole number, or the key of another number or scale: {one_of(others)}"
                if not others:
                    expected = "a whole number; there is no other number or scale to name"
                yield Problem(path, found, expected, nearest(other, others))
            elif limited[other].decimals != setting.decimals:
                yield Problem(
                    path,
                    f'"{other}", which has {limited[other].decimals} decimals',
                    f"a setting with {setting.decimals} decimals, as this one has",
                )


def _find_cycle_problems(limited: Mapping[str, Limited]) -> Iterator[Problem]:
    """Find cycles of settings that limit each other, and report each at the limit that closes it."""
    for cycle in find_cycles(_list_declared_pairs(limited)):
        lower, upper = cycle[-2:]
        key, side = (lower, "high") if limited[lower].high == upper else (upper, "low")
        names = " at most ".join(f'"{name}"' for name in cycle)
        yield Problem(f"settings.{key}.{side}", f"the cycle {names}", "limits that do not lead back to a setting")


def _find_range_problems(key: str, setting: Limited, limits: Limits) -> Iterator[Problem]:
    path = f"settings.{key}"
    if limits.high <= limits.low:
        yield Problem(f"{path}.high", str(limits.high), f"more than low, which is {limits.low}")
        return
    if limits.high - limits.low > INT32_HIGH:
        yield Problem(f"{path}.high", f"{limits.high - limits.low} above low", f"at most {INT32_HIGH} above low")
    if isinstance(setting, Number) and isinstance(setting.low, int) and isinstance(setting.high, int):
        rest = (setting.high - setting.low) % setting.step
        if rest:
            yield Problem(
                f"{path}.high",
                str(setting.high),
                f"low plus a multiple of step, {setting.low} + n x {setting.step}",
                f"write {setting.high - rest} or {setting.high - rest + setting.step}",
            )
    if isinstance(setting, Scale):
        for side in SIDES:
            bound = _get_declared_end(setting, side)
            if isinstance(bound, int) and bound not in setting.steps:
                yield Problem(
                    f"{path}.{side}", str(bound), f"one of its values; {find_step_at_most(setting, bound)} is one"
                )
    nearby = min(max(find_step_at_most(setting, setting.initial), limits.low), limits.high)
    if nearby != setting.initial:
        yield Problem(
            f"{path}.initial",
            str(setting.initial),
            f"one of its steps from {limits.low} to {limits.high}",
            f"the nearest one is {nearby}",
        )
    for value, _ in setting.names:
        if not limits.low <= value <= limits.high or find_step_at_most(setting, value) != value:
            yield Problem(f"{path}.names", str(value), f"steps of the setting, from {limits.low} to {limits.high}")


def _find_pair_problems(
    limited: Mapping[str, Limited], limits: Mapping[str, Limits], key: str, side: Side, other: str
) -> Iterator[Problem]:
    lower, upper = (key, other) if side == "high" else (other, key)
    path = f"settings.{key}.{side}"
    ends = {
        "low": (limits[lower].low, limits[upper].low),
        "high": (limits[lower].high, limits[upper].high),
    }
    for end, (below, above) in ends.items():
        if below > above:
            yield Problem(
                path,
                f'"{other}": the {end} end of "{lower}" is {below}, that of "{upper}" is {above}',
                f'a "{lower}" whose {end} end is at most that of "{upper}", so that either can always make room',
            )
    if limited[lower].initial > limited[upper].initial:
        yield Problem(
            path,
            f'"{lower}" starting at {limited[lower].initial} above "{upper}" at {limited[upper].initial}',
            f'a "{lower}" that starts at or below "{upper}"',
        )
