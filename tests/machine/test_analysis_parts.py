"""What the machine offers to analysis: timeless states, the idle event and what a press leads to."""

from __future__ import annotations

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.menu import BACK
from knobmenu.design.whole import Design
from knobmenu.events import Event, LongPress, Press, Turn, Wait
from knobmenu.knob.gestures import list_gestures
from knobmenu.machine.advance import (
    advance,
    advance_all,
    find_idle_due_ms,
    find_next_due_ms,
    find_save_due_ms,
    make_idle_event,
)
from knobmenu.machine.effects import SaveDue, ScreenEntered
from knobmenu.machine.state import Mode, State, make_initial_state, strip_time
from knobmenu.machine.transitions import (
    TRANSITIONS,
    Case,
    IdleExpired,
    find_confirmed_case,
    find_event_case,
    find_press_case,
)
from knobmenu.trace import parse_trace
from tests.strategies import stories


@st.composite
def places(draw: st.DrawFn) -> tuple[Design, State]:
    """A design and one of the states that it comes into."""
    design, events = draw(stories())
    return design, advance_all(design, make_initial_state(design), events)[0]


def gesture(kind: type[Event], at_ms: int, detents: int) -> Event:
    return (
        Turn(at_ms, detents)
        if kind is Turn
        else kind(at_ms, *((detents,) if "detents" in attrs.fields_dict(kind) else ()))
    )


@given(places(), st.integers(-3, 3).filter(bool))
def test_states_that_differ_in_time_alone_answer_every_gesture_alike(place: tuple[Design, State], detents: int) -> None:
    design, state = place
    timeless = strip_time(state)
    assert strip_time(timeless) == timeless
    for kind in list_gestures(design.knob):
        now, effects = advance(design, state, gesture(kind, state.at_ms, detents))
        then, others = advance(design, timeless, gesture(kind, 0, detents))
        assert strip_time(now) == strip_time(then)
        assert [one for one in effects if not isinstance(one, SaveDue)] == [
            one for one in others if not isinstance(one, SaveDue)
        ]


@given(places())
def test_the_idle_event_lets_the_device_idle_and_nothing_shorter_does(place: tuple[Design, State]) -> None:
    design, state = place
    event = make_idle_event(design, state)
    if event is None:
        assert state.mode is Mode.HOME or not design.idle.after_ms
        assert find_idle_due_ms(design, state) is None
        return
    just_before, _ = advance(design, state, Wait(max(event.at_ms - 1, state.at_ms)))
    if event.at_ms > state.at_ms:
        assert (just_before.path, just_before.focus) == (state.path, state.focus)
    after, effects = advance(design, state, event)
    assert any(isinstance(effect, ScreenEntered) for effect in effects)
    assert len(after.path) + bool(after.focus) < len(state.path) + bool(state.focus)


@given(places())
def test_the_next_moment_that_something_is_due_is_that_of_idling_or_of_saving(place: tuple[Design, State]) -> None:
    design, state = place
    due = [one for one in (find_idle_due_ms(design, state), find_save_due_ms(design, state)) if one is not None]
    assert find_next_due_ms(design, state) == min(due, default=None)


@given(places(), st.integers(-3, 3).filter(bool))
def test_the_way_of_an_event_ends_in_one_of_its_modes(place: tuple[Design, State], detents: int) -> None:
    design, state = place
    for kind in list_gestures(design.knob):
        event = gesture(kind, state.at_ms, detents)
        still = state._replace(idle_from_ms=state.at_ms)
        case = find_event_case(design, still, event)
        assert advance(design, still, event)[0].mode in TRANSITIONS[still.mode, kind].arcs[case].to
    assert find_event_case(design, state, IdleExpired(state.at_ms)) in TRANSITIONS[state.mode, IdleExpired].arcs


def test_time_and_reports_have_no_way_of_their_own(radio: Design) -> None:
    with pytest.raises(KeyError):
        find_event_case(radio, make_initial_state(radio), Wait(0))


@pytest.mark.parametrize(
    ("target", "pressed", "confirmed"),
    [
        ("sound", Case.OPEN, None),
        ("signal", Case.READ, None),
        (BACK, Case.LEAVE, None),
        ("bass", Case.EDIT, Case.EDIT),
        ("mute", Case.TOGGLE, Case.TOGGLE),
        ("next", Case.RUN, Case.RUN),
        ("erase", Case.ASK, Case.RUN),
        ("restart", Case.HOLD, Case.RUN),
    ],
)
def test_what_a_press_leads_to(radio: Design, target: str, pressed: Case, confirmed: Case | None) -> None:
    assert find_press_case(radio, target) is pressed
    if confirmed:
        assert find_confirmed_case(radio, target) is confirmed


def test_the_way_of_a_press_in_a_list(radio: Design) -> None:
    state = advance_all(radio, make_initial_state(radio), parse_trace("press"))[0]
    assert find_event_case(radio, state, Press(1000)) is Case.OPEN
    assert find_event_case(radio, state, LongPress(1000)) is Case.LEAVE
