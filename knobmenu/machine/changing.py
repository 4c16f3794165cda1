"""Values that change: the push that keeps limits, the draft that moves, the commit and the revert."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobmenu.design.limits import Limited, step_at_least, step_at_most, step_by, steps_between
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Setting, Switch, TextSetting
from knobmenu.machine.values import Value, Values, at, differences, replace_value

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def number(design: Design, values: Values, key: str) -> int:
    """Return the value of a setting that is a whole number."""
    value = at(values, design.index.positions[key])
    assert isinstance(value, int)
    return value


def assign(design: Design, values: Values, key: str, value: Value) -> Values:
    """Give a setting a value, and push the settings whose limit it is.

    A push goes one way, that in which the value went; one walk through the pairs in their order settles all of them.
    The rules of a design make sure that there is room.
    """
    positions = design.index.positions
    position = positions[key]
    limits = design.index.limits.get(key)
    if limits is None or not limits.pairs:
        return replace_value(values, position, value)
    before = at(values, position)
    assert isinstance(value, int)
    assert isinstance(before, int)
    values = replace_value(values, position, value)
    rises = value > before
    for lower, upper in limits.pairs if rises else reversed(limits.pairs):
        low, high = number(design, values, lower), number(design, values, upper)
        if low > high and rises:
            values = replace_value(values, positions[upper], step_at_least(_limited(design, upper), low))
        elif low > high:
            values = replace_value(values, positions[lower], step_at_most(_limited(design, lower), high))
    return values


def _limited(design: Design, key: str) -> Limited:
    setting = design.index.settings[key]
    assert isinstance(setting, Limited)
    return setting


def bounds(design: Design, values: Values, key: str) -> tuple[int, int]:
    """Return the lowest and the highest step that a number or scale may have now. [units of the last place]"""
    limits = design.index.limits[key]
    low, high = limits.low, limits.high
    if limits.low_from:
        low = max(low, step_at_least(_limited(design, key), number(design, values, limits.low_from)))
    if limits.high_from:
        high = min(high, step_at_most(_limited(design, key), number(design, values, limits.high_from)))
    return low, high


def turn_value(design: Design, values: Values, setting: Setting, value: int, steps: int) -> tuple[int, bool]:
    """Turn a number, scale, choice, switch or digits by whole steps; those of digits are units of the last place.

    Returns:
        The value then, and whether an end was met.
    """
    if isinstance(setting, (Number, Scale)):
        low, high = bounds(design, values, setting.key)
        new = step_by(setting, value, steps, low, high)
        # Only a value at an end can have been turned beyond it.
        ended = setting.ends == "stop" and new in (low, high) and steps_between(setting, value, new) != steps
        return new, ended
    if isinstance(setting, Choice):
        last = len(setting.options) - 1
        if setting.ends == "wrap":
            return (value + steps) % (last + 1), False
        return min(max(value + steps, 0), last), not 0 <= value + steps <= last
    if isinstance(setting, Digits):
        return turn_digit(setting, value, setting.places - 1, steps)
    assert isinstance(setting, Switch)
    new = int(steps > 0)
    return new, new == value


def turn_field(setting: Clock, value: int, place: int, detents: int) -> int:
    """Turn one field of a clock, which wraps by itself. [s or min]"""
    weight = 1
    for size in setting.sizes[place + 1 :]:
        weight *= size
    field = value // weight % setting.sizes[place]
    return value + ((field + detents) % setting.sizes[place] - field) * weight


def turn_digit(setting: Digits, value: int, place: int, detents: int) -> tuple[int, bool]:
    """Turn one digit of a number, carrying into the others, and stop at its limits."""
    wanted = value + detents * 10 ** (setting.places - 1 - place)
    new = min(max(wanted, setting.low), setting.high)
    return new, new != wanted


def places(setting: Setting) -> int:
    """Count the parts of a value that are edited one after the other."""
    if isinstance(setting, Clock):
        return len(setting.sizes)
    return setting.places if isinstance(setting, Digits) else 1


def pick_delete(setting: TextSetting) -> int:
    """Return the pick that takes a text's last character back."""
    return len(setting.characters)


def pick_done(setting: TextSetting) -> int:
    """Return the pick that commits a text."""
    return len(setting.characters) + 1


def changed_keys(design: Design, before: Values, after: Values) -> list[str]:
    """Return the keys of the settings whose value differs, in order of position."""
    return [design.settings[position].key for position in differences(before, after)]
