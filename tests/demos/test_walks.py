"""A million random events over each demo, with every invariant on.

Power is cut now and then, between any two saves too, and weeks pass in which nobody touches the knob, so that the clock
runs over many times. After each event what it can have changed is checked: that every changed value is reported, the
values reported and what limits them, the selection, the draft, the time, the size of the screen; and the whole state
once in a thousand events, where the walk also notes a state to fail again from. Whenever something was saved, and once
in a hundred events, non-volatile memory holds what the device holds but for what waits to be saved; after days at rest
nothing waits. What the walk met is counted, and a walk that met too little of it fails.

KNOBMENU_EVENTS sets another number of events, KNOBMENU_SEED another walk.
"""

from __future__ import annotations

import os
import random
from collections import Counter
from collections.abc import Iterator

import pytest

from knobmenu.design.whole import Design
from knobmenu.device.moment import Moment, apply_event, power_on
from knobmenu.events import Event, Wait
from knobmenu.machine.changing import list_changed_keys
from knobmenu.machine.effects import Reverted, SaveDue, ValueChanged
from knobmenu.machine.memory import power_cycle, write_memory
from knobmenu.machine.persistence import to_json
from knobmenu.machine.state import Editing, State
from knobmenu.machine.stored import Stored
from knobmenu.screen.render import render
from knobmenu.trace import format_trace
from tests.demos.playing import DEMOS, anything, demo, every_entry
from tests.invariants import check_focus, check_limits, check_memory, check_selection, check_state, check_value
from tests.sampling import sampled

EVENTS = int(os.environ.get("KNOBMENU_EVENTS") or sampled(1_000_000, 100_000))
SEED = int(os.environ.get("KNOBMENU_SEED", "1"))

NAMES = [
    path.relative_to(DEMOS).with_suffix("").as_posix()
    for path in (*DEMOS.glob("*.toml"), *DEMOS.glob("study/lamp-*.toml"))
]

DAY_MS = 86_400_000

LEAST = {
    "power cut": 1000,
    "power cut before a value was saved": 100,
    "power cut while saving": 50,
    "power cut in an edit": 50,
    "crossing of 49 days": 100,
    "crossing with an edit or a save to come": 9,
    "days at rest": 500,
    "save": 2000,
    "revert": 1000,
}
"""How often a walk of a million events meets each at least; a shorter one, as much less often."""

LEAST_LIVE = {"revert of a live edit": 200, "revert of a live edit in which a save fell due": 9}
"""The same of demos that edit a live setting which is saved."""


@pytest.mark.parametrize("name", sorted(NAMES))
def test_a_million_random_events_keep_every_invariant(name: str) -> None:
    design = demo(name)
    met = walk(design)
    least = LEAST | (LEAST_LIVE if edits_live(design) else {})
    assert not {what: met[what] for what, count in least.items() if met[what] < count * EVENTS // 1_000_000}


def edits_live(design: Design) -> bool:
    """Return whether a design has an editor of a live setting that is saved."""
    opened = {target for _, target in every_entry(design)} | {design.home.press, design.home.long_press}
    return any(part.applies == "live" and part.saved and part.key in opened for part in design.settings)


def walk(design: Design) -> Counter[str]:
    """Walk over a design, assert every invariant, and count what the walk met."""
    chance = random.Random(SEED)
    moment, memory = power_on(design), dict[str, Stored]()
    noted, since = moment.state, list[Event]()
    met = Counter[str]()
    saved_in_edit = False
    for number in range(EVENTS):
        event: Event = anything(design, chance, moment.at_ms)
        if chance.random() < 0.001:
            event = Wait(moment.at_ms + chance.randrange(60 * DAY_MS))
        if number % 1000 == 0:
            check_state(design, moment.state)
            noted, since = moment.state, []
        since.append(event)
        try:
            before, moment = moment, _checked(design, moment, event)
            saves = [effect for effect in moment.effects if isinstance(effect, SaveDue)]
            met.update(_met(design, before, moment, saved_in_edit))
            editing = isinstance(before.state.focus, Editing) and isinstance(moment.state.focus, Editing)
            saved_in_edit = editing and (saved_in_edit or bool(saves))
            cut = chance.random() < (0.02 if saves else 0.002)
            done = saves[: chance.randint(0, len(saves))] if cut else saves
            memory = write_memory(design, memory, done)
            if event.at_ms - before.at_ms > DAY_MS and not cut:
                assert not moment.state.unsaved
                check_memory(design, moment.state, memory)
            if cut:
                met.update(_met_by_cut(moment.state, done == saves))
                moment = Moment(power_cycle(design, moment.state, memory))
            if cut or moment.base_ms != before.base_ms:
                noted, since = moment.state, []
            if saves or cut or number % 100 == 0:
                check_memory(design, moment.state, memory)
        except Exception as error:
            error.add_note(f"seed {SEED}, event {number}. It fails again from this state:\n{to_json(design, noted)}")
            error.add_note(f"by this trace:\n{format_trace(since)}")
            raise
    check_state(design, moment.state)
    return met


def _met(design: Design, before: Moment, after: Moment, saved_in_edit: bool) -> Iterator[str]:
    """Name what an event was for non-volatile memory; `saved_in_edit`: whether a save fell due earlier in the edit."""
    waits = bool(before.state.unsaved) or isinstance(before.state.focus, Editing)
    if after.base_ms != before.base_ms:
        yield "crossing of 49 days"
        if waits:
            yield "crossing with an edit or a save to come"
    if after.at_ms - before.at_ms > DAY_MS:
        yield "days at rest"
    for effect in after.effects:
        match effect:
            case SaveDue():
                yield "save"
                saved_in_edit = isinstance(before.state.focus, Editing)
            case Reverted(key):
                yield "revert"
                if design.index.settings[key].applies == "live":
                    yield "revert of a live edit"
                    if saved_in_edit:
                        yield "revert of a live edit in which a save fell due"


def _met_by_cut(state: State, written: bool) -> Iterator[str]:
    """Name what a power cut was for non-volatile memory; `written`: whether every save that was due came before it."""
    yield "power cut"
    if not written:
        yield "power cut while saving"
    if state.unsaved:
        yield "power cut before a value was saved"
    if isinstance(state.focus, Editing):
        yield "power cut in an edit"


def _checked(design: Design, moment: Moment, event: Event) -> Moment:
    """Take an event and assert what must hold afterwards."""
    before, after = moment.state, apply_event(design, moment, event)
    state, effects = after.state, after.effects
    assert after.at_ms == event.at_ms
    if state.values is not before.values:
        told = {effect.key for effect in effects if isinstance(effect, ValueChanged)}
        assert set(list_changed_keys(design, before.values, state.values)) <= told
    for effect in effects:
        if isinstance(effect, ValueChanged):
            check_value(design, state, effect.key)
            check_limits(design, state, effect.key)
    check_selection(design, state)
    check_focus(design, state)
    screen = render(design, state)
    assert [len(row) for row in screen.rows] == [design.display.columns] * design.display.rows
    return after
