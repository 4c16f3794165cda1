"""The push switch: turns levels and time into presses.

Theory of operation. A level is accepted once it has been kept for the knob's `debounce_ms`; both edges are accepted
equally late, so the length of a press is right. An accepted press is then in one of a few phases:

======== ================================================================
UP       not pressed, nothing pending
DOWN     pressed; not yet known whether long or short
SPENT    pressed, and already sent (as a long press, or by a turn)
GAP      released after a short press that can still become a double press
SECOND   pressed again within the gap
======== ================================================================

Deadlines determine which events are sent, and when: the times at which a level is accepted, a press becomes long, or
the gap ends. A deadline keeps its own time however late the caller handles it, so one late call sends the same events
as many early ones. At equal times a deadline comes before a new level: a press held for exactly `long_press_ms` is
long, and a second press exactly `double_press_ms` after the first is a separate press.
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
    """The state of the button's timing."""

    at_ms: int = 0
    """The time up to which it has run. [ms]"""
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
    """Return when `wait` next has something to do, if no level changes before that. [ms]

    Returns:
        The time, which is in the past if the caller is late, or None if nothing is pending.
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

    A press that was waiting to become a double press is sent first, so that the events keep the order of the hand's
    movements. A turn while the knob is held is a `HeldTurn` if the knob has those, and then the press is spent: neither
    its release nor its length sends anything more. Otherwise it is a `Turn`, and the press continues.

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
    """Handle a deadline; one of the phase comes before the acceptance of a level at the same time."""
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
