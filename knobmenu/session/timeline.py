"""Everything that happened to the variants of a session: their history, changed designs, notes and marks.

A timeline has neither a clock nor a hand, only events and a present moment. `knobmenu.session.session.Session` adds
those; a recording is restored to a timeline.
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

    Real times are used only for the recording; None stands for the time of the previous record.
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
            surroundings: The function that makes readouts change; by default the simulation that each design describes.
        """
        self._surroundings = surroundings
        self._known: list[Design] = []
        """Every design so far; an equal design is replaced by the one here, so that `is` detects a change."""
        self.designs: list[Design] = [self._reuse_equal(design) for design in designs]
        """The present designs of the variants."""
        first = Snapshot(tuple(switch_on(design, surroundings) for design in self.designs), "power-on", True)
        self.history: History[Snapshot] = History(first, replay, live_pages)
        self.notes: list[Note] = []
        self.marks: list[Mark] = []
        self._recorder = recorder
        self._begin_recorder: Callable[[], Recorder] | None = None
        self._power_ons = [0]
        """The numbers of the moments at which all variants were switched on."""
        self._shown: tuple[Snapshot, tuple[Part, ...]] | None = None
        """The moment that `parts` returned last, with its parts carried over to the present designs."""
        if recorder is not None:
            recorder.begin(self.designs, first)

    @property
    def recorder(self) -> Recorder | None:
        """The recorder; None: the session is not recorded."""
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
        """Record from power-on, with a recorder that is made when it is first needed.

        Making one takes time, by which it would delay the first frame.

        Args:
            begin: Makes the recorder.
        """
        assert len(self.history) == 1, "what happened before would be missing"
        self._begin_recorder = begin

    @property
    def parts(self) -> tuple[Part, ...]:
        """Each variant at the present moment, carried over to its present design."""
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

    def walk_path(self) -> Iterator[int]:
        """Walk the numbers of the moments from the last power-on of all variants to the present one."""
        places = (self.history.find_place(number) for number in self._power_ons)
        return self.history.walk_path(
            max(place for place in places if place is not None and place <= self.history.place)
        )

    def list_events(self, variant: int = 0) -> tuple[Event, ...]:
        """Return the events that led a variant to the present moment, in order."""
        found = (self.history[number].parts[variant].event for number in self.walk_path())
        return tuple(event for event in found if event is not None)

    # Events.

    def follow(self, events: Sequence[Event | None], real_ms: int | None = None, *, final: bool = False) -> None:
        """Send each variant an event; together they make the next moment.

        Args:
            events: The event of each variant; None when only another variant gets an event.
            real_ms: The real time. [ms]
            final: Whether turns are final, like those of a recording, so that acceleration does not apply.

        Raises:
            EventError: An event is illegal in this state; nothing has changed.
        """
        before = self.parts
        parts = tuple(follow(part, event, final=final) for part, event in zip(before, events, strict=True))
        # The history can compute a moment from the previous one, unless a design changed in between.
        explained = before is self.history.present.parts
        number = self.history.add(Snapshot(parts), tuple(part.event for part in parts) if explained else None)
        if self.recorder is not None:
            self.recorder.happen(number, parts, real_ms)

    def switch_on(self, remark: str, real_ms: int | None = None) -> None:
        """Switch all variants on again, on a new branch."""
        self.history.go(0)
        parts = tuple(switch_on(design, self._surroundings) for design in self.designs)
        snapshot = Snapshot(parts, remark, True)
        number = self.history.add(snapshot)
        self._power_ons.append(number)
        if self.recorder is not None:
            self.recorder.power_on(number, snapshot, real_ms)

    def redesign(self, variant: int, design: Design, real_ms: int | None = None) -> tuple[str, ...]:
        """Replace the design of a variant; place and values are kept by key.

        Returns:
            A sentence for each thing that could not be carried over.
        """
        design = self._reuse_equal(design)
        part, dropped = migrate(self.parts[variant], design)
        parts = tuple(part if place == variant else follow(other, None) for place, other in enumerate(self.parts))
        self.designs[variant] = design
        # The parts kept for the present moment have the old design.
        self._shown = None
        number = None if self.history.in_past else self.history.add(Snapshot(parts, "design changed"))
        if self.recorder is not None:
            self.recorder.redesign(variant, number, self.parts, real_ms)
        return dropped

    def _reuse_equal(self, design: Design) -> Design:
        """Return the first design that was equal to this one, which may be itself."""
        if design not in self._known:
            self._known.append(design)
        return self._known[self._known.index(design)]

    # Navigation.

    def go(self, place: int, real_ms: int | None = None) -> None:
        """Go to a place on the branch; beyond an end, go to that end."""
        self.history.go(place)
        self._record_go(real_ms)

    def go_to(self, number: int, real_ms: int | None = None) -> None:
        """Go to a moment by its number, on any branch.

        Raises:
            IndexError: No moment has this number.
        """
        self.history.go_to(number)
        self._record_go(real_ms)

    def go_to_next_branch(self, real_ms: int | None = None) -> None:
        """Go to the end of the next branch; after the last branch, of the first."""
        self.history.go_to_next_branch()
        self._record_go(real_ms)

    def _record_go(self, real_ms: int | None) -> None:
        if self.recorder is not None:
            self.recorder.go(self.history.number, self.parts, real_ms)

    # Notes and marks.

    def note(self, text: str, real_ms: int | None = None, number: int | None = None) -> None:
        """Add a note to a moment, by default the present one; going back does not remove it.

        Raises:
            IndexError: No moment has this number.
        """
        number = self.history.number if number is None else number
        note = Note(number, self.history[number].at_ms, text)
        self.notes.append(note)
        if self.recorder is not None:
            self.recorder.note(note, real_ms)

    def mark(self, name: str, real_ms: int) -> None:
        """Mark the present moment, for example as the start of a task. [ms of real time]"""
        mark = Mark(self.history.number, real_ms, name)
        self.marks.append(mark)
        if self.recorder is not None:
            self.recorder.mark(mark)
