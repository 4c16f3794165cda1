"""Comparisons of variants over the people who tried both: the differences, and whether they are beyond chance."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import combinations
from typing import TypeVar

import attrs

from knobmenu.review.attempts import Attempt
from knobmenu.review.measures import (
    CONFIDENCE,
    FEWEST_FOR_DIFFERENCE,
    Difference,
    adjust_p_values,
    compare_paired,
    compare_success,
    compare_times,
)
from knobmenu.review.report.collection import Collection, Person
from knobmenu.review.report.summary import format_about, score_person
from knobmenu.review.sitting import EASE
from knobmenu.review.study import Trial

T = TypeVar("T")


@attrs.frozen
class Measure:
    """A measure by which two variants are compared."""

    name: str
    more_is_better: bool
    is_ratio: bool
    """Whether the difference is a ratio, second to first, instead of second minus first."""


SUCCESS = Measure("success", more_is_better=True, is_ratio=False)
TIME = Measure("time", more_is_better=False, is_ratio=True)
GESTURES = Measure("gestures", more_is_better=False, is_ratio=True)
EASE_ANSWER = Measure("ease", more_is_better=True, is_ratio=False)
USABILITY = Measure("usability", more_is_better=True, is_ratio=False)


@attrs.frozen
class Comparison:
    """The difference of two variants in one measure."""

    first: str
    second: str
    task: str
    """The task; empty: over all tasks."""
    measure: Measure
    pairs: int
    """The number of people who can be compared."""
    difference: Difference | None
    """None if fewer than two people can be compared."""
    p: float = 1.0
    """The p of the difference, adjusted for all comparisons of its family: those over all tasks, or those of one
    measure over the tasks."""

    @property
    def has_enough_people(self) -> bool:
        """Whether there are enough people for a judgement."""
        return self.pairs >= FEWEST_FOR_DIFFERENCE

    @property
    def is_beyond_chance(self) -> bool:
        """Whether there are enough people and the difference is significant."""
        return self.difference is not None and self.has_enough_people and self.p < 1 - CONFIDENCE

    @property
    def better(self) -> str:
        """The variant with the better estimate, beyond chance or not; empty if they are equal."""
        if self.difference is None:
            return ""
        estimate = self.difference.mean.estimate
        change = math.log(estimate) if self.measure.is_ratio else estimate
        if not change:
            return ""
        return self.second if (change > 0) == self.measure.more_is_better else self.first


def compare_variants(collection: Collection) -> tuple[Comparison, ...]:
    """Compare each pair of variants: over all tasks, and for each task."""
    found: list[Comparison] = []
    for first, second in combinations([variant.key for variant in collection.setup.study.variants], 2):
        found += _adjust(list(_compare_over_tasks(collection, first, second)))
        for compare in (_compare_task_success, _compare_task_time, _compare_task_gestures):
            tasks = [task.key for task in collection.setup.study.tasks]
            found += _adjust([compare(collection, first, second, task) for task in tasks])
    return tuple(found)


def _adjust(family: list[Comparison]) -> list[Comparison]:
    """Adjust the p of comparisons for their number; those with too few people do not count."""
    judged = [one for one in family if one.difference is not None and one.has_enough_people]
    p = iter(adjust_p_values([one.difference.p for one in judged if one.difference is not None]))
    return [attrs.evolve(one, p=next(p)) if one in judged else one for one in family]


def _compare_over_tasks(collection: Collection, first: str, second: str) -> Iterator[Comparison]:
    tasks = [task.key for task in collection.setup.study.tasks]

    def pair_tasks(person: Person, *, done: bool) -> list[tuple[Attempt, Attempt]]:
        found = ((person.find_attempt(first, task), person.find_attempt(second, task)) for task in tasks)
        return [
            (one, other)
            for one, other in found
            if one is not None and other is not None and (not done or (one.succeeded and other.succeeded))
        ]

    def compare(measure: Measure, values: Callable[[Person], tuple[float, float] | None]) -> Comparison:
        pairs = [pair for person in collection.people if (pair := values(person)) is not None]
        return _compare(first, second, "", measure, pairs)

    def average_success(person: Person) -> tuple[float, float] | None:
        return _average(pair_tasks(person, done=False), lambda attempt: float(attempt.succeeded))

    def average_time(person: Person) -> tuple[float, float] | None:
        return _average_geometrically(pair_tasks(person, done=True), lambda attempt: attempt.seconds)

    def average_gestures(person: Person) -> tuple[float, float] | None:
        return _average_geometrically(pair_tasks(person, done=True), lambda attempt: attempt.gestures)

    def average_ease(person: Person) -> tuple[float, float] | None:
        answers = [
            [person.find_answer(format_about(Trial(variant, task)), EASE.key) for variant in (first, second)]
            for task in tasks
        ]
        known = [(one, other) for one, other in answers if isinstance(one, int) and isinstance(other, int)]
        return _average(known, float)

    def average_usability(person: Person) -> tuple[float, float] | None:
        scores = score_person(person, first), score_person(person, second)
        return None if scores[0] is None or scores[1] is None else (scores[0], scores[1])

    yield compare(SUCCESS, average_success)
    yield compare(TIME, average_time)
    yield compare(GESTURES, average_gestures)
    study = collection.setup.study
    if study.ease:
        yield compare(EASE_ANSWER, average_ease)
    if study.usability_scale:
        yield compare(USABILITY, average_usability)


def _compare_task_success(collection: Collection, first: str, second: str, task: str) -> Comparison:
    pairs = _pair_attempts(collection, first, second, task)
    if not pairs:
        return Comparison(first, second, task, SUCCESS, 0, None)
    difference = compare_success([one.succeeded for one, _ in pairs], [other.succeeded for _, other in pairs])
    return Comparison(first, second, task, SUCCESS, len(pairs), difference)


def _compare_task_time(collection: Collection, first: str, second: str, task: str) -> Comparison:
    return _compare_successes(collection, (first, second, task), TIME, lambda attempt: attempt.seconds)


def _compare_task_gestures(collection: Collection, first: str, second: str, task: str) -> Comparison:
    return _compare_successes(collection, (first, second, task), GESTURES, lambda attempt: attempt.gestures)


def _compare_successes(
    collection: Collection, about_what: tuple[str, str, str], measure: Measure, value: Callable[[Attempt], float]
) -> Comparison:
    pairs = [
        (value(one), value(other))
        for one, other in _pair_attempts(collection, *about_what)
        if one.succeeded and other.succeeded and value(one) > 0 and value(other) > 0
    ]
    return _compare(*about_what, measure, pairs)


def _pair_attempts(collection: Collection, first: str, second: str, task: str) -> list[tuple[Attempt, Attempt]]:
    found = ((person.find_attempt(first, task), person.find_attempt(second, task)) for person in collection.people)
    return [(one, other) for one, other in found if one is not None and other is not None]


def _compare(first: str, second: str, task: str, measure: Measure, pairs: list[tuple[float, float]]) -> Comparison:
    if len(pairs) < 2:
        return Comparison(first, second, task, measure, len(pairs), None)
    compare = compare_times if measure.is_ratio else compare_paired
    difference = compare([one for one, _ in pairs], [other for _, other in pairs])
    return Comparison(first, second, task, measure, len(pairs), difference)


def _average(pairs: list[tuple[T, T]], value: Callable[[T], float]) -> tuple[float, float] | None:
    if not pairs:
        return None
    count = len(pairs)
    return sum(value(one) for one, _ in pairs) / count, sum(value(other) for _, other in pairs) / count


def _average_geometrically(
    pairs: list[tuple[Attempt, Attempt]], value: Callable[[Attempt], float]
) -> tuple[float, float] | None:
    positive = [(one, other) for one, other in pairs if value(one) > 0 and value(other) > 0]
    means = _average(positive, lambda attempt: math.log(value(attempt)))
    return None if means is None else (math.exp(means[0]), math.exp(means[1]))
