"""One event of the machine: a state and an event give the next state and what the device is to do."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, assert_never

from knobmenu.design.hardware import ANSWERED
from knobmenu.errors import EventError, mismatch, nearest, one_of, quote_value
from knobmenu.events import CLOCK_MS, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.machine.effects import (
    ActionRun,
    AtLimit,
    Committed,
    Effect,
    Flash,
    Refused,
    Reverted,
    SaveDue,
    Sound,
    make_screen_entered,
)
from knobmenu.machine.state import Asking, Holding, Mode, NumberDraft, State, TextDraft, get_committed_values, touch
from knobmenu.machine.transitions import TRANSITIONS, IdleExpired
from knobmenu.machine.values import get_at
from knobmenu.machine.walking import settle

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def advance(design: Design, state: State, event: Event) -> tuple[State, tuple[Effect, ...]]:
    """Take one event.

    What has fallen due, idling or saving, happens first, each at its own time; so the result does not depend on how
    often the caller sends time.

    Args:
        design: The device's design; the state must be one of its states.
        state: The device before the event.
        event: What happened.

    Returns:
        The device after the event, and what it has to do, in order.

    Raises:
        EventError: The event is older than the state, later than its clock holds, or reports a value of an unknown
            readout. Nothing has changed.
    """
    kind, at_ms = type(event), event.at_ms
    if not state.at_ms <= at_ms <= CLOCK_MS or kind not in _TAKEN:
        raise _make_refusal(state, event)
    effects: list[Effect] = []
    if at_ms - state.idle_from_ms >= design.idle.after_ms or (
        state.unsaved and at_ms - state.changed_ms >= design.save_after_ms
    ):  # Before that, nothing can have fallen due.
        state = _let_elapse(design, state, at_ms, effects)
    if isinstance(event, Report):
        state = _take_report(design, state, event)
    elif kind is not Wait:
        state = _take_transition(design, state, event, effects)
        if state.unsaved and not design.save_after_ms:
            state = _save(design, state, effects)
    if state.at_ms != at_ms:
        state = state._replace(at_ms=at_ms)
    return state, tuple(effects)


def advance_all(design: Design, state: State, events: Iterable[Event]) -> tuple[State, tuple[Effect, ...]]:
    """Take several events, one after the other.

    Raises:
        EventError: As `advance` does; the message states which event it was, counted from 1.
    """
    effects: list[Effect] = []
    for number, event in enumerate(events, 1):
        try:
            state, more = advance(design, state, event)
        except EventError as error:
            raise EventError(f"event {number}: {error}") from None
        effects += more
    return state, tuple(effects)


def find_next_due_ms(design: Design, state: State) -> int | None:
    """Return when something happens by time alone, or None where nothing will. [ms since power-on]"""
    # Called for every event; most of the time only one of the two, or neither, is pending.
    idle_ms = find_idle_due_ms(design, state) if design.idle.after_ms else None
    if not state.unsaved:
        return idle_ms
    save_ms = find_save_due_ms(design, state)
    return save_ms if idle_ms is None or save_ms is None else min(idle_ms, save_ms)


def make_idle_event(design: Design, state: State) -> Wait | None:
    """Make the event at which the device idles next, or return None if it does not idle.

    It is a wait until that time, so it can be played like any other event.
    """
    due_ms = find_idle_due_ms(design, state)
    return None if due_ms is None else Wait(max(due_ms, state.at_ms))


def _make_refusal(state: State, event: Event) -> EventError:
    if event.at_ms < state.at_ms:
        return EventError(f"{event.word} at {event.at_ms} ms is earlier than the last event ({state.at_ms} ms)")
    if event.at_ms > CLOCK_MS:
        got = f"{event.word} at {event.at_ms} ms"
        return EventError(mismatch(f"an event at {CLOCK_MS} ms or earlier", got, "Move the clock with rebase_time"))
    return EventError(f"{type(event).__name__} at {event.at_ms} ms: a device cannot take this event")


_TAKEN = frozenset(event for _, event in TRANSITIONS if event is not IdleExpired) | {Wait, Report}


def _take_report(design: Design, state: State, event: Report) -> State:
    if event.key not in design.index.readouts:
        readouts = design.index.readouts
        advice = nearest(event.key, readouts) or (f"Report {one_of(readouts)}." if readouts else "The design has none.")
        raise EventError(mismatch("", f"unknown readout {quote_value(event.key)}", advice))
    position = design.index.positions[event.key] - len(design.settings)
    reports = (*state.reports[:position], event.value, *state.reports[position + 1 :])
    return settle(design, state._replace(reports=reports))


def _take_transition(design: Design, before: State, event: Event, effects: list[Effect]) -> State:
    """Look the event up in the table, run its action, and append the effects that follow."""
    first, focus = len(effects), before.focus
    row = TRANSITIONS[before.mode, type(event)]
    state = row.arcs[row.case(design, before, focus, event)].do(design, before, focus, event, effects)
    if state is not before:
        if design.index.conditional:
            state = settle(design, state)
        if type(state.focus) is not type(focus) or len(state.path) != len(before.path):
            # A turned draft and a moved selection are on the same screen.
            effects.append(make_screen_entered(*identify_screen(state)))
    if design.sounder is not None or design.lamps:
        _add_answers(design, event, state is not before, effects, first)
    return state if state is not before and state.idle_from_ms == event.at_ms else touch(state, event.at_ms)


def identify_screen(state: State) -> tuple[Mode, str]:
    """Return which screen is shown: the mode, and the key of its subject."""
    focus = state.focus
    match focus:
        case None:
            return (Mode.BROWSING, state.path[-1].menu) if state.path else (Mode.HOME, "")
        case NumberDraft() | TextDraft():
            return Mode.EDITING, focus.setting
        case Asking() | Holding():
            return state.mode, focus.target
        case _:
            assert_never(focus)


# Time.


def find_idle_due_ms(design: Design, state: State) -> int | None:
    """Return when the device idles next if nobody touches the knob, or None where it does not. [ms]"""
    after_ms = design.idle.after_ms
    at_home = not state.path and state.focus is None
    return None if at_home or not after_ms else state.idle_from_ms + after_ms


def find_save_due_ms(design: Design, state: State) -> int | None:
    """Return when the next save falls due if nothing changes, or None where nothing is to be saved. [ms]"""
    return state.changed_ms + design.save_after_ms if state.unsaved else None


def _let_elapse(design: Design, state: State, until_ms: int, effects: list[Effect]) -> State:
    """Perform everything that falls due up to a time, earliest first."""
    while True:
        idle = find_idle_due_ms(design, state)
        save = find_save_due_ms(design, state)
        if save is not None and save <= until_ms and (idle is None or save <= idle):
            state = _save(design, state, effects)
        elif idle is not None and idle <= until_ms:
            state = _take_transition(design, state, IdleExpired(idle), effects)
        else:
            return state


def _save(design: Design, state: State, effects: list[Effect]) -> State:
    """Save what is unsaved. A draft is never saved: the value from before the edit is, and the commit saves again."""
    values, positions = get_committed_values(state), design.index.positions
    effects += [SaveDue(key, get_at(values, positions[key])) for key in state.unsaved]
    return state._replace(unsaved=())


# Answers: at most one sound for each event, the one of highest priority; each lamp flashes at most once.

_BY_EFFECT: dict[type[Effect], str] = {
    Refused: "refused",
    AtLimit: "limit",
    ActionRun: "action",
    Committed: "commit",
    Reverted: "revert",
}
_BY_EVENT: dict[type[Event], str] = {Turn: "turn", HeldTurn: "turn", Press: "press", LongPress: "long_press"}
MOST_TELLING = ("refused", "limit", "action", "revert", "commit", "long_press", "press", "turn")
"""What can be answered, by priority: of several that happened, the first is sounded."""
assert set(MOST_TELLING) == set(ANSWERED)


def _add_answers(design: Design, event: Event, changed: bool, effects: list[Effect], first: int) -> None:
    happened = {_BY_EFFECT[type(effect)] for effect in effects[first:] if type(effect) in _BY_EFFECT}
    if changed and type(event) in _BY_EVENT:
        happened.add(_BY_EVENT[type(event)])
    tones = design.index.tones
    answered = next((word for word in MOST_TELLING if word in happened and word in tones), None)
    if answered is not None:
        effects.append(Sound(answered, tones[answered].length_ms, tones[answered].pitch_hz))
    effects += [Flash(lamp.key, lamp.flash_ms) for lamp in design.lamps if not happened.isdisjoint(lamp.answers)]
