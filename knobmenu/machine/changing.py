"""Change values: assign one and push the settings that it limits, open a draft, turn a value."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

from knobmenu.design.kinds import Turnable
from knobmenu.design.limits import count_steps, find_step_at_least, find_step_at_most, move_by_steps
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.machine.state import Editing, NumberDraft, TextDraft
from knobmenu.machine.values import Value, Values, find_differences, get_at, replace_value

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def get_number(design: Design, values: Values, key: str) -> int:
    """Return the value of a setting that is a whole number."""
    return get_at(values, design.index.numbers[key])


def assign(design: Design, values: Values, key: str, value: Value) -> Values:
    """Set a setting's value, and push the settings that it limits.

    A push goes in the direction of the change; one pass through the pairs in their order settles them all. The rules of
    a design ensure that there is room.
    """
    if isinstance(value, str):
        return replace_value(values, design.index.text_positions[key], value)
    positions = design.index.numbers
    position = positions[key]
    limits = design.index.limits.get(key)
    if limits is None or not limits.pairs:
        return replace_value(values, position, value)
    rises = value > get_at(values, position)
    values = replace_value(values, position, value)
    limited = design.index.limited
    for lower, upper in limits.pairs if rises else reversed(limits.pairs):
        low, high = get_at(values, positions[lower]), get_at(values, positions[upper])
        if low > high and rises:
            values = replace_value(values, positions[upper], find_step_at_least(limited[upper], low))
        elif low > high:
            values = replace_value(values, positions[lower], find_step_at_most(limited[lower], high))
    return values


def open_draft(design: Design, values: Values, key: str) -> Editing:
    """Return the draft at the beginning of an edit."""
    if key in design.index.texts:
        return TextDraft(key, get_at(values, design.index.text_positions[key]), values)
    return NumberDraft(key, get_at(values, design.index.numbers[key]), values)


def find_bounds(design: Design, values: Values, key: str) -> tuple[int, int]:
    """Return the lowest and the highest value that a number or scale can have now. [units of the last place]"""
    limits = design.index.limits[key]
    low, high = limits.low, limits.high
    if limits.low_from:
        low = max(low, find_step_at_least(design.index.limited[key], get_number(design, values, limits.low_from)))
    if limits.high_from:
        high = min(high, find_step_at_most(design.index.limited[key], get_number(design, values, limits.high_from)))
    return low, high


def turn_value(design: Design, values: Values, setting: Turnable, value: int, steps: int) -> tuple[int, bool]:
    """Turn a value by whole steps; a step of digits is a unit of the last place.

    Returns:
        The new value, and whether the turn went beyond an end.
    """
    match setting:
        case Number() | Scale():
            low, high = find_bounds(design, values, setting.key)
            new = move_by_steps(setting, value, steps, low, high)
            # Only a value at an end can have been turned beyond it.
            ended = new in (low, high) and setting.ends == "stop" and count_steps(setting, value, new) != steps
            return new, ended
        case Choice():
            last = len(setting.options) - 1
            if setting.ends == "wrap":
                return (value + steps) % (last + 1), False
            return min(max(value + steps, 0), last), not 0 <= value + steps <= last
        case Switch():
            new = int(steps > 0)
            return new, new == value
        case Digits():
            return turn_digit(setting, value, setting.places - 1, steps)
        case _:
            assert_never(setting)


def turn_field(setting: Clock, value: int, place: int, detents: int) -> int:
    """Turn one field of a clock, which wraps by itself. [s or min]"""
    weight = 1
    for size in setting.sizes[place + 1 :]:
        weight *= size
    field = value // weight % setting.sizes[place]
    return value + ((field + detents) % setting.sizes[place] - field) * weight


def turn_digit(setting: Digits, value: int, place: int, detents: int) -> tuple[int, bool]:
    """Turn one digit of a number with carry, and stop at its limits.

    Returns:
        The new value, and whether the turn went beyond a limit.
    """
    target = value + detents * 10 ** (setting.places - 1 - place)
    new = min(max(target, setting.low), setting.high)
    return new, new != target


def get_delete_pick(setting: TextSetting) -> int:
    """Return the pick that deletes a text's last character."""
    return len(setting.characters)


def get_done_pick(setting: TextSetting) -> int:
    """Return the pick that commits a text."""
    return len(setting.characters) + 1


def list_changed_keys(design: Design, before: Values, after: Values) -> list[str]:
    """Return the keys of the settings whose value differs, in order of position."""
    return [design.settings[position].key for position in find_differences(before, after)]
