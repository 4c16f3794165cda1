"""One value in a form that outlives its design: what it was of, and what it was.

A stored value says its kind and its decimals, so that a design that changed since never reads 125 tenths as 125 whole
ones. A value that the changed design cannot have is refused with the reason, never bent into one that it can.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from knobmenu.design.limits import Limits, step_at_most
from knobmenu.design.menu import Readout
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Setting, Switch, TextSetting
from knobmenu.errors import shown
from knobmenu.machine.values import Value

Stored = Mapping[str, Any]
"""A stored value, of JSON's own types."""

_KINDS: dict[type, str] = {
    Number: "number",
    Scale: "number",
    Digits: "number",
    Choice: "choice",
    Switch: "switch",
    TextSetting: "text",
    Clock: "clock",
}


@attrs.frozen
class UnfitError(Exception):
    """A stored value that a design cannot have; `reason` says why."""

    reason: str


def store(setting: Setting, value: Value) -> Stored:
    """Store a value of a setting."""
    kind = _KINDS[type(setting)]
    if isinstance(setting, (Number, Scale, Digits)):
        return {"kind": kind, "decimals": setting.decimals, "value": value}
    if isinstance(setting, Clock):
        return {"kind": kind, "fields": setting.fields, "value": value}
    if isinstance(setting, Choice):
        assert isinstance(value, int)
        return {"kind": kind, "value": setting.options[value].key}
    return {"kind": kind, "value": bool(value) if isinstance(setting, Switch) else value}


def restore(setting: Setting, limits: Limits | None, item: Stored) -> Value:
    """Give the value that a stored one means for a setting.

    Args:
        setting: Of the design as it is now.
        limits: Its limits, for a number or scale.
        item: What was stored, by any earlier form of the design.

    Raises:
        UnfitError: The setting cannot have it.
    """
    kind = _KINDS[type(setting)]
    if item.get("kind") != kind:
        raise UnfitError(f"it was a {shown(item.get('kind'))}, and is a {kind} now")
    value = item.get("value")
    if isinstance(setting, (Number, Scale, Digits)):
        number = rescale(value, item.get("decimals"), setting.decimals)
        if isinstance(setting, Digits):
            low, high, step = setting.low, setting.high, number
        else:
            assert limits is not None
            low, high, step = limits.low, limits.high, step_at_most(setting, number)
        if not low <= number <= high or step != number:
            raise UnfitError(f"{number} is none of its values from {low} to {high}")
        return number
    if isinstance(setting, Clock):
        return _clock(setting, item.get("fields"), value)
    if isinstance(setting, Choice):
        keys = [option.key for option in setting.options]
        if value not in keys:
            raise UnfitError(f"it has no option {shown(value)} any more")
        return keys.index(value)
    if isinstance(setting, Switch):
        if not isinstance(value, bool):
            raise UnfitError(f"{shown(value)} is neither true nor false")
        return int(value)
    return _text(setting, value)


def restore_report(readout: Readout, item: Stored) -> int:
    """Give the value that a stored one means for a readout.

    Raises:
        UnfitError: The readout cannot have it.
    """
    return rescale(item.get("value"), item.get("decimals"), readout.decimals)


def rescale(value: Any, decimals: Any, wanted: int) -> int:
    """Write a fixed-point number with other decimals, where it is exactly the same number.

    Raises:
        UnfitError: It is not a number, or not a 32-bit integer.
    """
    if type(value) is not int or type(decimals) is not int or not 0 <= decimals <= 9 or not -(2**31) <= value < 2**31:
        raise UnfitError(f"{shown(value)} is not a 32-bit integer")
    if decimals > wanted:
        number, rest = divmod(value, 10 ** (decimals - wanted))
        if rest:
            raise UnfitError(f"it had {decimals} decimals, and {wanted} are too few now")
    else:
        number = value * 10 ** (wanted - decimals)
    if not -(2**31) <= number < 2**31:
        raise UnfitError(f"{number} is not a 32-bit integer")
    return int(number)


def _clock(setting: Clock, fields: Any, value: Any) -> int:
    if fields != setting.fields:
        raise UnfitError(f"it had {shown(fields)}, and has {setting.fields} now")
    if type(value) is not int or not 0 <= value <= setting.highest:
        raise UnfitError(f"{shown(value)} is not a time up to {setting.highest}")
    return int(value)


def _text(setting: TextSetting, value: object) -> str:
    if not isinstance(value, str) or len(value) > setting.longest or set(value) - set(setting.characters):
        raise UnfitError(f"{shown(value)} is not a text of at most {setting.longest} of its characters")
    return value
