"""One variant of a session at one moment, and a snapshot of all variants."""

from __future__ import annotations

import attrs

from knobmenu.design.whole import Design
from knobmenu.device.moment import Moment, apply_event, find_due_ms, power_on
from knobmenu.device.pages import Cause
from knobmenu.events import Event, Report, Wait
from knobmenu.machine.effects import Effect
from knobmenu.machine.state import State
from knobmenu.screen.cells import Screen
from knobmenu.screen.render import render
from knobmenu.session.cost import Cost, add_cost
from knobmenu.session.simulation import simulate_design
from knobmenu.session.surroundings import MOST_AT_ONCE, Response, Surroundings


@attrs.frozen(eq=False, repr=False)
class Part:
    """One variant at one moment."""

    design: Design
    moment: Moment
    """The device; its event is None at power-on, and when only another variant got an event."""
    cost: Cost = attrs.field(factory=Cost)
    """The user's effort since home."""
    surroundings: Surroundings = simulate_design
    """The function that makes its readouts change."""
    response: Response = attrs.field(factory=Response)
    """The response of the surroundings to this moment."""
    reports_at_once: int = 0
    """How many consecutive reports came at this time."""

    @property
    def state(self) -> State:
        """Everything that the device remembers."""
        return self.moment.state

    @property
    def event(self) -> Event | None:
        """The event of this moment; None at power-on, and when only another variant got an event."""
        return self.moment.event

    @property
    def effects(self) -> tuple[Effect, ...]:
        """The effects of the event, in order."""
        return self.moment.effects

    @property
    def screen(self) -> Screen:
        """What its display shows."""
        return render(self.design, self.state)

    @property
    def upcoming(self) -> Event | None:
        """The next event by time alone: the device idles, saves or reports something; None: nothing is due."""
        report, due = self.response.report, find_due_ms(self.design, self.moment)
        if due is not None and (report is None or due < report.at_ms):
            return Wait(max(due, self.moment.at_ms))
        return report


def switch_on(design: Design, surroundings: Surroundings = simulate_design) -> Part:
    """Return a new device at power-on, with its surroundings."""
    moment = power_on(design)
    return Part(design, moment, surroundings=surroundings, response=surroundings(design, None, moment))


def follow(part: Part, event: Event | None, *, final: bool = False) -> Part:
    """Return a variant after an event.

    Args:
        part: The variant before.
        event: The event; None when only another variant gets an event.
        final: Whether a turn is final, so that acceleration does not apply; see `knobmenu.device.moment.apply_event`.

    Raises:
        EventError: The event is illegal in this state.
    """
    if event is None:
        still = attrs.evolve(part.moment, event=None, effects=())
        return attrs.evolve(part, moment=still)
    moment = apply_event(part.design, part.moment, event, final=final)
    cost = add_cost(part.cost, part.state, event, moment.state)
    response = part.surroundings(part.design, part.response.memory, moment)
    at_once = part.reports_at_once + 1 if isinstance(event, Report) and event.at_ms == part.moment.at_ms else 0
    if at_once >= MOST_AT_ONCE:
        response = response._replace(report=None)
    return Part(part.design, moment, cost, part.surroundings, response, at_once)


def migrate(part: Part, design: Design) -> tuple[Part, tuple[str, ...]]:
    """Carry a variant over into a changed design, by key.

    Returns:
        The variant in the changed design, without an event, and a sentence for each thing that cannot be carried over.
    """
    # Late: few sessions change the design.
    from knobmenu.machine import persistence

    migrated = persistence.migrate(part.design, part.state, design)
    moment = Moment(migrated.state, acceleration=part.moment.acceleration, base_ms=part.moment.base_ms)
    response = part.surroundings(design, part.response.memory, moment)
    return Part(design, moment, part.cost, part.surroundings, response), migrated.dropped


@attrs.frozen(eq=False, repr=False)
class Snapshot:
    """All variants at one moment of a session."""

    parts: tuple[Part, ...]
    """The variants."""
    remark: str = ""
    """What happened, if it was not an event."""
    powered_on: bool = False
    """Whether all variants were switched on at this moment."""

    @property
    def at_ms(self) -> int:
        """The time of the snapshot. [ms since power-on]"""
        return max(part.moment.at_ms for part in self.parts)


def replay(snapshot: Snapshot, cause: Cause) -> Snapshot:
    """Compute the snapshot that follows from the previous one and its events; events in a history are final."""
    return Snapshot(tuple(follow(part, event, final=True) for part, event in zip(snapshot.parts, cause, strict=True)))
