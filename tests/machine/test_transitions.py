"""The table of transitions is complete, and says where every transition ends."""

from importlib import import_module
from typing import Any, get_args, get_type_hints

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.errors import EventError
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.machine.advance import advance, advance_all
from knobmenu.machine.state import Asking, Holding, Mode, NumberDraft, TextDraft, make_initial_state
from knobmenu.machine.transitions import TRANSITIONS, Case, IdleExpired
from tests.strategies import opening, stories

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


_FOCUS: dict[Mode, object] = {
    Mode.HOME: None,
    Mode.BROWSING: None,
    Mode.EDITING: NumberDraft | TextDraft,
    Mode.ASKING: Asking,
    Mode.HOLDING: Holding,
}


def _declared(function: Any, parameter: str) -> set[object]:
    """Read the types that a rule or an action declares for its focus or its event."""
    hints = get_type_hints(function, {**vars(import_module(function.__module__)), "Design": Design})
    return set(get_args(hints[parameter]) or [hints[parameter]])


def test_each_rule_and_each_action_takes_the_event_of_every_row_it_stands_in() -> None:
    for (_, event), row in TRANSITIONS.items():
        for function in (row.case, *(arc.do for arc in row.arcs.values())):
            assert any(issubclass(event, one) for one in _declared(function, "event") if isinstance(one, type))


def test_each_rule_takes_every_focus_of_its_mode_and_each_action_one_of_them() -> None:
    for (mode, _), row in TRANSITIONS.items():
        possible = set(get_args(_FOCUS[mode]) or [_FOCUS[mode] or type(None)])
        assert possible <= _declared(row.case, "focus")
        for arc in row.arcs.values():
            assert possible & _declared(arc.do, "focus")


@st.composite
def _moments(draw: st.DrawFn) -> tuple[Design, list[Event], Event]:
    design, events = draw(stories())
    at_ms = events[-1].at_ms if events else 0
    kind = draw(st.sampled_from(TRIGGERS[:-1]))
    detents = draw(st.sampled_from([1, -1, 7]))
    last = kind(at_ms, detents) if kind in (Turn, HeldTurn) else kind(at_ms)
    return design, events, last


@given(_moments())
def test_every_transition_ends_in_a_mode_that_its_row_names(moment: tuple[Design, list[Event], Event]) -> None:
    design, events, event = moment
    state, _ = advance_all(design, make_initial_state(design), events)
    row = TRANSITIONS[state.mode, type(event)]
    case = row.case(design, state, state.focus, event)
    assert case in row.arcs, f"{state.mode} has no arc for {case}"
    assert type(state.focus) in _declared(row.arcs[case].do, "focus")

    after, _ = advance(design, state, event)

    assert after.mode in row.arcs[case].to


@given(_moments())
def test_idling_ends_in_a_mode_that_its_row_names(moment: tuple[Design, list[Event], Event]) -> None:
    design, events, _ = moment
    patient = attrs.evolve(
        opening(design, design.menus[0].key),
        idle=attrs.evolve(design.idle, after_ms=design.idle.after_ms or 500),
    )
    state, idled = make_initial_state(patient), 0
    for event in [Press(0), *events]:
        state, _ = advance(patient, state, event)
        if state.mode is Mode.HOME:
            continue
        idle_ms = state.idle_from_ms + patient.idle.after_ms
        row = TRANSITIONS[state.mode, IdleExpired]
        arc = row.arcs[row.case(patient, state, state.focus, IdleExpired(idle_ms))]
        after, _ = advance(patient, state, Wait(idle_ms))
        assert after.mode in arc.to
        idled += 1
    assert idled


@given(_moments())
def test_a_refused_event_says_why_and_changes_nothing(moment: tuple[Design, list[Event], Event]) -> None:
    design, events, _ = moment
    state, _ = advance_all(design, make_initial_state(design), [*events, Wait(10**8)])
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
        advance_all(radio, make_initial_state(radio), [Press(10), Press(5)])
