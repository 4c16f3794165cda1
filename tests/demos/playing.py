"""The demos played: by a written trace, and by a hand that wanders over everything."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path
from typing import NamedTuple

import attrs

from knobmenu.design.settings import Choice
from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.files.disk import load
from knobmenu.machine.advance import advance
from knobmenu.machine.effects import ActionRun, Committed, Effect, SaveDue
from knobmenu.machine.indicators import find_lit_lamps
from knobmenu.machine.state import Mode, make_initial_state
from knobmenu.screen.render import render
from knobmenu.session.narration import describe_effect
from knobmenu.trace import parse_trace
from tests.screen.drawing import drawn

DEMOS = Path(__file__).parents[2] / "demos"


@cache
def demo(name: str, language: str = "") -> Design:
    """Load a demo; with a language, as it is when sold with that one chosen."""
    design = load(DEMOS / f"{name}.toml")
    if not language:
        return design
    spoken = design.index.settings[design.language]
    assert isinstance(spoken, Choice)
    sold = attrs.evolve(spoken, initial=language)
    return attrs.evolve(design, settings=[sold if setting is spoken else setting for setting in design.settings])


def played(design: Design, trace: str) -> Device:
    """Play a trace on a new device."""
    device = Device(design)
    device.tell_all(parse_trace(trace))
    return device


def shows(design: Design, trace: str) -> str:
    """Draw what a new device shows after a trace."""
    return drawn(played(design, trace).screen)


def does(design: Design, trace: str) -> list[str]:
    """Say what a new device is asked to do by the last event of a trace; sounds and flashes are left out."""
    effects = played(design, trace).present.effects
    return [describe_effect(design, effect) for effect in effects if effect.word not in ("sound", "flash")]


def sets(key: str, value: str, menu: str) -> list[str]:
    """Say what a press does that keeps a draft and goes back to a menu, in the words of `does`."""
    return [f"{key} is {value}", f"{key} kept at {value}", f"screen browsing {menu}"]


def heard(design: Design, trace: str) -> list[str]:
    """Say what the sounder of a new device answers to the last event of a trace."""
    effects = played(design, trace).present.effects
    return [describe_effect(design, effect) for effect in effects if effect.word == "sound"]


def lit(design: Design, trace: str) -> list[str]:
    """Name the lamps of a new device that are lit after a trace."""
    states = find_lit_lamps(design, played(design, trace).state)
    return [lamp.key for lamp, on in zip(design.lamps, states, strict=True) if on]


def saved(design: Design, trace: str) -> list[str]:
    """Say every write to memory that a trace leads to on a new device."""
    effects = [effect for moment in played(design, trace).history for effect in moment.effects]
    return [describe_effect(design, effect) for effect in effects if isinstance(effect, SaveDue)]


class Seen(NamedTuple):
    """What a wandering hand came by."""

    entries: frozenset[tuple[str, str]]
    """Menus with the targets of entries that were selected in them."""
    actions: frozenset[str]
    """Actions that were done."""
    settings: frozenset[str]
    """Settings that were set and kept."""
    cut: frozenset[str]
    """Texts that a display could not show whole."""
    replaced: frozenset[str]
    """Characters that it lacked."""


@cache
def wandered(name: str, language: str = "", events: int = 20_000, seed: int = 1) -> Seen:
    """Let a hand do anything at random on a demo, the same each time for the same seed."""
    design, chance = demo(name, language), random.Random(seed)
    state = make_initial_state(design)
    entries, told, cut, replaced = set(), list[Effect](), set[str](), set[str]()
    for _ in range(events):
        state, effects = advance(design, state, anything(design, chance, state.at_ms))
        told += effects
        if state.mode is Mode.BROWSING and state.path[-1].entry >= 0:
            menu = design.index.menus[state.path[-1].menu]
            entries.add((menu.key, menu.entries[state.path[-1].entry].target))
        screen = render(design, state)
        cut.update(screen.cut)
        replaced.update(screen.replaced)
    return Seen(
        frozenset(entries),
        frozenset(effect.key for effect in told if isinstance(effect, ActionRun)),
        frozenset(effect.key for effect in told if isinstance(effect, Committed)),
        frozenset(cut),
        frozenset(replaced),
    )


_REPORTED = {"%": [0, 62, 100], "°C": [-55, 215, 1250], "min": [0, 90, 2879]}
"""What a device may report, by unit, the widest among it. [units of the last place]"""


def anything(design: Design, chance: random.Random, now_ms: int) -> Event:
    """Do something that the knob of a demo can do, mostly turning and pressing, sometimes waiting for it to idle."""
    at_ms = now_ms + chance.randint(20, 400)
    number = chance.random()
    if number < 0.45:
        return Turn(at_ms, chance.choice((-3, -1, 1, 1, 1, 2, 5)), times=chance.choice((1, 1, 1, 4)))
    if number < 0.85:
        return Press(at_ms)
    if number < 0.90:
        return LongPress(at_ms)
    if number < 0.91 and design.knob.double_press_ms:
        return DoublePress(at_ms)
    if number < 0.92 and design.knob.turns_while_held:
        return HeldTurn(at_ms, chance.choice((-1, 1)))
    if number < 0.98 and design.readouts:
        readout = chance.choice(design.readouts)
        named = [value for value, _ in readout.names]
        return Report(at_ms, readout.key, chance.choice(named or _REPORTED.get(readout.unit, [0, 9999])))
    return Wait(at_ms + chance.choice((100, 3_000, 70_000)))


def every_entry(design: Design) -> set[tuple[str, str]]:
    """List the menus of a design with the targets of all their entries."""
    return {(menu.key, entry.target) for menu in design.menus for entry in menu.entries}
