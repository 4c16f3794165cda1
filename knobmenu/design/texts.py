"""The texts that a design can show, and where each is written."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import assert_never

import attrs

from knobmenu.design.parts import Parts
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting

PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
"""A key in braces, which a home row replaces with the value of that key."""


def walk_texts(design: Parts) -> Iterator[tuple[str, str]]:
    """Walk the texts that a design can show, each with its path; skip empty ones."""
    return ((path, text) for path, text in _walk_all_texts(design) if text)


def _walk_all_texts(design: Parts) -> Iterator[tuple[str, str]]:
    yield "name", design.name
    for setting in design.settings:
        path = f"settings.{setting.key}"
        yield from _walk_fields(path, setting, ("label", "short", "question", "hazard"))
        match setting:
            case Number() | Scale():
                yield from ((f"{path}.names.{value}", text) for value, text in setting.names)
                yield f"{path}.unit", setting.unit
            case Digits():
                yield f"{path}.unit", setting.unit
            case Switch():
                yield from _walk_fields(path, setting, ("on_label", "off_label"))
            case Choice():
                for option in setting.options:
                    yield from _walk_fields(f"{path}.options.{option.key}", option, ("label", "short"))
            case Clock() | TextSetting():
                pass
            case _:
                assert_never(setting)
    for menu in design.menus:
        yield from _walk_fields(f"menus.{menu.key}", menu, ("label", "short"))
        for index, entry in enumerate(menu.entries):
            yield f"menus.{menu.key}.entries[{index}].label", entry.label
    for action in design.actions:
        yield from _walk_fields(f"actions.{action.key}", action, ("label", "short", "question", "hazard"))
    for readout in design.readouts:
        yield from _walk_fields(f"readouts.{readout.key}", readout, ("label", "short", "unit"))
        yield from ((f"readouts.{readout.key}.names.{value}", text) for value, text in readout.names)
    for number, row in enumerate(design.home.rows):
        yield from _walk_fields(f"home.rows[{number}]", row, ("left", "right"))
    for lamp in design.lamps:
        yield f"lamps.{lamp.key}.label", lamp.label
    yield from _walk_fields(
        "wording", design.wording, tuple(field.name for field in attrs.fields(type(design.wording)))
    )


def _walk_fields(path: str, part: object, names: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    return ((f"{path}.{name}", getattr(part, name)) for name in names)
