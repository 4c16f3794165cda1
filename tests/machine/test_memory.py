"""Memory equals device: what is saved is what the device holds, whatever is done to it and whenever power is cut."""

from __future__ import annotations

import json
from collections.abc import Iterable

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.events import Event, LongPress, Wait
from knobmenu.machine.advance import advance, advance_all, find_next_due_ms
from knobmenu.machine.effects import Effect, SaveDue
from knobmenu.machine.memory import collect_saved_values, power_cycle, power_on, write_memory
from knobmenu.machine.state import Editing, Mode, State, get_committed_values, get_value, make_initial_state
from knobmenu.machine.stored import Stored
from knobmenu.trace import parse_trace
from tests.invariants import check_memory, check_state
from tests.strategies import Story, designs, stories

Memory = dict[str, Stored]

LIVE_EDIT = "press press press 1 press press 1 wait 2000"
"""Set *bass* to 1, then edit it again to 2 and stay there until the first change is saved."""


def save(design: Design, memory: Memory, effects: Iterable[Effect]) -> Memory:
    """Write the saves to memory, through JSON as a file would have them."""
    format_trace: Memory = json.loads(json.dumps(write_memory(design, memory, effects)))
    return format_trace


def rest(design: Design, state: State, memory: Memory) -> tuple[State, Memory]:
    """Close an open edit and wait until nothing falls due any more."""
    waits: list[Event] = [LongPress(state.at_ms)] if isinstance(state.focus, Editing) else []
    while waits or find_next_due_ms(design, state) is not None:
        event = waits.pop() if waits else Wait(max(find_next_due_ms(design, state) or 0, state.at_ms))
        state, effects = advance(design, state, event)
        memory = save(design, memory, effects)
    return state, memory


@st.composite
def live_designs(draw: st.DrawFn) -> Design:
    """A design whose settings apply live more often than not and that saves soon."""
    design = draw(designs())
    settings = [attrs.evolve(part, applies=draw(st.sampled_from(("live", part.applies)))) for part in design.settings]
    return attrs.evolve(design, settings=settings, save_after_ms=draw(st.sampled_from((0, 1, 150, 2000))))


@given(stories(live_designs()), st.data())
def test_whatever_is_done_memory_holds_what_the_device_holds(story: Story, data: st.DataObject) -> None:
    """Cuts come between any two saves, so that one of two values that limit each other may be written alone."""
    design, events = story
    state, memory = make_initial_state(design), Memory()
    for event in events:
        if event.at_ms < state.at_ms:
            event = attrs.evolve(event, at_ms=state.at_ms)
        state, effects = advance(design, state, event)
        cut = data.draw(st.integers(0, 9)) == 0
        done = effects[: data.draw(st.integers(0, len(effects)))] if cut else effects
        memory = save(design, memory, done)
        if cut:
            state = power_cycle(design, state, memory)
            check_state(design, state)
        check_memory(design, state, memory)
    state, memory = rest(design, state, memory)
    assert not state.unsaved
    check_memory(design, state, memory)
    if not isinstance(state.focus, Editing):
        again = power_on(design, memory)
        assert (again.state.values, again.dropped, again.state.unsaved) == (kept_values(design, state), (), ())


def kept_values(design: Design, state: State) -> object:
    """Return the values that survive a power cut at rest: those of the saved settings, the rest initial."""
    return power_on(design, collect_saved_values(design, state)).state.values


@pytest.mark.parametrize("close", ["hold", "wait 20000"])
def test_a_save_that_falls_due_during_a_live_edit_writes_what_stood_before_it(radio: Design, close: str) -> None:
    """The draft of *bass* is 2 when the earlier change of it falls due."""
    memory = Memory()
    state, effects = advance_all(
        radio, make_initial_state(radio), parse_trace("press press press 1 press press 1 wait 2000")
    )
    assert [effect for effect in effects if isinstance(effect, SaveDue)] == [SaveDue("bass", 1)]
    assert (state.focus and state.mode, get_value(radio, state, "bass")) == (Mode.EDITING, 2)
    memory = save(radio, memory, effects)
    (event,) = parse_trace(close)
    state, effects = advance(radio, state, attrs.evolve(event, at_ms=state.at_ms + 20_000))
    memory = save(radio, memory, effects)

    assert get_value(radio, state, "bass") == 1
    assert memory == {"bass": collect_saved_values(radio, state)["bass"]}


def test_a_commit_after_such_a_save_is_saved_again(radio: Design) -> None:
    state, effects = advance_all(
        radio, make_initial_state(radio), parse_trace("press press press 1 press press 1 wait 2000 press wait 2000")
    )
    assert [effect for effect in effects if isinstance(effect, SaveDue)] == [SaveDue("bass", 1), SaveDue("bass", 2)]
    assert get_value(radio, state, "bass") == 2


def test_a_value_that_a_draft_pushed_is_saved_as_it_was_before(radio: Design) -> None:
    """*quiet* was set to 10; editing *loud* live pushes it down to 5 before it is saved."""
    state, effects = advance_all(
        radio, make_initial_state(radio), parse_trace("press press 1 press 1 press 1 press -3 wait 1500 hold wait 5000")
    )
    saves = [effect for effect in effects if isinstance(effect, SaveDue)]
    assert saves == [SaveDue("quiet", 10)]
    assert get_value(radio, state, "quiet") == 10


def test_what_is_unsaved_stands_in_order_of_position(radio: Design) -> None:
    state, _ = advance_all(radio, make_initial_state(radio), parse_trace("held 1 1"))
    assert state.unsaved == ("volume", "timeout")


def test_a_value_that_memory_cannot_give_back_is_saved_again(radio: Design) -> None:
    """Power was cut after *quiet* was written and before *loud*, which it had pushed: neither is trusted."""
    memory = {
        **collect_saved_values(radio, make_initial_state(radio)),
        "quiet": {"kind": "number", "decimals": 0, "value": 25},
    }
    found = power_on(radio, memory)
    assert get_value(radio, found.state, "quiet") == 5
    assert found.state.unsaved == ("quiet",)
    assert len(found.dropped) == 1
    _, effects = advance(radio, found.state, Wait(radio.save_after_ms))
    assert effects == (SaveDue("quiet", 5),)


def test_a_setting_that_is_not_saved_takes_nothing_from_memory(radio: Design) -> None:
    found = power_on(radio, {"mute": {"kind": "switch", "value": True}})
    assert get_value(radio, found.state, "mute") == 0
    assert not found.state.unsaved


def test_power_that_is_cut_at_rest_keeps_what_is_saved_and_a_live_draft_is_lost(radio: Design) -> None:
    state, _ = advance_all(radio, make_initial_state(radio), parse_trace("3 hold press press press 1"))
    again = power_cycle(radio, state)
    assert get_committed_values(again) == power_cycle(radio, again).values
    assert [get_value(radio, again, key) for key in ("volume", "mute", "bass")] == [13, 0, 0]
    assert again.mode is Mode.HOME


def test_power_that_is_cut_before_a_save_is_due_loses_the_change(radio: Design) -> None:
    state, effects = advance_all(radio, make_initial_state(radio), parse_trace("3"))
    again = power_cycle(radio, state, save(radio, Memory(), effects))
    assert get_value(radio, again, "volume") == 10
