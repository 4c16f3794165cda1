"""The measures of each task with each variant, over all people who tried it."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import attrs

from knobmenu.review.attempts import Attempt
from knobmenu.review.measures import Interval, estimate_mean, estimate_success, estimate_time, score_usability
from knobmenu.review.report.collection import Collection, Person
from knobmenu.review.sitting import EASE, USABILITY_ITEMS
from knobmenu.review.study import Trial
from knobmenu.review.trail import Trail


@attrs.frozen
class TaskSummary:
    """One task with one variant."""

    trial: Trial
    tried: int
    """The number of people who tried it."""
    done: int
    """The number of them who succeeded."""
    gave_up: int
    timed_out: int
    least: Trail | None
    """The trail of the least way; None if it is unknown."""
    success: Interval | None
    """The success rate; None if nobody tried it, as for all measures below."""
    seconds: Interval | None
    """The geometric mean time of those who succeeded. [s]"""
    gestures: Interval | None
    """The geometric mean of detents and presses of those who succeeded."""
    extra_gestures: Interval | None
    """Detents and presses beyond the least, of all who tried."""
    lostness: Interval | None
    first_press: Interval | None
    """The rate of people whose first press was right."""
    wrong_screens: float
    """The mean number of visits to screens that the least way does not show; the measures below are means, too."""
    overshoots: float
    reverts: float
    time_outs: float
    ease: Interval | None
    """The answer to the single ease question, 1 to 7."""


def summarize(collection: Collection) -> tuple[TaskSummary, ...]:
    """Summarize all tasks, each with all variants, in the order of the study."""
    study = collection.setup.study
    return tuple(
        _summarize(collection, Trial(variant.key, task.key)) for task in study.tasks for variant in study.variants
    )


def _summarize(collection: Collection, trial: Trial) -> TaskSummary:
    found = collection.list_attempts(trial.variant, trial.task)
    attempts = [attempt for _, attempt in found]
    done = [attempt for attempt in attempts if attempt.succeeded]
    first = _list_known(attempts, lambda one: one.first_press)
    eases = [ease for person, _ in found if isinstance(ease := person.find_answer(format_about(trial), EASE.key), int)]

    def average(count: Callable[[Attempt], float | None]) -> float:
        known = _list_known(attempts, count)
        return sum(known) / len(known) if known else 0.0

    return TaskSummary(
        trial=trial,
        tried=len(attempts),
        done=len(done),
        gave_up=sum(one.outcome == "gave-up" for one in attempts),
        timed_out=sum(one.outcome == "time-out" for one in attempts),
        least=collection.setup.trails[trial.variant, trial.task],
        success=estimate_success(len(done), len(attempts)) if attempts else None,
        seconds=_estimate(estimate_time, [one.seconds for one in done if one.lasted_ms]),
        gestures=_estimate(estimate_time, [float(one.gestures) for one in done if one.gestures]),
        extra_gestures=_estimate(estimate_mean, _list_known(attempts, lambda one: one.extra_gestures)),
        lostness=_estimate(estimate_mean, _list_known(attempts, lambda one: one.lostness)),
        first_press=estimate_success(sum(map(bool, first)), len(first)) if first else None,
        wrong_screens=average(lambda one: one.wrong_screens),
        overshoots=average(lambda one: one.overshoots),
        reverts=average(lambda one: one.reverts),
        time_outs=average(lambda one: one.time_outs),
        ease=_estimate(estimate_mean, [float(ease) for ease in eases]),
    )


def format_about(trial: Trial) -> str:
    """Format the subject of the questions after a trial."""
    return f"{trial.variant} {trial.task}"


def score_person(person: Person, variant: str) -> float | None:
    """Compute a person's score of the usability scale for a variant; None if an item was not answered."""
    items = [person.find_answer(variant, f"usability_{number}") for number in range(1, len(USABILITY_ITEMS) + 1)]
    answers = [item for item in items if isinstance(item, int)]
    return score_usability(answers) if len(answers) == len(items) else None


def summarize_usability(collection: Collection, variant: str) -> Interval | None:
    """Estimate the mean score of a variant on the usability scale; None if nobody answered it."""
    scores = (score_person(person, variant) for person in collection.people)
    return _estimate(estimate_mean, [score for score in scores if score is not None])


def _list_known(attempts: Iterable[Attempt], count: Callable[[Attempt], float | None]) -> list[float]:
    return [value for one in attempts if (value := count(one)) is not None]


def _estimate(estimate: Callable[[list[float]], Interval], values: list[float]) -> Interval | None:
    return estimate(values) if values else None
