"""What a designer decides by: which task fails where, which variant is better, what so few people can say at all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from knobmenu.review.measures import FEWEST_FOR_DIFFERENCE, chance_unseen
from knobmenu.review.report.collection import Collection
from knobmenu.review.report.comparison import Comparison
from knobmenu.review.report.problems import UsabilityProblem, problem_words
from knobmenu.review.report.summary import TaskSummary
from knobmenu.review.report.words import (
    count_words,
    difference_words,
    gesture_words,
    joined,
    number,
    percent,
    variant_name,
)
from knobmenu.review.study import Study, Trial, order_balanced

MOST_NAMED = 5
"""Failing tasks, and other problems, that the verdict names; the tables below it hold all."""

RARE = 0.1
"""The rate of a problem for which the verdict says how often so few people would not show it."""


def verdict(
    collection: Collection,
    tasks: Sequence[TaskSummary],
    problems: Sequence[UsabilityProblem],
    comparisons: Sequence[Comparison],
) -> list[str]:
    """Say what matters most, in sentences."""
    return [
        *_basis(collection),
        *_failures(collection, tasks, problems),
        *_comparisons(collection, comparisons),
        *_limits(collection),
    ]


def _basis(collection: Collection) -> Iterator[str]:
    study, people = collection.setup.study, collection.people
    attempts = sum(len(person.attempts) for person in people)
    variants = count_words(len(study.variants), "variant")
    tasks = count_words(len(study.tasks), "task")
    yield f"{count_words(len(people), 'person', 'people')}, {variants}, {tasks}: {count_words(attempts, 'attempt')}."
    missing = []
    if unfinished := sum(not person.finished for person in people):
        missing.append(f"{count_words(unfinished, 'sitting')} not finished")
    if other := sum(len(person.other_version) for person in people):
        missing.append(f"{count_words(other, 'attempt')} left out: another version of the design")
    if refused := len(collection.refused):
        missing.append(f"{count_words(refused, 'recording')} left out: not readable as a sitting of this study")
    if missing:
        yield f"{'; '.join(missing)}. See Recordings."


def _failures(
    collection: Collection, tasks: Sequence[TaskSummary], problems: Sequence[UsabilityProblem]
) -> Iterator[str]:
    failing = sorted((one for one in tasks if one.done < one.tried), key=lambda one: one.done / one.tried)
    named: set[Trial] = set()
    for task in failing[:MOST_NAMED]:
        named.add(task.trial)
        assert task.success is not None
        bounds = f"95 %: {percent(task.success.low)} to {percent(task.success.high)}"
        yield f"{_task_words(collection, task.trial)} {task.done} of {task.tried} succeeded ({bounds})."
        worst = next((one for one in problems if one.trial == task.trial and one.failed), None)
        if worst is not None:
            yield f"There, {worst.met} of {worst.tried} {problem_words(collection, worst)}."
    if len(failing) > MOST_NAMED:
        yield f"{len(failing) - MOST_NAMED} more tasks failed for somebody; see Tasks."
    if not failing and any(one.tried for one in tasks):
        yield "Every attempt succeeded."
    others = [one for one in problems if one.is_common and one.trial not in named]
    for problem in others[:MOST_NAMED]:
        cost = f"{number(problem.seconds)} s and {gesture_words(problem.gestures)} at the median"
        where = _task_words(collection, problem.trial)
        yield f"{where} {problem.met} of {problem.tried} {problem_words(collection, problem)} ({cost})."
    if not failing and not others:
        yield "No problem was found beyond the slips that any design has."


def _task_words(collection: Collection, trial: Trial) -> str:
    study = collection.setup.study
    of = f' with "{variant_name(study, trial.variant)}"' if len(study.variants) > 1 else ""
    return f'Task "{trial.task}"{of}:'


def _comparisons(collection: Collection, comparisons: Sequence[Comparison]) -> Iterator[str]:
    study = collection.setup.study
    overall = [one for one in comparisons if not one.task]
    for (first, second), group in groupby(overall, lambda one: (one.first, one.second)):
        compared = list(group)
        names = f'"{variant_name(study, first)}"', f'"{variant_name(study, second)}"'
        enough = [one for one in compared if one.has_enough_people]
        if not enough:
            pairs = max(one.pairs for one in compared)
            yield (
                f"Too few people to compare {names[0]} with {names[1]}: {pairs} can be compared,"
                f" at least {FEWEST_FOR_DIFFERENCE} are needed."
            )
            continue
        clear = [one for one in enough if one.is_beyond_chance]
        for better, worse, key in ((names[1], names[0], second), (names[0], names[1], first)):
            won = [one for one in clear if one.better == key]
            if won:
                measures = joined([one.measure.name for one in won])
                said = "; ".join(map(difference_words, won))
                both = " (of tasks done with both)" if any(one.measure.is_ratio for one in won) else ""
                yield f"{better} is better than {worse} in {measures}, beyond chance."
                yield f"{names[1]} has, against {names[0]}: {said}{both}."
        if not clear:
            pairs = max(one.pairs for one in enough)
            said = "; ".join(difference_words(one) for one in enough if one.difference is not None)
            yield (
                f"No difference between {names[0]} and {names[1]} is beyond chance with"
                f" {count_words(pairs, 'person', 'people')}. {names[1]} has, against {names[0]}: {said}."
            )


def _limits(collection: Collection) -> Iterator[str]:
    study, people = collection.setup.study, len(collection.people)
    unseen = chance_unseen(RARE, people)
    if unseen >= 0.005:
        yield f"A problem that 1 in {1 / RARE:.0f} people meet stays unseen in {percent(unseen)} of studies this small."
    yield from _order(study, people)


def _order(study: Study, people: int) -> Iterator[str]:
    if len(study.variants) == 1:
        return
    if study.order == "fixed":
        yield "Everybody had the variants in the same order: learning cannot be separated from the difference."
        return
    whole = len(order_balanced(len(study.variants)))
    if people % whole:
        yield f"The order of variants is balanced over {whole} people each; {people} are not whole rounds."
