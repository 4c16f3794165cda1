"""One design being tried: what an event makes of it, and what that cost since home."""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Turn
from knobmenu.knob import acceleration
from knobmenu.knob.acceleration import AccelerationState
from knobmenu.machine.advance import advance
from knobmenu.machine.effects import Effect
from knobmenu.machine.persistence import migrate
from knobmenu.machine.state import Mode, State, initial_state
from knobmenu.screen.cells import Screen
from knobmenu.screen.render import render


@attrs.frozen
class Cost:
    """What the hand did since the device was last at home; what it turned there counts until it leaves."""

    detents: int = 0
    presses: int = 0
    long_presses: int = 0
    from_ms: int = 0
    """When the hand began. [ms since power-on]"""
    to_ms: int = 0
    """When it last did something. [ms since power-on]"""
    came_home: bool = True
    """Whether the device is home again; the next thing that the hand does then begins anew."""

    @property
    def lasted_ms(self) -> int:
        """From the first to the last thing that the hand did. [ms]"""
        return self.to_ms - self.from_ms


_PRESSES: Mapping[type[Event], tuple[int, int]] = {Press: (1, 0), DoublePress: (2, 0), LongPress: (0, 1)}


def cost_after(cost: Cost, before: State, event: Event, after: State) -> Cost:
    """Add an event to what was done since home."""
    came_home = after.mode is Mode.HOME and before.mode is not Mode.HOME
    detents = abs(event.detents) if isinstance(event, Turn | HeldTurn) else 0
    presses, long_presses = _PRESSES.get(type(event), (0, 0))
    if not (detents or presses or long_presses):
        return attrs.evolve(cost, came_home=True) if came_home else cost
    leaves_home = before.mode is Mode.HOME and after.mode is not Mode.HOME
    if cost.came_home or leaves_home:
        cost = Cost(from_ms=event.at_ms)
    return Cost(
        cost.detents + detents,
        cost.presses + presses,
        cost.long_presses + long_presses,
        cost.from_ms,
        event.at_ms,
        came_home,
    )


@attrs.frozen(eq=False)
class Part:
    """One design after one event."""

    design: Design
    state: State
    event: Event | None = None
    """What happened to it; nothing at power-on, and where something happened to another variant alone."""
    effects: tuple[Effect, ...] = ()
    """What it was to do, in order."""
    turned: AccelerationState = attrs.field(factory=AccelerationState)
    """The last turn, for the acceleration of the next."""
    cost: Cost = attrs.field(factory=Cost)
    """What was done since home."""

    @property
    def screen(self) -> Screen:
        """What its display shows."""
        return render(self.design, self.state)


def power_on(design: Design) -> Part:
    """Switch a new device on."""
    return Part(design, initial_state(design))


def took(part: Part, event: Event) -> Part:
    """Take one event; a turn is given its acceleration.

    Raises:
        EventError: It cannot come now.
    """
    turned = part.turned
    if isinstance(event, Turn):
        turned, times = acceleration.step(part.design.knob, turned, event.detents, event.at_ms)
        event = Turn(event.at_ms, event.detents, times)
    state, effects = advance(part.design, part.state, event)
    return Part(part.design, state, event, effects, turned, cost_after(part.cost, part.state, event, state))


def after(part: Part, event: Event | None) -> Part:
    """Take one event, or none where something happened to another variant alone.

    Raises:
        EventError: It cannot come now.
    """
    return attrs.evolve(part, event=None, effects=()) if event is None else took(part, event)


def carried(part: Part, design: Design) -> tuple[Part, tuple[str, ...]]:
    """Take a part over into a changed design, by key.

    Returns:
        The part there, with nothing that happened to it, and a sentence for each thing that the design could not take.
    """
    migrated = migrate(part.design, part.state, design)
    return Part(design, migrated.state, turned=part.turned, cost=part.cost), migrated.dropped
