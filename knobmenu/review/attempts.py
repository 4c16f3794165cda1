"""Measures of what each participant did with each task, from the records of a session.

A sitting marks where a task begins and ends (`knobmenu.review.walk`); what lies between is one attempt. It is played
again on the recorded design, so that drafts count as well as values.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import attrs

from knobmenu.errors import RecordingError
from knobmenu.events import HeldTurn, Turn, Wait
from knobmenu.machine.effects import Reverted, ScreenEntered
from knobmenu.review.departures import Departure, find_departures
from knobmenu.review.edits import Edit, find_edits
from knobmenu.review.measures import measure_lostness
from knobmenu.review.study import Trial
from knobmenu.review.study_form import Setup
from knobmenu.review.trail import Trail, walk_targets
from knobmenu.review.walk import (
    Node,
    Outcome,
    Screen,
    Walk,
    count_gestures,
    find_pressed_entry,
    list_nodes,
    list_screens,
    read_walks,
)
from knobmenu.session.records import Header, Record


@attrs.frozen
class Attempt:
    """What a participant did with one task and one variant."""

    trial: Trial
    outcome: Outcome
    begun_ms: int
    """The start. [ms of real time since the header]"""
    lasted_ms: int
    """Real time from start to end. [ms]"""
    detents: int
    """Detents turned in either direction, including turns while held."""
    presses: int
    """Presses, long presses and double presses."""
    screens: tuple[Screen, ...]
    """Each screen visited, in order, including the first."""
    path: tuple[Node, ...]
    """Each place visited on the map of the menu, in order, including the first."""
    edits: tuple[Edit, ...]
    """Each edit of the settings that the task is about."""
    departures: tuple[Departure, ...]
    """Departures from the least way, in order; empty if it is unknown."""
    overshoots: int
    """How often a setting went past the value that the task requests."""
    reverts: int
    """Edits that the participant undid."""
    time_outs: int
    """How often the device left a screen because it idled."""
    wrong_screens: int | None
    """Visits to screens that the least way does not show; None if it is unknown."""
    first_press: bool | None
    """Whether the first pressed entry is the one that the least way presses first; None if either presses no entry, or
    if the least way is unknown."""
    lostness: float | None
    """See `knobmenu.review.measures.measure_lostness`; None if the least way is unknown."""
    extra_gestures: int | None
    """Detents and presses beyond the fewest that do the task, 0 or more if it was done; None if the fewest are
    unknown."""

    @property
    def succeeded(self) -> bool:
        """Whether the participant completed the task."""
        return self.outcome == "done"

    @property
    def seconds(self) -> float:
        """Time on task. [s]"""
        return self.lasted_ms / 1000

    @property
    def gestures(self) -> int:
        """Detents and presses."""
        return self.detents + self.presses


def read_attempts(setup: Setup, header: Header, records: Iterable[Record]) -> Iterator[Attempt]:
    """Walk the finished attempts of a sitting's records.

    An unfinished attempt, for example of a killed process, is omitted; it begins again when the sitting resumes.

    Args:
        setup: The study.
        header: The header of the recording, with one design.
        records: The records; the effects and screens of events are not needed.

    Raises:
        RecordingError: A record does not follow from those before it, or does not belong to this study.
    """
    for walk in read_walks(header, records):
        if not is_of_study(setup, walk):
            reason = "expected the present design of the study, got another version of it"
            raise RecordingError(f"mark at {walk.begun_ms} ms: {reason}")
        yield measure_attempt(setup, walk)


def is_of_study(setup: Setup, walk: Walk) -> bool:
    """Return whether a trial was recorded with the present design of the study; otherwise it is not comparable.

    Raises:
        RecordingError: The trial is not one of this study.
    """
    trial = walk.trial
    prepared = setup.prepared.get((trial.variant, trial.task))
    if prepared is None:
        got = f"{trial.variant} {trial.task}"
        raise RecordingError(f"mark at {walk.begun_ms} ms: expected a variant and a task of this study, got {got!r}")
    return walk.design == prepared


def measure_attempt(setup: Setup, walk: Walk) -> Attempt:
    """Measure one attempt with the study's present design against the least way of its task."""
    trial = walk.trial
    trail = setup.trails[trial.variant, trial.task]
    targets = dict(walk_targets(walk.design, setup.get_task(trial.task).done))
    edits = find_edits(walk, targets, () if trail is None else trail.settings)
    screens = list_screens(walk.start, walk.changes)
    events = [change.event for change in walk.changes]
    turned = sum(count_gestures(event) for event in events if isinstance(event, Turn | HeldTurn))
    pressed = sum(count_gestures(event) for event in events) - turned
    left = [change for change in walk.changes if isinstance(change.event, Wait)]
    touched = [change for change in walk.changes if not isinstance(change.event, Wait)]
    return Attempt(
        trial=trial,
        outcome=walk.outcome,
        begun_ms=walk.begun_ms,
        lasted_ms=walk.ended_ms - walk.begun_ms,
        detents=turned,
        presses=pressed,
        screens=screens,
        path=list_nodes(walk.design, walk.start, walk.changes),
        edits=edits,
        departures=() if trail is None else tuple(find_departures(walk, trail, edits, targets)),
        overshoots=sum(len(edit.overshoots) for edit in edits),
        reverts=sum(any(isinstance(effect, Reverted) for effect in change.effects) for change in touched),
        time_outs=sum(any(isinstance(effect, ScreenEntered) for effect in change.effects) for change in left),
        wrong_screens=None if trail is None else sum(screen not in trail.screens for screen in screens),
        first_press=None if trail is None else _judge_first_press(walk, trail),
        lostness=None if trail is None else measure_lostness(list(map(str, screens)), len(set(trail.screens))),
        extra_gestures=None if trail is None else turned + pressed - trail.gestures,
    )


def _judge_first_press(walk: Walk, trail: Trail) -> bool | None:
    pressed = next((entry for change in walk.changes if (entry := find_pressed_entry(change)) is not None), None)
    return None if pressed is None or trail.first_entry is None else pressed == trail.first_entry
