"""The push switch: its level and the time become presses.

Theory of operation. A level is accepted once it has been kept for the knob's `debounce_ms`; both edges are accepted
equally late, so the length of a press is right. An accepted press is then in one of a few phases:

======== ================================================================
UP       nothing is pressed and nothing is owed
DOWN     pressed; whether it will be long or short is not known yet
SPENT    pressed, and already sent (as a long press, or by a turn)
GAP      let go after a short press that may yet become a double press
SECOND   pressed again within the gap
======== ================================================================

Deadlines settle which events are sent, and when: the moment at which a level will be accepted, at which a press
becomes long, at which the gap runs out. A deadline has its own time, whenever the caller comes round to it, so that
a late call sends the same events as many early ones. At equal times a deadline comes before a new level: a press held
exactly `long_press_ms` is long, and a second press exactly `double_press_ms` after the first is a press of its own.
"""

from __future__ import annotations

import attrs

from knobmenu.design.hardware import Knob
from knobmenu.errors import EventError, quote_value
from knobmenu.events import LATEST_MS, DoublePress, Event, HeldTurn, LongPress, Press, Turn

UP, DOWN, SPENT, GAP, SECOND = range(5)
"""The phases of a press."""


@attrs.frozen
class ButtonState:
    """What the button's timing remembers."""

    at_ms: int = 0
    """The moment up to which it has run. [ms]"""
    pressed: bool = False
    """The level of the switch, debounced or not."""
    pressed_since_ms: int = 0
    """Since when it has had that level. [ms]"""
    phase: int = UP
    """Where the accepted press is: `UP`, `DOWN`, `SPENT`, `GAP` or `SECOND`."""
    phase_since_ms: int = 0
    """Since when. [ms]"""


def is_held(state: ButtonState) -> bool:
    """Return whether the knob is held down, debounced."""
    return state.phase in (DOWN, SPENT, SECOND)


def find_due_ms(knob: Knob, state: ButtonState) -> int | None:
    """Return when `wait` next has something to do, if no level changes before. [ms]

    Returns:
        The moment, which may lie in the past if the caller is late, or nothing where nothing is awaited.
    """
    deadlines = []
    if state.pressed != is_held(state):
        deadlines.append(state.pressed_since_ms + knob.debounce_ms)
    if state.phase in (DOWN, SECOND):
        deadlines.append(state.phase_since_ms + knob.long_press_ms)
    if state.phase == GAP:
        deadlines.append(state.phase_since_ms + knob.double_press_ms)
    return min(deadlines, default=None)


def read(knob: Knob, state: ButtonState, pressed: bool, at_ms: int) -> tuple[ButtonState, tuple[Event, ...]]:
    """Read the switch: it has this level from this moment on.

    Args:
        knob: holds the timing.
        state: what the call before left.
        pressed: whether the contact is closed.
        at_ms: when. [ms]

    Returns:
        The next state, and the events up to and including this moment, in order.

    Raises:
        EventError: the moment is before the one of the call before; nothing has changed.
    """
    state, events = wait(knob, state, at_ms)
    if pressed == state.pressed:
        return state, events
    state = attrs.evolve(state, pressed=pressed, pressed_since_ms=at_ms)
    state, more = wait(knob, state, at_ms)
    return state, events + more


def wait(knob: Knob, state: ButtonState, at_ms: int) -> tuple[ButtonState, tuple[Event, ...]]:
    """Advance the time, with the switch unchanged.

    Args:
        knob: holds the timing.
        state: what the call before left.
        at_ms: the moment up to which time has passed, inclusive. [ms]

    Returns:
        The next state, and the events whose time has come, in order and with their own times.

    Raises:
        EventError: the moment is before the one of the call before; nothing has changed.
    """
    if type(at_ms) is not int or not state.at_ms <= at_ms <= LATEST_MS:
        raise EventError(
            f"at_ms: expected a whole number from {state.at_ms} (the call before) to {LATEST_MS},"
            f" got {quote_value(at_ms)}"
        )
    events: tuple[Event, ...] = ()
    while (due := find_due_ms(knob, state)) is not None and due <= at_ms:
        state, more = _reach(knob, state, due)
        events += more
    return attrs.evolve(state, at_ms=at_ms), events


def turn(knob: Knob, state: ButtonState, detents: int, times: int, at_ms: int) -> tuple[ButtonState, tuple[Event, ...]]:
    """Combine a turn with the button.

    A press that was waiting to become a double press is sent first, so that the events stay in the order of the hand.
    A turn while the knob is held is a `HeldTurn` where the knob has those, and then the press has been used: neither
    its release nor its length sends anything more. Else it is a plain `Turn`, and the press goes on.

    Args:
        knob: holds the timing.
        state: what the call before left.
        detents: the turn, not 0; positive is up. [detents]
        times: steps that each detent is worth, from `knobmenu.knob.acceleration`.
        at_ms: when. [ms]

    Returns:
        The next state, and the events up to and including this turn, in order.

    Raises:
        EventError: the moment is before the one of the call before, or the turn cannot be; nothing has changed.
    """
    state, events = wait(knob, state, at_ms)
    if state.phase == GAP:
        events += (Press(at_ms),)
        state = attrs.evolve(state, phase=UP, phase_since_ms=at_ms)
    if state.phase == SECOND:
        events += (Press(at_ms),)
        state = attrs.evolve(state, phase=DOWN)
    if is_held(state) and knob.turns_while_held:
        state = attrs.evolve(state, phase=SPENT)
        return state, (*events, HeldTurn(at_ms, detents))
    return state, (*events, Turn(at_ms, detents, times))


def _reach(knob: Knob, state: ButtonState, due: int) -> tuple[ButtonState, tuple[Event, ...]]:
    """Do what is due at a deadline; a deadline of the phase comes before a level that is accepted at that moment."""
    since = state.phase_since_ms
    if state.phase in (DOWN, SECOND) and due == since + knob.long_press_ms:
        owed = (Press(due),) if state.phase == SECOND else ()
        return attrs.evolve(state, phase=SPENT), (*owed, LongPress(due))
    if state.phase == GAP and due == since + knob.double_press_ms:
        return attrs.evolve(state, phase=UP, phase_since_ms=due), (Press(due),)

    phase = UP
    events: tuple[Event, ...] = ()
    if state.pressed:
        phase = SECOND if state.phase == GAP else DOWN
    elif state.phase == SECOND:
        events = (DoublePress(due),)
    elif state.phase == DOWN:
        if knob.double_press_ms:
            phase = GAP
        else:
            events = (Press(due),)
    return attrs.evolve(state, phase=phase, phase_since_ms=due), events
