"""What a person did in a session and has not saved as a trace or a test."""

from __future__ import annotations

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import Event, Report, Wait
from knobmenu.session.records import DesignChanged, Happened, Header, Noted, Record, Saved


@attrs.frozen
class Unsaved:
    """What would be missed if the session were gone."""

    events: int = 0
    """Events that a person caused."""
    notes: int = 0
    lives: bool = False
    """Whether readouts change by themselves; then a report is not a person's doing."""

    def __bool__(self) -> bool:
        """Return whether there is anything."""
        return bool(self.events or self.notes)

    @property
    def words(self) -> str:
        """Say what there is, such as ``2 notes and 31 events``."""
        counts = ((self.notes, "note"), (self.events, "event"))
        return " and ".join(f"{count} {what}{'s' * (count != 1)}" for count, what in counts if count)


def follow(unsaved: Unsaved, record: Header | Record) -> Unsaved:
    """Return what is not saved after a record."""
    match record:
        case Header():
            return Unsaved(lives=any(_lives(recorded.design) for recorded in record.designs))
        case DesignChanged():
            return attrs.evolve(unsaved, lives=unsaved.lives or _lives(record.design.design))
        case Noted():
            return attrs.evolve(unsaved, notes=unsaved.notes + 1)
        case Happened() if any(_is_made(event, unsaved.lives) for event in record.events):
            return attrs.evolve(unsaved, events=unsaved.events + 1)
        case Saved():
            return Unsaved(lives=unsaved.lives)
        case _:
            return unsaved


def _lives(design: Design) -> bool:
    return bool(design.simulation)


def _is_made(event: Event | None, lives: bool) -> bool:
    """Return whether an event is a person's doing."""
    return event is not None and not isinstance(event, Wait) and not (lives and isinstance(event, Report))
