"""A device that runs for years: its clock is moved back, and nothing else differs."""

from __future__ import annotations

from typing import Any

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.home import Idle
from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.device.moment import Moment, apply_event, find_due_ms, power_on
from knobmenu.errors import EventError
from knobmenu.events import CLOCK_MS, LATEST_MS, Press, Turn, Wait
from knobmenu.machine.advance import advance, advance_all, find_next_due_ms
from knobmenu.machine.clock import RECENT_MS, make_room, rebase_time
from knobmenu.machine.effects import SaveDue, ScreenEntered
from knobmenu.machine.state import make_initial_state, strip_time
from knobmenu.trace import parse_trace
from tests.strategies import Story, designs, stories


@st.composite
def idle_designs(draw: st.DrawFn) -> Design:
    """A design with an idle rule of any length or none."""
    design = draw(designs())
    after_ms = draw(st.sampled_from((design.idle.after_ms, 0, 1, 86_400_000)))
    return attrs.evolve(design, idle=attrs.evolve(design.idle, after_ms=after_ms))


def picture(design: Design, moment: Moment, start_ms: int) -> Any:
    """Return everything about a moment, its times counted from a start."""
    due = find_due_ms(design, moment)
    return (
        strip_time(moment.state),
        moment.state.unsaved,
        moment.effects,
        moment.at_ms - start_ms,
        None if due is None else due - start_ms,
    )


@given(stories(idle_designs()), st.data())
def test_a_walk_across_the_end_of_the_clock_equals_the_same_walk_at_power_on(story: Story, data: st.DataObject) -> None:
    """The clock ends anywhere in the walk, once or many times over."""
    design, events = story
    lasts_ms = events[-1].at_ms if events else 0
    turns = data.draw(st.sampled_from((1, 2, 50)))
    start_ms = turns * CLOCK_MS - data.draw(st.integers(0, lasts_ms))
    plain, late = power_on(design), apply_event(design, power_on(design), Wait(start_ms))
    for event in events:
        plain = apply_event(design, plain, event)
        late = apply_event(design, late, attrs.evolve(event, at_ms=start_ms + event.at_ms))
        assert picture(design, late, start_ms) == picture(design, plain, 0)


@given(stories(idle_designs()), st.data())
def test_moving_the_clock_back_at_any_time_changes_nothing_else(story: Story, data: st.DataObject) -> None:
    """As firmware does it, which keeps at least a day of the past."""
    design, events = story
    start_ms = RECENT_MS + 1000
    kept, _ = advance(design, make_initial_state(design), Wait(start_ms))
    moved, base_ms = kept, 0
    for event in events:
        if data.draw(st.booleans()):
            by_ms = data.draw(st.integers(0, max(moved.at_ms - RECENT_MS, 0)))
            moved, base_ms = rebase_time(moved, by_ms), base_ms + by_ms
        kept, effects = advance(design, kept, attrs.evolve(event, at_ms=start_ms + event.at_ms))
        moved, others = advance(design, moved, attrs.evolve(event, at_ms=start_ms + event.at_ms - base_ms))
        assert others == effects
        assert strip_time(moved) == strip_time(kept)
        due, other_due = find_next_due_ms(design, kept), find_next_due_ms(design, moved)
        assert due == (None if other_due is None else other_due + base_ms)


@given(stories(idle_designs()), st.sampled_from((0, 1, CLOCK_MS, 50 * CLOCK_MS)),
       st.integers(0, CLOCK_MS) | st.just(CLOCK_MS))  # fmt: skip
def test_a_time_that_the_clock_holds_needs_no_room(story: Story, base_ms: int, later_ms: int) -> None:
    design, events = story
    state, _ = advance_all(design, make_initial_state(design), events)
    at_ms = base_ms + min(state.at_ms + later_ms, CLOCK_MS)
    assert make_room(design, state, base_ms, at_ms) == (state, base_ms, ())


def test_what_falls_due_on_a_wait_of_years_happens_at_its_time(radio: Design) -> None:
    moment = apply_event(radio, power_on(radio), Turn(100, 1))
    moment = apply_event(radio, moment, Press(200))
    moment = apply_event(radio, moment, Wait(10 * CLOCK_MS))
    assert [type(effect) for effect in moment.effects] == [SaveDue, ScreenEntered]
    assert moment.at_ms == 10 * CLOCK_MS
    assert moment.state.at_ms <= CLOCK_MS


def test_a_device_runs_on_after_49_days(radio: Design) -> None:
    device = Device(radio)
    device.wait(CLOCK_MS)
    device.turn(1)
    device.press()
    assert device.present.at_ms == CLOCK_MS + 200
    assert device.get_value("volume") == 11
    assert device.due_ms == CLOCK_MS + 100 + radio.save_after_ms


def test_a_draft_that_is_open_for_a_year_is_still_open_where_nothing_idles(radio: Design) -> None:
    patient = attrs.evolve(radio, idle=Idle(after_ms=0))
    device = Device(patient)
    device.tell_all(parse_trace("press press press 2"))
    device.wait(365 * 86_400_000)
    device.press()
    assert device.get_value("bass") == 2


def test_the_machine_refuses_an_event_that_its_clock_does_not_hold(radio: Design) -> None:
    state = make_initial_state(radio)
    assert advance(radio, state, Wait(CLOCK_MS))[0].at_ms == CLOCK_MS
    with pytest.raises(EventError, match=r"expected an event at 4294967295 ms or earlier, got wait at 4294967296 ms\."):
        advance(radio, state, Wait(CLOCK_MS + 1))
    with pytest.raises(EventError):
        Wait(LATEST_MS + 1)


@pytest.mark.parametrize("by_ms", [-1, 101, True])
def test_the_clock_moves_back_no_further_than_the_state_is(radio: Design, by_ms: int) -> None:
    state, _ = advance(radio, make_initial_state(radio), Wait(100))
    with pytest.raises(EventError, match="expected a whole number from 0 to 100"):
        rebase_time(state, by_ms)
