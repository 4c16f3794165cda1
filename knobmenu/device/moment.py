"""One device immediately after one event, and the pure function from there to the next."""

from __future__ import annotations

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import CLOCK_MS, Event, Turn
from knobmenu.knob import acceleration
from knobmenu.knob.acceleration import AccelerationState
from knobmenu.machine.advance import advance, find_next_due_ms
from knobmenu.machine.clock import make_room
from knobmenu.machine.effects import Effect
from knobmenu.machine.state import State, make_initial_state
from knobmenu.structure import Structure


@attrs.frozen(repr=False)
class Moment(Structure):
    """A device immediately after an event."""

    state: State
    """Everything that the device remembers."""
    event: Event | None = None
    """What happened; None at power-on."""
    effects: tuple[Effect, ...] = ()
    """What the device has to do, in order."""
    acceleration: AccelerationState = attrs.field(factory=AccelerationState)
    """The last turn, from which the next one is accelerated."""
    base_ms: int = 0
    """By how much the clock of the state was moved back; see `knobmenu.machine.clock`. [ms]"""

    @property
    def at_ms(self) -> int:
        """When it was. [ms since power-on]"""
        return self.base_ms + self.state.at_ms


def power_on(design: Design) -> Moment:
    """Return a new device at power-on."""
    return Moment(make_initial_state(design))


def find_due_ms(design: Design, moment: Moment) -> int | None:
    """Return when something happens by time alone, or None where nothing will. [ms since power-on]"""
    due = find_next_due_ms(design, moment.state)
    return None if due is None else moment.base_ms + due


def apply_event(design: Design, previous: Moment, event: Event, *, final: bool = False) -> Moment:
    """Return the device after an event.

    Args:
        design: The device's design.
        previous: The device before the event.
        event: What happens. A turn with one step per detent is accelerated by the design's knob.
        final: Whether a turn is final: its steps per detent are already known.

    Raises:
        EventError: The device refuses the event, such as one from the past.
    """
    turned, accelerated = acceleration.accelerate(design.knob, previous.acceleration, event)
    if isinstance(event, Turn) and event.times == 1 and not final:
        event = accelerated
    state, base_ms = previous.state, previous.base_ms
    if event.at_ms - base_ms <= CLOCK_MS:
        state, effects = advance(design, state, _rebase_event(event, base_ms))
    else:
        state, base_ms, before = make_room(design, state, base_ms, event.at_ms)
        state, after = advance(design, state, _rebase_event(event, base_ms))
        effects = before + after
    return Moment(state, event, effects, turned, base_ms)


def _rebase_event(event: Event, base_ms: int) -> Event:
    """Return an event with its time on the clock of a state."""
    return attrs.evolve(event, at_ms=max(event.at_ms - base_ms, 0)) if base_ms else event
