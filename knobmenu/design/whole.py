"""The whole design, and the order that it gives its parts."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from functools import cached_property
from typing import Any

import attrs

from knobmenu.design.conditions import Operand, Resolved, resolve
from knobmenu.design.hardware import (
    Tone,
)
from knobmenu.design.kinds import Limited, Numeric, Setting, Turnable
from knobmenu.design.limits import Limits, list_bound_pairs, resolve_limits
from knobmenu.design.menu import BACK, Action, Menu, Readout
from knobmenu.design.pairs import Pair
from knobmenu.design.parts import Parts
from knobmenu.design.positions import NumberPosition, TextPosition
from knobmenu.design.rules import find_problems
from knobmenu.design.settings import Choice, TextSetting
from knobmenu.errors import DesignError


class Kind(Enum):
    """What a key names."""

    SETTING = "setting"
    MENU = "menu"
    ACTION = "action"
    READOUT = "readout"
    BACK = "back"


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Design(Parts):
    """A device operated with one knob: its hardware, its settings and its menus.

    Raises:
        DesignError: The parts do not fit together; the error lists every problem.
    """

    def __attrs_post_init__(self) -> None:
        """Reject parts that do not fit together, with all problems in one error."""
        DesignError.raise_any(find_problems(self))

    @cached_property
    def index(self) -> Index:
        """The parts by key and by position, computed once."""
        return _build_index(self)


def strip_simulation(design: Design) -> Design:
    """Return the design without its simulation, as every export has it."""
    if not (design.simulation or design.simulation_keys or design.simulation_speed != 1):
        return design
    return attrs.evolve(design, simulation=(), simulation_speed=1, simulation_keys=())


@attrs.frozen(eq=False, repr=False)
class Index:
    """A design's parts by key and by position: derived, never stored.

    It compares by identity, so that a cache can use it as a key at no cost.
    """

    design: Design = attrs.field(repr=False)
    """The design."""
    kinds: Mapping[str, Kind]
    """What each key names."""
    settings: Mapping[str, Setting]
    numeric: Mapping[str, Numeric]
    """The settings whose value is a whole number."""
    turnable: Mapping[str, Turnable]
    """The settings that turning at home can change."""
    limited: Mapping[str, Limited]
    """The numbers and scales."""
    texts: Mapping[str, TextSetting]
    menus: Mapping[str, Menu]
    actions: Mapping[str, Action]
    readouts: Mapping[str, Readout]
    hazards: Mapping[str, Setting | Action]
    """The settings and actions with a caution."""
    positions: Mapping[str, int]
    """The position of each value: settings in order from 0, then readouts."""
    numbers: Mapping[str, NumberPosition]
    """The positions of the values that are whole numbers."""
    text_positions: Mapping[str, TextPosition]
    """The positions of the values that are texts."""
    menu_positions: Mapping[str, NumberPosition]
    """The position of each menu among the menus, and of its remembered entry in `State.last_used`."""
    limits: Mapping[str, Limits]
    """The limits of each number and scale."""
    pairs: tuple[Pair, ...]
    """The pairs of settings of which the first never exceeds the second, in the order in which they push."""
    shown: Mapping[str, tuple[Resolved | None, ...]]
    """For each menu, when each of its entries is shown."""
    enabled: Mapping[str, tuple[Resolved | None, ...]]
    """For each menu, when each of its entries is enabled."""
    conditional: frozenset[str]
    """The menus with an entry that may be hidden."""
    lit: Mapping[str, Resolved | None]
    """When each lamp is lit."""
    tones: Mapping[str, Tone]
    """The tone for each event that the sounder answers."""
    translations: tuple[Mapping[str, str], ...]
    """For each language, its translations."""
    faces: dict[int, Any] = attrs.field(factory=dict, eq=False, repr=False)
    """For each language, the `knobmenu.screen.face.Face`; a cache kept here so that it lives as long as the design."""


def resolve_operand(design_settings: Mapping[str, Setting], key: str, operand: Operand) -> int:
    """Return an operand as a whole number; the key of an option becomes its place."""
    setting = design_settings.get(key)
    if isinstance(setting, Choice) and isinstance(operand, str):
        return [option.key for option in setting.options].index(operand)
    return int(operand)


def _build_index(design: Design) -> Index:
    settings = {setting.key: setting for setting in design.settings}
    readouts = {readout.key: readout for readout in design.readouts}
    positions = {key: position for position, key in enumerate((*settings, *readouts))}
    texts = {key: setting for key, setting in settings.items() if isinstance(setting, TextSetting)}
    numbers = {key: NumberPosition(position) for key, position in positions.items() if key not in texts}

    def locate(key: str, operand: Operand) -> tuple[NumberPosition, int]:
        return numbers[key], resolve_operand(settings, key, operand)

    kinds = {BACK: Kind.BACK}
    kinds.update({setting.key: Kind.SETTING for setting in design.settings})
    kinds.update({menu.key: Kind.MENU for menu in design.menus})
    kinds.update({action.key: Kind.ACTION for action in design.actions})
    kinds.update({readout.key: Kind.READOUT for readout in design.readouts})
    shown = {
        menu.key: tuple(None if entry.shown_if is None else resolve(entry.shown_if, locate) for entry in menu.entries)
        for menu in design.menus
    }
    translations = {translation.language: dict(translation.texts) for translation in design.translations}
    return Index(
        design=design,
        kinds=kinds,
        settings=settings,
        numeric={key: setting for key, setting in settings.items() if isinstance(setting, Numeric)},
        turnable={key: setting for key, setting in settings.items() if isinstance(setting, Turnable)},
        limited={key: setting for key, setting in settings.items() if isinstance(setting, Limited)},
        texts=texts,
        menus={menu.key: menu for menu in design.menus},
        actions={action.key: action for action in design.actions},
        readouts=readouts,
        hazards={part.key: part for part in (*design.settings, *design.actions) if part.hazard},
        positions=positions,
        numbers=numbers,
        text_positions={key: TextPosition(positions[key]) for key in texts},
        menu_positions={menu.key: NumberPosition(position) for position, menu in enumerate(design.menus)},
        limits=resolve_limits(settings),
        pairs=list_bound_pairs(settings),
        shown=shown,
        enabled={
            menu.key: tuple(
                None if entry.enabled_if is None else resolve(entry.enabled_if, locate) for entry in menu.entries
            )
            for menu in design.menus
        },
        conditional=frozenset(key for key, rules in shown.items() if any(rule is not None for rule in rules)),
        lit={lamp.key: None if lamp.lit_if is None else resolve(lamp.lit_if, locate) for lamp in design.lamps},
        tones={word: tone for tone in design.sounder.tones for word in tone.answers} if design.sounder else {},
        translations=tuple(translations.get(language, {}) for language in design.languages),
    )
