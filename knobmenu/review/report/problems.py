"""Usability problems: the same departure from the least way, met by several people."""

from __future__ import annotations

from statistics import median

import attrs

from knobmenu.design.labels import get_label
from knobmenu.design.whole import Design
from knobmenu.machine.state import Mode
from knobmenu.review.attempts import Attempt
from knobmenu.review.causes import Cause, find_causes
from knobmenu.review.departures import MOST_TURNS, Departure, Kind
from knobmenu.review.report.collection import Collection, Person
from knobmenu.review.report.habits import RISK, Met, judge_places
from knobmenu.review.study import Trial
from knobmenu.review.trail import walk_targets
from knobmenu.review.walk import Screen
from knobmenu.screen.values import describe_value

FEWEST_WHO_MEET = 2
"""The fewest people who must meet the same departure for a problem (our own choice)."""

Place = tuple[Trial, Kind, Screen, str]
"""Where people left the least way, and how: the trial, the kind, the screen, and the subject."""


@attrs.frozen
class Occurrence:
    """One person who met a problem, and the cost."""

    person: Person
    attempt: Attempt
    departure: Departure
    """The person's first departure at this place."""
    seconds: float
    """The total time that it cost. [s]"""
    gestures: int
    """The total of detents and presses that it cost."""


@attrs.frozen
class UsabilityProblem:
    """The same departure with the same task and variant, and all people who met it."""

    trial: Trial
    kind: Kind
    screen: Screen
    key: str
    expected: str
    tried: int
    """The number of people who tried the task."""
    occurrences: tuple[Occurrence, ...]
    p: float
    """The probability that at least as many people meet it by their habits alone, adjusted for the number of places;
    see `knobmenu.review.report.habits`."""

    @property
    def met(self) -> int:
        """The number of people who met it."""
        return len(self.occurrences)

    @property
    def failed(self) -> int:
        """The number of them who failed the task."""
        return sum(not one.attempt.succeeded for one in self.occurrences)

    @property
    def is_common(self) -> bool:
        """Whether more people met it than their habits explain."""
        return self.met >= FEWEST_WHO_MEET and self.p < RISK

    @property
    def seconds(self) -> float:
        """The median time that it cost. [s]"""
        return median(one.seconds for one in self.occurrences)

    @property
    def gestures(self) -> float:
        """The median of detents and presses that it cost."""
        return median(one.gestures for one in self.occurrences)

    @property
    def lost_s(self) -> float:
        """The total time that it cost. [s]"""
        return sum(one.seconds for one in self.occurrences)


def find_problems(collection: Collection) -> tuple[UsabilityProblem, ...]:
    """Find the problems, ranked by how many people failed after it, how many met it, and the time it cost."""
    found: dict[Place, list[Occurrence]] = {}
    expected: dict[Place, str] = {}
    tried: dict[Trial, set[str]] = {}
    for person in collection.people:
        for attempt in person.attempts:
            tried.setdefault(attempt.trial, set()).add(person.code)
            alike: dict[Place, list[Cause]] = {}
            for cause in find_causes(attempt.departures):
                departure = cause.departure
                place = (attempt.trial, departure.kind, departure.screen, departure.key)
                alike.setdefault(place, []).append(cause)
                expected[place] = departure.expected
            for place, causes in alike.items():
                seconds, gestures = sum(one.seconds for one in causes), sum(one.gestures for one in causes)
                met = Occurrence(person, attempt, causes[0].departure, seconds, gestures)
                found.setdefault(place, []).append(met)
    judged = judge_places(
        {place: Met(place[0], place[1], {one.person.code for one in met}) for place, met in found.items()}, tried
    )
    problems = (
        UsabilityProblem(*place, expected[place], len(tried[place[0]]), tuple(met), judged[place])
        for place, met in found.items()
    )
    return tuple(sorted(problems, key=_make_rank))


def _make_rank(problem: UsabilityProblem) -> tuple[object, ...]:
    trial, (mode, place) = problem.trial, problem.screen
    named = (trial.variant, trial.task, problem.kind, mode.value, place, problem.key)
    return (not problem.is_common, -problem.failed, -problem.met, -problem.lost_s, *named)


# Descriptions.


def describe_problem(collection: Collection, problem: UsabilityProblem) -> str:
    """Describe what people did, and where, in a clause without a subject."""
    design = collection.setup.designs[problem.trial.variant]
    place = describe_place(design, problem.screen)
    expected = f' instead of "{get_label(design, problem.expected)}"' if problem.expected else ""
    match problem.kind:
        case "wrong-turn":
            if problem.screen[0] is Mode.BROWSING:
                return f'chose "{get_label(design, problem.key)}" in {place}{expected}'
            return f'opened "{get_label(design, problem.key)}" from {place}'
        case "left":
            leads = f', where "{get_label(design, problem.expected)}" leads on' if problem.expected else ""
            return f"left {place} before the task was done{leads}"
        case "passed-entry":
            return f'turned past "{get_label(design, problem.key)}" in {place}, and back'
        case "wrong-setting":
            return f'turned "{get_label(design, problem.key)}" at home, which the task does not request'
        case "refused":
            return f'pressed "{get_label(design, problem.key)}" in {place}, which was disabled'
        case "overshoot":
            return f'turned "{get_label(design, problem.key)}" past {_describe_target(collection, problem)}'
        case "long-turn":
            return (
                f'turned the knob more than {MOST_TURNS} times around for "{get_label(design, problem.key)}":'
                f" {problem.gestures:.0f} detents"
            )
        case "wrong-value":
            target = _describe_target(collection, problem)
            return f'kept "{get_label(design, problem.key)}" at a value other than {target}'
        case "revert":
            return f'undid the edit of "{get_label(design, problem.key)}"'
        case "time-out":
            return f"did not touch the knob until the device left {place}, after {design.idle.after_ms / 1000:g} s"
        case "not-found":
            return f"never found the {GESTURES[problem.key]} {_add_preposition(place)}"
        case "gave-up":
            return f"{'gave up' if problem.key == 'gave-up' else 'ran out of time'} {_add_preposition(place)}"


GESTURES = {"hold": "long press", "double": "double press", "held": "turn while the knob is held down"}
"""The names of the gestures that no display suggests."""


def describe_place(design: Design, screen: Screen) -> str:
    """Describe a screen."""
    mode, key = screen
    match mode:
        case Mode.HOME:
            return "home"
        case Mode.BROWSING:
            return f'"{get_label(design, key)}"'
        case Mode.EDITING:
            return f'the editor of "{get_label(design, key)}"'
        case Mode.ASKING:
            return f'the question about "{get_label(design, key)}"'
        case Mode.HOLDING:
            return f'the request to hold for "{get_label(design, key)}"'


def _add_preposition(place: str) -> str:
    return "at home" if place == "home" else f"in {place}"


def _describe_target(collection: Collection, problem: UsabilityProblem) -> str:
    design = collection.setup.designs[problem.trial.variant]
    task = collection.setup.get_task(problem.trial.task)
    return describe_value(design, problem.key, dict(walk_targets(design, task.done))[problem.key])
