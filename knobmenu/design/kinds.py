"""The kinds of settings: the one table of them, and what each can do.

A kind is a class of `knobmenu.design.settings`. To add one, write its class, give it a row in `KINDS`, and add it to
the unions below that it belongs to. Code that distinguishes kinds is a `match` that ends in `assert_never`, so the
type checker then lists every place to extend.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import assert_never

import attrs

from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.structure import Structure

Limited = Number | Scale
"""Kinds whose limits can be other settings."""

Parted = Clock | Digits
"""Kinds that are edited in parts, fields or digits. Turning while held moves among the parts."""

Turnable = Limited | Choice | Switch | Digits
"""Kinds that turning at home can change: they have one part, or their last part carries into the others."""

Numeric = Turnable | Clock
"""Kinds whose value is a whole number."""

Setting = Numeric | TextSetting
"""Every kind. The value of a text is the text itself."""


@attrs.frozen(eq=False, repr=False)
class SettingKind(Structure):
    """The names of a kind."""

    word: str
    """Its name in design files and in the specification."""
    stored: str
    """Its name in saved states. Kinds that share it have compatible values, carried over to a changed design."""


KINDS: Mapping[type[Setting], SettingKind] = {
    Number: SettingKind("number", stored="number"),
    Scale: SettingKind("scale", stored="number"),
    Choice: SettingKind("choice", stored="choice"),
    Switch: SettingKind("switch", stored="switch"),
    TextSetting: SettingKind("text", stored="text"),
    Clock: SettingKind("clock", stored="clock"),
    Digits: SettingKind("digits", stored="number"),
}

SETTINGS: tuple[type[Setting], ...] = tuple(KINDS)


def get_initial_value(setting: Setting) -> int | str:
    """Return a setting's value when the device is new: a whole number, or the text itself."""
    return setting.initial if isinstance(setting, TextSetting) else get_initial_number(setting)


def get_initial_number(setting: Numeric) -> int:
    """Return the whole number that a setting has when the device is new."""
    match setting:
        case Number() | Scale() | Digits() | Clock():
            return setting.initial
        case Choice():
            keys = [option.key for option in setting.options]
            return keys.index(setting.initial) if setting.initial else 0
        case Switch():
            return int(setting.initial)
        case _:
            assert_never(setting)


def count_parts(setting: Setting) -> int:
    """Return how many parts of a value are edited one after the other: fields, digits, or 1."""
    match setting:
        case Number() | Scale() | Choice() | Switch() | TextSetting():
            return 1
        case Clock():
            return len(setting.sizes)
        case Digits():
            return setting.places
        case _:
            assert_never(setting)


def count_decimals(setting: Numeric) -> int:
    """Return how many decimal places a setting's whole numbers have."""
    match setting:
        case Number() | Scale() | Digits():
            return setting.decimals
        case Choice() | Switch() | Clock():
            return 0
        case _:
            assert_never(setting)
