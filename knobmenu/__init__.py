"""Design, try out, verify and export the menu of a device with a single rotary knob and a small display.

What a designer needs is here; the rest lives in the modules, floor by floor (see DEVELOPERS.md). Names are looked up
when they are first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knobmenu.design.acceptance import Accepted
    from knobmenu.design.conditions import All, Any, AtLeast, Equal, Less, Not, Unequal
    from knobmenu.design.generators import Generator
    from knobmenu.design.hardware import (
        Acceleration,
        CharacterDisplay,
        Glyph,
        Knob,
        Lamp,
        PixelDisplay,
        SegmentDisplay,
        Sounder,
        Tone,
    )
    from knobmenu.design.home import Gestures, Home, Idle, Row, Translation, Wording
    from knobmenu.design.menu import Action, Entry, Menu, Readout
    from knobmenu.design.settings import Choice, Clock, Digits, Number, Option, Scale, Switch, TextSetting
    from knobmenu.design.simulation import Approach, Case, Countdown, End, Noise, Ramp, SetBy, SimulationKey
    from knobmenu.design.whole import Design
    from knobmenu.device.device import Device
    from knobmenu.device.moment import Moment
    from knobmenu.errors import DesignError, EventError, KnobmenuError, Problem, RecordingError, StateError, TraceError
    from knobmenu.events import DoublePress, HeldTurn, LongPress, Press, Report, Turn, Wait
    from knobmenu.files.disk import load, save
    from knobmenu.machine.advance import advance, find_next_due_ms
    from knobmenu.machine.effects import (
        ActionRun,
        AtLimit,
        Committed,
        Flash,
        Refused,
        Reverted,
        SaveDue,
        ScreenEntered,
        Sound,
        ValueChanged,
    )
    from knobmenu.machine.indicators import find_lit_lamps
    from knobmenu.machine.memory import collect_saved_values, power_cycle, power_on, write_memory
    from knobmenu.machine.persistence import from_json, migrate, to_json
    from knobmenu.machine.state import Mode, State, get_value, make_initial_state
    from knobmenu.screen.cells import Screen
    from knobmenu.screen.render import render
    from knobmenu.trace import format_trace, parse_trace

_HOMES = {
    "knobmenu.design.conditions": ("All", "Any", "AtLeast", "Equal", "Less", "Not", "Unequal"),
    "knobmenu.design.hardware": (
        "Acceleration",
        "CharacterDisplay",
        "Glyph",
        "Knob",
        "Lamp",
        "PixelDisplay",
        "SegmentDisplay",
        "Sounder",
        "Tone",
    ),
    "knobmenu.design.home": ("Gestures", "Home", "Idle", "Row", "Translation", "Wording"),
    "knobmenu.design.acceptance": ("Accepted",),
    "knobmenu.design.menu": ("Action", "Entry", "Menu", "Readout"),
    "knobmenu.design.generators": ("Generator",),
    "knobmenu.design.settings": (
        "Choice",
        "Clock",
        "Digits",
        "Number",
        "Option",
        "Scale",
        "Switch",
        "TextSetting",
    ),
    "knobmenu.design.simulation": (
        "Approach",
        "Case",
        "Countdown",
        "End",
        "Noise",
        "Ramp",
        "SetBy",
        "SimulationKey",
    ),
    "knobmenu.design.whole": ("Design",),
    "knobmenu.device.device": ("Device",),
    "knobmenu.device.moment": ("Moment",),
    "knobmenu.errors": (
        "DesignError",
        "EventError",
        "KnobmenuError",
        "Problem",
        "RecordingError",
        "StateError",
        "TraceError",
    ),
    "knobmenu.events": ("DoublePress", "HeldTurn", "LongPress", "Press", "Report", "Turn", "Wait"),
    "knobmenu.files.disk": ("load", "save"),
    "knobmenu.machine.advance": ("advance", "find_next_due_ms"),
    "knobmenu.machine.memory": ("collect_saved_values", "power_cycle", "power_on", "write_memory"),
    "knobmenu.machine.persistence": ("from_json", "migrate", "to_json"),
    "knobmenu.machine.effects": (
        "ActionRun",
        "AtLimit",
        "Committed",
        "Flash",
        "Refused",
        "Reverted",
        "SaveDue",
        "ScreenEntered",
        "Sound",
        "ValueChanged",
    ),
    "knobmenu.machine.indicators": ("find_lit_lamps",),
    "knobmenu.machine.state": ("Mode", "State", "make_initial_state", "get_value"),
    "knobmenu.screen.cells": ("Screen",),
    "knobmenu.screen.render": ("render",),
    "knobmenu.trace": ("format_trace", "parse_trace"),
}
"""Where each public name lives."""

_HOME_OF = {name: module for module, names in _HOMES.items() for name in names}

__all__ = [
    "Acceleration",
    "Accepted",
    "Action",
    "ActionRun",
    "All",
    "Any",
    "Approach",
    "AtLeast",
    "AtLimit",
    "Case",
    "CharacterDisplay",
    "Choice",
    "Clock",
    "Committed",
    "Countdown",
    "Design",
    "DesignError",
    "Device",
    "Digits",
    "DoublePress",
    "End",
    "Entry",
    "Equal",
    "EventError",
    "Flash",
    "Generator",
    "Gestures",
    "Glyph",
    "HeldTurn",
    "Home",
    "Idle",
    "Knob",
    "KnobmenuError",
    "Lamp",
    "Less",
    "LongPress",
    "Menu",
    "Mode",
    "Moment",
    "Noise",
    "Not",
    "Number",
    "Option",
    "PixelDisplay",
    "Press",
    "Problem",
    "Ramp",
    "Readout",
    "RecordingError",
    "Refused",
    "Report",
    "Reverted",
    "Row",
    "SaveDue",
    "Scale",
    "Screen",
    "ScreenEntered",
    "SegmentDisplay",
    "SetBy",
    "SimulationKey",
    "Sound",
    "Sounder",
    "State",
    "StateError",
    "Switch",
    "TextSetting",
    "Tone",
    "TraceError",
    "Translation",
    "Turn",
    "Unequal",
    "ValueChanged",
    "Wait",
    "Wording",
    "advance",
    "collect_saved_values",
    "find_lit_lamps",
    "find_next_due_ms",
    "format_trace",
    "from_json",
    "get_value",
    "load",
    "make_initial_state",
    "migrate",
    "parse_trace",
    "power_cycle",
    "power_on",
    "render",
    "save",
    "to_json",
    "write_memory",
]  # fmt: skip


def __getattr__(name: str) -> object:
    """Find a public name in the module that it lives in."""
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOME_OF[name]), name)


def __dir__() -> list[str]:
    """Name what is public."""
    return __all__
