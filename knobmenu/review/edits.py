"""Edits of settings by participants, each as its values over time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import HeldTurn, Turn
from knobmenu.machine.advance import identify_screen
from knobmenu.machine.changing import get_number
from knobmenu.machine.state import Mode, NumberDraft, State
from knobmenu.review.walk import Walk, count_gestures


@attrs.frozen
class Point:
    """A value that the participant saw, and since when."""

    real_ms: int
    """When it appeared. [ms of real time since the header]"""
    value: int
    detents: int
    """Detents turned since the edit began."""


@attrs.frozen
class Edit:
    """One continuous edit of a setting: until the editor is left, or the value jumps."""

    key: str
    target: int | None
    """The value that the task requests; None if it does not request exactly one."""
    points: tuple[Point, ...]
    """At least two; the first is the value before the first detent."""

    @property
    def overshoots(self) -> tuple[tuple[Point, Point], ...]:
        """Each overshoot: the point past the target, and the point back at it, or the last point of the edit."""
        if self.target is None:
            return ()
        found: list[tuple[Point, Point]] = []
        side, past = 0, list[Point]()
        for point in self.points:
            here = (point.value > self.target) - (point.value < self.target)
            if past and here != side:
                found.append((past[0], point))
                past = []
            if here and side and here != side:
                past = [point]
            side = here or side
        return (*found, (past[0], self.points[-1])) if past else tuple(found)

    @property
    def reached(self) -> Point:
        """The point at which the target was first reached or passed; otherwise the last point of the edit."""
        if self.target is None:
            return self.points[-1]
        first = self.points[0].value
        for point in self.points:
            if point.value == self.target or (point.value > self.target) != (first > self.target):
                return point
        return self.points[-1]


def find_edits(walk: Walk, targets: Mapping[str, int], keys: Iterable[str]) -> tuple[Edit, ...]:
    """Find the edits of some settings.

    Args:
        walk: The attempt.
        targets: The requested values, for settings of which the task requests exactly one value.
        keys: Further settings.
    """
    found = (
        edit
        for key in sorted({*targets, *keys})
        if key in walk.design.index.numeric
        for edit in _walk_edits(walk, key, targets.get(key))
    )
    return tuple(sorted(found, key=lambda edit: (edit.points[0].real_ms, edit.key)))


def _walk_edits(walk: Walk, key: str, target: int | None) -> Iterator[Edit]:
    points = [Point(walk.begun_ms, get_visible_value(walk.design, walk.start, key), 0)]
    before_ms = walk.begun_ms
    for change in walk.changes:
        value = get_visible_value(walk.design, change.after, key)
        turned = isinstance(change.event, Turn | HeldTurn)
        entered = identify_screen(change.after) == (Mode.EDITING, key) != identify_screen(change.before)
        if value != points[-1].value and turned:
            if len(points) == 1:  # The edit begins when the participant could see the start value.
                points = [Point(max(points[0].real_ms, before_ms), points[0].value, 0)]
            points.append(Point(change.real_ms, value, points[-1].detents + count_gestures(change.event)))
        elif value != points[-1].value or entered:
            # A value that jumps, for example by a revert, does not pass the values between.
            if len(points) > 1:
                yield Edit(key, target, tuple(points))
            points = [Point(change.real_ms, value, 0)]
        before_ms = change.real_ms
    if len(points) > 1:
        yield Edit(key, target, tuple(points))


def get_visible_value(design: Design, state: State, key: str) -> int:
    """Return the value of a setting as the participant sees it: its draft while it is edited."""
    focus = state.focus
    if isinstance(focus, NumberDraft) and focus.setting == key:
        return focus.draft
    return get_number(design, state.values, key)
