"""Everything that happened to the variants of a session: their history, changed designs, notes and marks.

A timeline has no clock and no hand: it takes events, and goes where it is sent. `knobmenu.session.session.Session`
adds those; a recording is restored to a timeline.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from knobmenu.design.whole import Design
from knobmenu.device.history import History
from knobmenu.device.pages import LIVE
from knobmenu.events import Event
from knobmenu.session.notes import Mark, Note
from knobmenu.session.part import Part, Snapshot, follow, migrate, replay, switch_on
from knobmenu.session.simulation import simulate_design
from knobmenu.session.surroundings import Surroundings

if TYPE_CHECKING:
    from knobmenu.session.recorder import Recorder


class Timeline:
    """The variants of a session, and everything that happened to them.

    Real times are only for the recording; None: that of the record before.
    """

    def __init__(
        self,
        designs: Sequence[Design],
        recorder: Recorder | None = None,
        live_pages: int = LIVE,
        surroundings: Surroundings = simulate_design,
    ) -> None:
        """Switch one device on for each design.

        Args:
            designs: The variants, at least one.
            recorder: Records what happens from now on.
            live_pages: How much of the history stays unpacked; see `knobmenu.device.pages`. [pages]
            surroundings: What makes readouts change; by default what each design says.
        """
        self._surroundings = surroundings
        self._known: list[Design] = []
        """Every design so far; one that is equal to one of these is that one, so that its moments stay as they are."""
        self.designs: list[Design] = [self._know(design) for design in designs]
        """The variants, as they are designed now."""
        first = Snapshot(tuple(switch_on(design, surroundings) for design in self.designs), "power-on", True)
        self.history: History[Snapshot] = History(first, replay, live_pages)
        self.notes: list[Note] = []
        self.marks: list[Mark] = []
        self._recorder = recorder
        self._begin_recorder: Callable[[], Recorder] | None = None
        self._power_ons = [0]
        """The numbers of the moments at which all variants were switched on."""
        self._shown: tuple[Snapshot, tuple[Part, ...]] | None = None
        """The moment that was asked for last, with its parts carried over into the designs of now."""
        if recorder is not None:
            recorder.begin(self.designs, first)

    @property
    def recorder(self) -> Recorder | None:
        """What records what happens; None: nothing does."""
        if self._begin_recorder is not None:
            begin, self._begin_recorder = self._begin_recorder, None
            first = self.history[0]
            self._recorder = begin()
            self._recorder.begin([part.design for part in first.parts], first)
        return self._recorder

    @recorder.setter
    def recorder(self, recorder: Recorder) -> None:
        self._recorder = recorder

    def record_later(self, begin: Callable[[], Recorder]) -> None:
        """Record what happens from power-on, with a recorder that is made when it is first needed.

        Making one takes a while, and the first picture of a device need not wait for it.

        Args:
            begin: Makes the recorder.
        """
        assert len(self.history) == 1, "what happened before would be missing"
        self._begin_recorder = begin

    @property
    def parts(self) -> tuple[Part, ...]:
        """Each variant at the present moment; one of an older design, carried over into the new."""
        snapshot = self.history.present
        if self._shown is None or self._shown[0] is not snapshot:
            parts = snapshot.parts
            if any(part.design is not design for part, design in zip(parts, self.designs, strict=True)):
                parts = tuple(
                    part if part.design is design else migrate(part, design)[0]
                    for part, design in zip(parts, self.designs, strict=True)
                )
            self._shown = snapshot, parts
        return self._shown[1]

    @property
    def at_ms(self) -> int:
        """The time of the present moment. [ms since power-on]"""
        return self.history.present.at_ms

    def path(self) -> Iterator[int]:
        """Walk the numbers of the moments that led here, from the last time that all variants were switched on."""
        places = (self.history.find_place(number) for number in self._power_ons)
        return self.history.walk_path(
            max(place for place in places if place is not None and place <= self.history.place)
        )

    def events(self, variant: int = 0) -> tuple[Event, ...]:
        """Return the events that led a variant here, in order."""
        found = (self.history[number].parts[variant].event for number in self.path())
        return tuple(event for event in found if event is not None)

    # What happens.

    def follow(self, events: Sequence[Event | None], real_ms: int | None = None, *, final: bool = False) -> None:
        """Send each variant an event; together they make the next moment.

        Args:
            events: For each variant; None where something happens to another variant alone.
            real_ms: When. [ms]
            final: Whether turns are taken as they are, without acceleration, as those of a recording.

        Raises:
            EventError: An event cannot come now. Nothing has changed.
        """
        before = self.parts
        parts = tuple(follow(part, event, final=final) for part, event in zip(before, events, strict=True))
        # The history works a moment out again from the one before, unless a design changed in between.
        explained = before is self.history.present.parts
        number = self.history.add(Snapshot(parts), tuple(part.event for part in parts) if explained else None)
        if self.recorder is not None:
            self.recorder.happen(number, parts, real_ms)

    def switch_on(self, remark: str, real_ms: int | None = None) -> None:
        """Switch all variants on again, as a branch of its own."""
        self.history.go(0)
        parts = tuple(switch_on(design, self._surroundings) for design in self.designs)
        snapshot = Snapshot(parts, remark, True)
        number = self.history.add(snapshot)
        self._power_ons.append(number)
        if self.recorder is not None:
            self.recorder.power_on(number, snapshot, real_ms)

    def redesign(self, variant: int, design: Design, real_ms: int | None = None) -> tuple[str, ...]:
        """Take a changed design; place and values are kept by key.

        Returns:
            A sentence for each thing that the changed design could not take.
        """
        design = self._know(design)
        part, dropped = migrate(self.parts[variant], design)
        parts = tuple(part if place == variant else follow(other, None) for place, other in enumerate(self.parts))
        self.designs[variant] = design
        # What was worked out for the present moment is of the old design; going back to it would show that again.
        self._shown = None
        number = None if self.history.in_past else self.history.add(Snapshot(parts, "design changed"))
        if self.recorder is not None:
            self.recorder.redesign(variant, number, self.parts, real_ms)
        return dropped

    def _know(self, design: Design) -> Design:
        """Return the known design that is equal to one; itself, known from now on, where there is none."""
        if design not in self._known:
            self._known.append(design)
        return self._known[self._known.index(design)]

    # Going about.

    def go(self, place: int, real_ms: int | None = None) -> None:
        """Go to a place of the branch; beyond its ends, to its ends."""
        self.history.go(place)
        self._arrive(real_ms)

    def go_to(self, number: int, real_ms: int | None = None) -> None:
        """Go to a moment by its number, on another branch if need be.

        Raises:
            IndexError: There is no moment of this number.
        """
        self.history.go_to(number)
        self._arrive(real_ms)

    def next_branch(self, real_ms: int | None = None) -> None:
        """Go to the end of the next branch; after the last, the first."""
        self.history.go_to_next_branch()
        self._arrive(real_ms)

    def _arrive(self, real_ms: int | None) -> None:
        if self.recorder is not None:
            self.recorder.go(self.history.number, self.parts, real_ms)

    # Notes and marks.

    def note(self, text: str, real_ms: int | None = None, number: int | None = None) -> None:
        """Write a remark about a moment, the present one if none is named; going back does not take it away.

        Raises:
            IndexError: There is no moment of this number.
        """
        number = self.history.number if number is None else number
        note = Note(number, self.history[number].at_ms, text)
        self.notes.append(note)
        if self.recorder is not None:
            self.recorder.note(note, real_ms)

    def mark(self, name: str, real_ms: int) -> None:
        """Mark the present moment, such as the begin of a task. [ms of real time]"""
        mark = Mark(self.history.number, real_ms, name)
        self.marks.append(mark)
        if self.recorder is not None:
            self.recorder.mark(mark)
