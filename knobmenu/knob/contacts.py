"""From the levels on a knob's three wires to its events, in one function: decoder, button, acceleration.

This is all that firmware runs between its pins and the machine, in the same order.
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
    """The state of reading the wires."""

    wheel: QuadratureState
    """The decoder of phases A and B."""
    switch: ButtonState
    """The timing of the push switch."""
    turn: AccelerationState = attrs.field(factory=AccelerationState)
    """The last turn, from which the next one is accelerated."""


def start(
    knob: Knob, level_a: int, level_b: int, at_ms: int = 0, turn: AccelerationState | None = None
) -> ContactsState:
    """Begin to read, at the present levels of the phases; the push switch is open.

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
        The next state, and the events up to and including this reading, in order and ready for the machine:
        acceleration has been applied to turns.

    Raises:
        EventError: A level is neither 0 nor 1, or the time is before the previous reading; nothing has changed.
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
    """Return when to read the wires again even if no level changes, or None if nothing is due. [ms]"""
    return button.find_due_ms(knob, state.switch)


def rebase_time(state: ContactsState, by_ms: int) -> ContactsState:
    """Return a state with its clock moved back, like that of the machine; times before the new zero become zero.

    Nothing is lost if at least a day before the last reading remains; see `knobmenu.machine.clock`. [ms]
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
