"""One stored value, in a form that can be read into a changed design.

A stored value includes its kind and its decimals, so that a changed design never reads 125 tenths as 125 ones. A value
that the changed design cannot have is refused with the reason, never adjusted.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, assert_never

import attrs

from knobmenu.design.kinds import KINDS, Numeric, Setting
from knobmenu.design.limits import find_step_at_most
from knobmenu.design.menu import Readout
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.errors import quote_value
from knobmenu.machine.values import Value

if TYPE_CHECKING:
    from knobmenu.design.whole import Index

Stored = Mapping[str, Any]
"""A stored value, of JSON's own types."""


@attrs.frozen
class UnfitError(Exception):
    """A stored value that a design cannot have; `reason` states why."""

    reason: str


def store(index: Index, key: str, value: Value) -> Stored:
    """Store a value of a setting."""
    match value:
        case int():
            return _store_number(index.numeric[key], value)
        case str():
            return {"kind": KINDS[TextSetting].stored, "value": value}
        case _:
            assert_never(value)


def _store_number(setting: Numeric, value: int) -> Stored:
    kind = KINDS[type(setting)].stored
    match setting:
        case Number() | Scale() | Digits():
            return {"kind": kind, "decimals": setting.decimals, "value": value}
        case Clock():
            return {"kind": kind, "fields": setting.fields, "value": value}
        case Choice():
            return {"kind": kind, "value": setting.options[value].key}
        case Switch():
            return {"kind": kind, "value": bool(value)}
        case _:
            assert_never(setting)


def restore_number(index: Index, setting: Numeric, item: Stored) -> int:
    """Restore a stored value of a setting whose value is a whole number.

    Args:
        index: Of the design as it is now.
        setting: One of its settings.
        item: What was stored, by this or an earlier version of the design.

    Raises:
        UnfitError: The setting cannot have it.
    """
    value = _read_value(setting, item)
    match setting:
        case Number() | Scale():
            number = rescale(value, item.get("decimals"), setting.decimals)
            limits = index.limits[setting.key]
            return _check_within(limits.low, limits.high, number, find_step_at_most(setting, number))
        case Digits():
            number = rescale(value, item.get("decimals"), setting.decimals)
            return _check_within(setting.low, setting.high, number, number)
        case Clock():
            return _check_clock(setting, item.get("fields"), value)
        case Choice():
            keys = [option.key for option in setting.options]
            if value not in keys:
                raise UnfitError(f"it no longer has the option {quote_value(value)}")
            return keys.index(value)
        case Switch():
            if not isinstance(value, bool):
                raise UnfitError(f"{quote_value(value)} is neither true nor false")
            return int(value)
        case _:
            assert_never(setting)


def restore_text(setting: TextSetting, item: Stored) -> str:
    """Restore a stored text.

    Raises:
        UnfitError: The setting cannot have it.
    """
    value = _read_value(setting, item)
    if not isinstance(value, str) or len(value) > setting.longest or set(value) - set(setting.characters):
        raise UnfitError(f"{quote_value(value)} is not a text of at most {setting.longest} of its characters")
    return value


def restore(index: Index, setting: Setting, item: Stored) -> Value:
    """Restore a stored value of a setting of any kind.

    Raises:
        UnfitError: The setting cannot have it.
    """
    if isinstance(setting, TextSetting):
        return restore_text(setting, item)
    return restore_number(index, setting, item)


def _read_value(setting: Setting, item: Stored) -> Any:
    """Return what a stored value holds, if it is of the setting's kind."""
    kind = KINDS[type(setting)].stored
    if item.get("kind") != kind:
        raise UnfitError(f"it was a {quote_value(item.get('kind'))}, and is a {kind} now")
    return item.get("value")


def _check_within(low: int, high: int, number: int, step: int) -> int:
    if not low <= number <= high or step != number:
        raise UnfitError(f"{number} is not one of its values from {low} to {high}")
    return number


def restore_report(readout: Readout, item: Stored) -> int:
    """Restore a stored value of a readout.

    Raises:
        UnfitError: The readout cannot have it.
    """
    return rescale(item.get("value"), item.get("decimals"), readout.decimals)


def rescale(value: Any, decimals: Any, target: int) -> int:
    """Express a fixed-point number exactly with another number of decimals.

    Raises:
        UnfitError: It is not a 32-bit integer, or cannot be expressed exactly as one.
    """
    if type(value) is not int or type(decimals) is not int or not 0 <= decimals <= 9 or not -(2**31) <= value < 2**31:
        raise UnfitError(f"{quote_value(value)} is not a 32-bit integer")
    if decimals > target:
        number, rest = divmod(value, 10 ** (decimals - target))
        if rest:
            raise UnfitError(f"it had {decimals} decimals, and {target} are too few now")
    else:
        number = value * 10 ** (target - decimals)
    if not -(2**31) <= number < 2**31:
        raise UnfitError(f"{number} is not a 32-bit integer")
    return int(number)


def _check_clock(setting: Clock, fields: Any, value: Any) -> int:
    if fields != setting.fields:
        raise UnfitError(f"it had {quote_value(fields)}, and has {setting.fields} now")
    if type(value) is not int or not 0 <= value <= setting.highest:
        raise UnfitError(f"{quote_value(value)} is not a time up to {setting.highest}")
    return int(value)
