"""One device just after one event, and the pure step from there to the next."""

from __future__ import annotations

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import Event, Turn
from knobmenu.knob import acceleration
from knobmenu.knob.acceleration import AccelerationState
from knobmenu.machine.advance import advance
from knobmenu.machine.effects import Effect
from knobmenu.machine.state import State, initial_state


@attrs.frozen
class Moment:
    """A device just after an event."""

    state: State
    """Everything that the device remembers."""
    event: Event | None = None
    """What happened; None at power-on."""
    effects: tuple[Effect, ...] = ()
    """What the device is to do, in order."""
    acceleration: AccelerationState = attrs.field(factory=AccelerationState)
    """The last turn, from which the next one is accelerated."""


def power_on(design: Design) -> Moment:
    """Return a new device at power-on."""
    return Moment(initial_state(design))


def step(design: Design, previous: Moment, event: Event, *, final: bool = False) -> Moment:
    """Return what an event makes of a device.

    Args:
        design: The device's design.
        previous: The device before the event.
        event: What happens. A turn of one step for each detent is accelerated by the design's knob.
        final: Whether a turn is taken as it is: its steps for each detent have been worked out already.

    Raises:
        EventError: The event cannot come now.
    """
    turned = previous.acceleration
    if isinstance(event, Turn):
        turned, times = acceleration.step(design.knob, turned, event.detents, event.at_ms)
        if event.times == 1 and times != 1 and not final:
            event = Turn(event.at_ms, event.detents, times)
    state, effects = advance(design, previous.state, event)
    return Moment(state, event, effects, turned)
