"""A million random events over each demo, with every invariant on.

After each event what it can have changed is checked: that every changed value is told, the values told and what limits
them, the selection, the draft, the time, the size of the screen; and the whole state once in a thousand events, where
the walk also notes a state to fail again from. KNOBMENU_EVENTS sets another number of events, KNOBMENU_SEED another
walk.
"""

from __future__ import annotations

import os
import random

import pytest

from knobmenu.design.whole import Design
from knobmenu.events import Event
from knobmenu.machine.advance import advance
from knobmenu.machine.changing import changed_keys
from knobmenu.machine.effects import ValueChanged
from knobmenu.machine.persistence import to_json
from knobmenu.machine.state import State, initial_state
from knobmenu.screen.render import render
from knobmenu.trace import format_trace
from tests.demos.playing import anything, demo
from tests.invariants import check_focus, check_limits, check_selection, check_state, check_value
from tests.sampling import sampled

EVENTS = int(os.environ.get("KNOBMENU_EVENTS") or sampled(1_000_000, 100_000))
SEED = int(os.environ.get("KNOBMENU_SEED", "1"))

DEMOS = ("radio", "proofer", "darkroom", "instrument")


@pytest.mark.parametrize("name", DEMOS)
def test_a_million_random_events_keep_every_invariant(name: str) -> None:
    design, chance = demo(name), random.Random(SEED)
    state = noted = initial_state(design)
    since: list[Event] = []
    for number in range(EVENTS):
        event = anything(design, chance, state.at_ms)
        if number % 1000 == 0:
            check_state(design, state)
            noted, since = state, []
        since.append(event)
        try:
            state = _checked(design, state, event)
        except Exception as error:
            error.add_note(f"seed {SEED}, event {number}. It fails again from this state:\n{to_json(design, noted)}")
            error.add_note(f"by this trace:\n{format_trace(since)}")
            raise
    check_state(design, state)


def _checked(design: Design, before: State, event: Event) -> State:
    """Take an event and assert what must hold afterwards."""
    state, effects = advance(design, before, event)
    assert state.at_ms == event.at_ms
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
    return state
