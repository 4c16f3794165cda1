"""The parts of a spec: the parts of a design, with everything computed that a reader would have to compute.

Names become positions, limits that refer to other settings are followed to numbers, generated scales are listed, and
texts are fitted to the display. Each function returns JSON's own types, with the fields that the standard numbers, in
the order of the standard.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, assert_never

from knobmenu.design.conditions import Resolved
from knobmenu.design.kinds import KINDS, Setting, get_initial_value
from knobmenu.design.labels import get_entry_label
from knobmenu.design.menu import BACK, Action, Menu, Readout
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.screen.panel import make_panel

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

Plain = dict[str, Any]
"""A JSON object."""


def build_setting(design: Design, setting: Setting) -> Plain:
    """Build the part of a setting."""
    return {
        "position": design.index.positions[setting.key],
        "key": setting.key,
        "kind": KINDS[type(setting)].word,
        "label": setting.label,
        "short": setting.short,
        "caution": setting.hazard,
        "initial": get_initial_value(setting),
        "applies": setting.applies,
        "on_long_press": setting.on_long_press,
        "on_idle": setting.on_idle,
        "saved": setting.saved,
        "confirm": setting.confirm,
        "question": setting.question,
        **_build_kind(design, setting),
    }


def _build_kind(design: Design, setting: Setting) -> Plain:
    match setting:
        case Number() | Scale():
            return _build_limited(design, setting)
        case Choice():
            options = [{"key": option.key, "label": option.label, "short": option.short} for option in setting.options]
            return {"options": options, "wraps": setting.ends == "wrap"}
        case Switch():
            return {"on_label": setting.on_label, "off_label": setting.off_label}
        case TextSetting():
            return {
                "characters": setting.characters,
                "cells": [one.text for one in make_panel(design.display).fit_each(setting.characters)],
                "longest": setting.longest,
                "after_each": setting.after_each,
            }
        case Clock():
            return {"fields": _build_clock_fields(setting), "highest": setting.highest}
        case Digits():
            return {
                "low": setting.low,
                "high": setting.high,
                "places": setting.places,
                "decimals": setting.decimals,
                "unit": setting.unit,
            }
        case _:
            assert_never(setting)


def _build_limited(design: Design, setting: Number | Scale) -> Plain:
    limits, positions = design.index.limits[setting.key], design.index.positions
    part: Plain = {"low": limits.low, "high": limits.high}
    if isinstance(setting, Number):
        part["step"] = setting.step
    else:
        part["values"] = [value for value in setting.steps if limits.low <= value <= limits.high]
    return part | {
        "low_from": positions[limits.low_from] if limits.low_from else None,
        "high_from": positions[limits.high_from] if limits.high_from else None,
        "wraps": setting.ends == "wrap",
        "accelerates": setting.accelerates,
        "decimals": setting.decimals,
        "unit": setting.unit,
        "names": _build_names(setting.names),
        "bar": setting.bar,
    }


def _build_clock_fields(setting: Clock) -> list[Plain]:
    fields, weight = [], 1
    for name, size in zip(reversed(setting.fields.split("-")), reversed(setting.sizes), strict=True):
        fields.append({"name": name, "size": size, "weight": weight})
        weight *= size
    return fields[::-1]


def _build_names(names: Iterable[tuple[int, str]]) -> list[Plain]:
    return [{"value": value, "text": text} for value, text in names]


def build_readout(design: Design, readout: Readout) -> Plain:
    """Build the part of a readout."""
    return {
        "position": design.index.positions[readout.key],
        "key": readout.key,
        "label": readout.label,
        "short": readout.short,
        "initial": readout.initial,
        "decimals": readout.decimals,
        "unit": readout.unit,
        "names": _build_names(readout.names),
    }


def build_action(action: Action) -> Plain:
    """Build the part of an action."""
    return {
        "key": action.key,
        "label": action.label,
        "short": action.short,
        "caution": action.hazard,
        "confirm": action.confirm,
        "question": action.question,
        "then": action.then,
    }


def build_menu(design: Design, menu: Menu) -> Plain:
    """Build the part of a menu and its entries."""
    index = design.index
    entries = [
        {
            **build_target(design, entry.target),
            "label": get_entry_label(design, entry),
            "short": _get_short(design, entry.target),
            "shown_if": build_condition(index.shown[menu.key][number]),
            "enabled_if": build_condition(index.enabled[menu.key][number]),
        }
        for number, entry in enumerate(menu.entries)
    ]
    return {
        "key": menu.key,
        "label": menu.label,
        "short": menu.short,
        "wraps": menu.ends == "wrap",
        "reopens": menu.reopens,
        "entries": entries,
    }


def build_target(design: Design, target: str) -> Plain:
    """Build a reference to the part with a key."""
    return {"kind": design.index.kinds[target].value, "key": target}


def _get_short(design: Design, target: str) -> str:
    return "" if target == BACK else str(_get_part(design, target).short)


def _get_part(design: Design, key: str) -> Setting | Menu | Action | Readout:
    index = design.index
    return index.settings.get(key) or index.menus.get(key) or index.actions.get(key) or index.readouts[key]


def build_condition(condition: Resolved | None) -> Plain | None:
    """Build a condition; None stays None."""
    if condition is None:
        return None
    if condition.operator in ("all", "any", "not"):
        return {"operator": condition.operator, "parts": [build_condition(part) for part in condition.parts]}
    return {"operator": condition.operator, "position": condition.position, "value": condition.value}
