"""Counts of the user's events and notes that are not yet saved as a trace or a test."""

from __future__ import annotations

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import Event, Report, Wait
from knobmenu.session.records import DesignRecord, EventRecord, Header, NoteRecord, Record, SaveRecord


@attrs.frozen
class Unsaved:
    """What would be lost with the session."""

    events: int = 0
    """Events that the user caused."""
    notes: int = 0
    simulated: bool = False
    """Whether readouts are simulated; then the user does not cause reports."""

    def __bool__(self) -> bool:
        """Return whether anything is unsaved."""
        return bool(self.events or self.notes)

    @property
    def description(self) -> str:
        """The counts as text, such as ``2 notes and 31 events``."""
        counts = ((self.notes, "note"), (self.events, "event"))
        return " and ".join(f"{count} {what}{'s' * (count != 1)}" for count, what in counts if count)


def count_unsaved(unsaved: Unsaved, record: Header | Record) -> Unsaved:
    """Return what is unsaved after a record."""
    match record:
        case Header():
            return Unsaved(simulated=any(_is_simulated(recorded.design) for recorded in record.designs))
        case DesignRecord():
            return attrs.evolve(unsaved, simulated=unsaved.simulated or _is_simulated(record.design.design))
        case NoteRecord():
            return attrs.evolve(unsaved, notes=unsaved.notes + 1)
        case EventRecord() if any(_is_by_user(event, unsaved.simulated) for event in record.events):
            return attrs.evolve(unsaved, events=unsaved.events + 1)
        case SaveRecord():
            return Unsaved(simulated=unsaved.simulated)
        case _:
            return unsaved


def _is_simulated(design: Design) -> bool:
    return bool(design.simulation)


def _is_by_user(event: Event | None, simulated: bool) -> bool:
    """Return whether the user caused an event."""
    return event is not None and not isinstance(event, Wait) and not (simulated and isinstance(event, Report))
