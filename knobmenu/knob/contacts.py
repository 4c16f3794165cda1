"""From the levels on a knob's three wires to its events, in one step: decoder, button, acceleration.

This is the whole of what firmware runs between its pins and the machine, in the order in which it runs it.
"""

from __future__ import annotations

import attrs

from knobmenu.design.hardware import Knob
from knobmenu.events import Event
from knobmenu.knob import acceleration, button, quadrature
from knobmenu.knob.acceleration import AccelerationState
from knobmenu.knob.button import ButtonState
from knobmenu.knob.quadrature import QuadratureState


@attrs.frozen
class ContactsState:
    """What was read from the wires so far."""

    wheel: QuadratureState
    """Of phases A and B."""
    switch: ButtonState
    """Of the push switch."""
    turn: AccelerationState = attrs.field(factory=AccelerationState)
    """The last turn, from which the next one is accelerated."""


def start(
    knob: Knob, level_a: int, level_b: int, at_ms: int = 0, turn: AccelerationState | None = None
) -> ContactsState:
    """Begin to read, at the levels that the phases have then; the push switch is open.

    Args:
        knob: The knob.
        level_a: Phase A, 1 while its contact is closed, else 0.
        level_b: Phase B, likewise.
        at_ms: When. [ms]
        turn: The last turn before, if there was one.

    Raises:
        EventError: A level is neither 0 nor 1.
    """
    wheel = quadrature.start(knob, level_a, level_b)
    return ContactsState(wheel, ButtonState(at_ms=at_ms), turn or AccelerationState())


def read(
    knob: Knob, state: ContactsState, level_a: int, level_b: int, pressed: bool, at_ms: int
) -> tuple[ContactsState, tuple[Event, ...]]:
    """Read the wires once.

    Between readings the button's deadlines pass; so it is enough to read when something changes, and at `find_due_ms`.

    Args:
        knob: The knob.
        state: What the reading before this one left.
        level_a: Phase A, 1 while its contact is closed, else 0.
        level_b: Phase B, likewise.
        pressed: Whether the push switch is closed.
        at_ms: When. [ms]

    Returns:
        The next state, and the events up to and including this reading, in order and ready for the machine: the steps
        that each detent of a turn is worth are in them.

    Raises:
        EventError: A level is neither 0 nor 1, or the time is before that of the reading before; nothing has changed.
    """
    switch, events = button.read(knob, state.switch, pressed, at_ms)
    wheel, detents = quadrature.read(knob, state.wheel, level_a, level_b)
    turn = state.turn
    if detents:
        switch, more = button.turn(knob, switch, detents, 1, at_ms)
        turn, last = acceleration.accelerate(knob, turn, more[-1])
        events = (*events, *more[:-1], last)
    return ContactsState(wheel, switch, turn), events


def find_due_ms(knob: Knob, state: ContactsState) -> int | None:
    """Return when the wires are to be read again though no level changes, or None where nothing is due. [ms]"""
    return button.find_due_ms(knob, state.switch)


def rebase_time(state: ContactsState, by_ms: int) -> ContactsState:
    """Return a state whose clock is moved back, as that of the machine is; times before its new zero become zero.

    Nothing is lost as long as a day before the last reading is left; see `knobmenu.machine.clock`. [ms]
    """
    return attrs.evolve(
        state,
        switch=attrs.evolve(
            state.switch,
            at_ms=max(state.switch.at_ms - by_ms, 0),
            pressed_since_ms=max(state.switch.pressed_since_ms - by_ms, 0),
            phase_since_ms=max(state.switch.phase_since_ms - by_ms, 0),
        ),
        turn=attrs.evolve(state.turn, at_ms=max(state.turn.at_ms - by_ms, 0)),
    )
