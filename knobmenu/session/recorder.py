"""Recording of a session while it happens."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from knobmenu.design.whole import Design
from knobmenu.events import Event
from knobmenu.screen.cells import Screen
from knobmenu.session import records
from knobmenu.session.notes import Mark, Note
from knobmenu.session.part import Part, Snapshot
from knobmenu.session.records import Header, Record

Sink = Callable[[Header | Record], None]
"""A function that receives the header of a recording and each record as it happens, for example to write them."""


class Recorder:
    """Makes records and passes each to a sink."""

    def __init__(self, sink: Sink, real_ms: int, started: str = "", files: Sequence[str] = ()) -> None:
        """Set the time origin of the recording.

        Args:
            sink: Receives the records.
            real_ms: The real time of the header. [ms]
            started: The date and time of the header, in ISO 8601.
            files: For each variant the file that it was read from; empty: not recorded.
        """
        self._sink = sink
        self._started = started
        self._files = files
        self._began_ms = self._last_ms = real_ms
        self._screens: tuple[Screen, ...] = ()
        """The screen of each variant that was recorded last."""

    def begin(self, designs: Sequence[Design], first: Snapshot) -> None:
        """Record the header, and that the devices were switched on."""
        self._sink(records.make_header(designs, self._started, self._files))
        self.power_on(0, first, self._began_ms)

    def power_on(self, number: int, snapshot: Snapshot, real_ms: int | None) -> None:
        """Record that all variants were switched on."""
        self._screens = ()
        self._sink(
            records.PowerOnRecord(
                self._to_recording_ms(real_ms), number, snapshot.remark, self._list_changed(snapshot.parts)
            )
        )

    def happen(self, number: int, parts: Sequence[Part], real_ms: int | None) -> None:
        """Record a moment."""
        events: tuple[Event | None, ...] = tuple(part.event for part in parts)
        effects = tuple(part.effects for part in parts)
        self._sink(
            records.EventRecord(self._to_recording_ms(real_ms), number, events, effects, self._list_changed(parts))
        )

    def move(self, turned: int, down: bool, real_ms: int | None) -> None:
        """Record what the hand did."""
        self._sink(records.HandRecord(self._to_recording_ms(real_ms), turned, down))

    def go(self, number: int, parts: Sequence[Part], real_ms: int | None) -> None:
        """Record that another moment is present."""
        self._sink(records.GoRecord(self._to_recording_ms(real_ms), number, self._list_changed(parts)))

    def redesign(self, variant: int, number: int | None, parts: Sequence[Part], real_ms: int | None) -> None:
        """Record a changed design."""
        recorded = records.identify(parts[variant].design)
        self._sink(
            records.DesignRecord(self._to_recording_ms(real_ms), variant, recorded, number, self._list_changed(parts))
        )

    def note(self, note: Note, real_ms: int | None) -> None:
        """Record a note."""
        self._sink(records.NoteRecord(self._to_recording_ms(real_ms), note.number, note.at_ms, note.text))

    def mark(self, mark: Mark) -> None:
        """Record a mark."""
        self._sink(records.MarkRecord(self._to_recording_ms(mark.real_ms), mark.number, mark.name))

    def save(self, file: str, real_ms: int | None) -> None:
        """Record that what was done so far was saved."""
        self._sink(records.SaveRecord(self._to_recording_ms(real_ms), file))

    def _to_recording_ms(self, real_ms: int | None) -> int:
        """Convert a real time to one since the header, which never goes back; None: that of the last record."""
        self._last_ms = max(self._last_ms, self._last_ms if real_ms is None else real_ms)
        return self._last_ms - self._began_ms

    def _list_changed(self, parts: Sequence[Part]) -> tuple[Screen | None, ...]:
        """Return the screen of each variant; None if it is the one that was recorded last."""
        screens = tuple(part.screen for part in parts)
        before = self._screens or (None,) * len(screens)
        self._screens = screens
        return tuple(None if now == then else now for now, then in zip(screens, before, strict=True))
