"""The table of transitions is complete, and says where every transition ends."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.errors import EventError
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.machine.advance import advance, advance_all
from knobmenu.machine.state import Mode, initial_state
from knobmenu.machine.transitions import TRANSITIONS, Case, IdleExpired
from tests.strategies import designs, traces

TRIGGERS = (Turn, HeldTurn, Press, LongPress, DoublePress, IdleExpired)


def test_every_event_has_a_row_in_every_mode_and_nothing_else_has() -> None:
    assert set(TRANSITIONS) == {(mode, event) for mode in Mode for event in TRIGGERS}


def test_every_case_is_told_by_some_row() -> None:
    assert {case for row in TRANSITIONS.values() for case in row.arcs} == set(Case)


def test_each_rule_and_each_action_has_one_name_in_the_specification() -> None:
    rules = {(row.rule, row.case) for row in TRANSITIONS.values()}
    actions = {(arc.action, arc.do) for row in TRANSITIONS.values() for arc in row.arcs.values()}

    for pairs in (rules, actions):
        assert len(pairs) == len({name for name, _ in pairs}) == len({function for _, function in pairs})
    assert len({case.word for case in Case}) == len(Case)


@st.composite
def _moments(draw: st.DrawFn) -> tuple[Design, list[Event], Event]:
    design = draw(designs())
    events = draw(traces(design))
    at_ms = events[-1].at_ms if events else 0
    kind = draw(st.sampled_from(TRIGGERS[:-1]))
    detents = draw(st.sampled_from([1, -1, 7]))
    last = kind(at_ms, detents) if kind in (Turn, HeldTurn) else kind(at_ms)
    return design, events, last


@given(_moments())
def test_every_transition_ends_in_a_mode_that_its_row_names(moment: tuple[Design, list[Event], Event]) -> None:
    design, events, event = moment
    state, _ = advance_all(design, initial_state(design), events)
    row = TRANSITIONS[state.mode, type(event)]
    case = row.case(design, state, event)
    assert case in row.arcs, f"{state.mode} has no arc for {case}"

    after, _ = advance(design, state, event)

    assert after.mode in row.arcs[case].to


@given(_moments())
def test_idling_ends_in_a_mode_that_its_row_names(moment: tuple[Design, list[Event], Event]) -> None:
    design, events, _ = moment
    state, _ = advance_all(design, initial_state(design), events)
    idle_ms = state.idle_from_ms + design.idle.after_ms
    if state.mode is Mode.HOME or not design.idle.after_ms:
        return
    row = TRANSITIONS[state.mode, IdleExpired]
    arc = row.arcs[row.case(design, state, IdleExpired(idle_ms))]

    after, _ = advance(design, state, Wait(idle_ms))

    assert after.mode in arc.to


@given(_moments())
def test_a_refused_event_says_why_and_changes_nothing(moment: tuple[Design, list[Event], Event]) -> None:
    design, events, _ = moment
    state, _ = advance_all(design, initial_state(design), [*events, Wait(10**8)])
    before = state._replace()
    with pytest.raises(EventError, match="is earlier than the last event"):
        advance(design, state, Press(state.at_ms - 1))
    with pytest.raises(EventError, match="unknown readout"):
        advance(design, state, Report(state.at_ms, "no-such-readout", 1))
    with pytest.raises(EventError, match="a device cannot take this event"):
        advance(design, state, IdleExpired(state.at_ms))
    assert state == before


def test_a_batch_says_which_event_was_refused(radio: Design) -> None:
    with pytest.raises(EventError, match=r"^event 2: press at 5 ms is earlier"):
        advance_all(radio, initial_state(radio), [Press(10), Press(5)])
