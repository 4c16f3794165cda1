"""A million random events over each demo, with every invariant on.

Power is cut now and then, between any two saves too, and weeks pass in which nobody touches the knob, so that the clock
runs over many times. After each event what it can have changed is checked: that every changed value is reported, the
values reported and what limits them, the selection, the draft, the time, the size of the screen; and the whole state
once in a thousand events, where the walk also notes a state to fail again from. Whenever something was saved, and once
in a hundred events, non-volatile memory holds what the device holds but for what waits to be saved.

KNOBMENU_EVENTS sets another number of events, KNOBMENU_SEED another walk.
"""

from __future__ import annotations

import os
import random

import pytest

from knobmenu.design.whole import Design
from knobmenu.device.moment import Moment, power_on, step
from knobmenu.events import Event, Wait
from knobmenu.machine.changing import changed_keys
from knobmenu.machine.effects import SaveDue, ValueChanged
from knobmenu.machine.persistence import power_cycle, to_json, write_memory
from knobmenu.machine.stored import Stored
from knobmenu.screen.render import render
from knobmenu.trace import format_trace
from tests.demos.playing import anything, demo
from tests.invariants import check_focus, check_limits, check_memory, check_selection, check_state, check_value
from tests.sampling import sampled

EVENTS = int(os.environ.get("KNOBMENU_EVENTS") or sampled(1_000_000, 100_000))
SEED = int(os.environ.get("KNOBMENU_SEED", "1"))

DEMOS = ("radio", "proofer", "darkroom", "instrument")


@pytest.mark.parametrize("name", DEMOS)
def test_a_million_random_events_keep_every_invariant(name: str) -> None:
    design, chance = demo(name), random.Random(SEED)
    moment, memory = power_on(design), dict[str, Stored]()
    noted, since = moment.state, list[Event]()
    crossings = cuts = 0
    for number in range(EVENTS):
        event: Event = anything(design, chance, moment.at_ms)
        if chance.random() < 0.001:
            event = Wait(moment.at_ms + chance.randrange(60 * 86_400_000))
        if number % 1000 == 0:
            check_state(design, moment.state)
            noted, since = moment.state, []
        since.append(event)
        try:
            before, moment = moment, _checked(design, moment, event)
            saves = [effect for effect in moment.effects if isinstance(effect, SaveDue)]
            cut = chance.random() < 0.002
            memory = write_memory(design, memory, saves[: chance.randint(0, len(saves))] if cut else saves)
            if cut:
                moment, cuts = Moment(power_cycle(design, moment.state, memory)), cuts + 1
                noted, since = moment.state, []
            elif moment.base_ms != before.base_ms:
                crossings += 1
                noted, since = moment.state, []
            if saves or cut or number % 100 == 0:
                check_memory(design, moment.state, memory)
        except Exception as error:
            error.add_note(f"seed {SEED}, event {number}. It fails again from this state:\n{to_json(design, noted)}")
            error.add_note(f"by this trace:\n{format_trace(since)}")
            raise
    check_state(design, moment.state)
    assert cuts > EVENTS // 1000
    assert crossings > EVENTS // 10_000


def _checked(design: Design, moment: Moment, event: Event) -> Moment:
    """Take an event and assert what must hold afterwards."""
    before, after = moment.state, step(design, moment, event)
    state, effects = after.state, after.effects
    assert after.at_ms == event.at_ms
    if state.values is not before.values:
        told = {effect.key for effect in effects if isinstance(effect, ValueChanged)}
        assert set(changed_keys(design, before.values, state.values)) <= told
    for effect in effects:
        if isinstance(effect, ValueChanged):
            check_value(design, state, effect.key)
            check_limits(design, state, effect.key)
    check_selection(design, state)
    check_focus(design, state)
    screen = render(design, state)
    assert [len(row) for row in screen.rows] == [design.display.columns] * design.display.rows
    return after
