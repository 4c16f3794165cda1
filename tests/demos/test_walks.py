"""A million random events over each demo, with every invariant on.

After each event what it can have changed is checked: the values it told and what limits them, the selection, the draft,
the time, the size of the screen; and the whole state once in a thousand events. KNOBMENU_EVENTS sets another number of
events, KNOBMENU_SEED another walk.
"""

from __future__ import annotations

import os
import random
from collections import deque

import pytest

from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.machine.advance import advance
from knobmenu.machine.effects import ValueChanged
from knobmenu.machine.state import State, initial_state
from knobmenu.screen.render import render
from knobmenu.trace import written
from tests.demos.playing import demo
from tests.invariants import check_focus, check_limits, check_selection, check_state, check_value

EVENTS = int(os.environ.get("KNOBMENU_EVENTS", "1000000"))
SEED = int(os.environ.get("KNOBMENU_SEED", "1"))

DEMOS = ("radio", "proofer", "darkroom", "instrument")


@pytest.mark.parametrize("name", DEMOS)
def test_a_million_random_events_keep_every_invariant(name: str) -> None:
    design, chance = demo(name), random.Random(SEED)
    state = initial_state(design)
    recent: deque[Event] = deque(maxlen=60)
    for number in range(EVENTS):
        event = _anything(design, chance, state.at_ms)
        recent.append(event)
        try:
            state = _checked(design, state, event, whole=number % 1000 == 0)
        except Exception as error:
            error.add_note(f"seed {SEED}, event {number}; the trace before it ends with:\n{written(recent)}")
            raise


def _checked(design: Design, before: State, event: Event, *, whole: bool) -> State:
    """Take an event and assert what must hold afterwards."""
    state, effects = advance(design, before, event)
    assert state.at_ms == event.at_ms
    for effect in effects:
        if isinstance(effect, ValueChanged):
            check_value(design, state, effect.key)
            check_limits(design, state, effect.key)
    check_selection(design, state)
    check_focus(design, state)
    screen = render(design, state)
    assert [len(row) for row in screen.rows] == [design.display.columns] * design.display.rows
    if whole:
        check_state(design, state)
    return state


def _anything(design: Design, chance: random.Random, now_ms: int) -> Event:
    """Do something that this device's knob can do, mostly turning and pressing, sometimes waiting for it to idle."""
    at_ms = now_ms + chance.randrange(1, 800)
    kind = chance.random()
    if kind < 0.5:
        return Turn(at_ms, chance.choice((1, 1, 1, -1, -1, 3, -7)), chance.choice((1, 1, 1, 5)))
    if kind < 0.86:
        return Press(at_ms)
    if kind < 0.92:
        return LongPress(at_ms)
    if kind < 0.94 and design.knob.double_press_ms:
        return DoublePress(at_ms)
    if kind < 0.96 and design.knob.turns_while_held:
        return HeldTurn(at_ms, chance.choice((1, -1)))
    if kind < 0.99 and design.readouts:
        readout = chance.choice(design.readouts)
        return Report(at_ms, readout.key, chance.choice((0, 1, 2, -40, 999)))
    return Wait(at_ms + chance.choice((50, 3_000, design.idle.after_ms)))
