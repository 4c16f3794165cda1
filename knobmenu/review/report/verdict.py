"""The verdict of a report: which task fails where, which variant is better, and what so few people can show."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from knobmenu.review.measures import FEWEST_FOR_DIFFERENCE, compute_chance_unseen
from knobmenu.review.report.collection import Collection
from knobmenu.review.report.comparison import Comparison
from knobmenu.review.report.formatting import (
    format_count,
    format_difference,
    format_gestures,
    format_number,
    format_percent,
    get_variant_name,
    join_names,
)
from knobmenu.review.report.problems import UsabilityProblem, describe_problem
from knobmenu.review.report.summary import TaskSummary
from knobmenu.review.study import Study, Trial, make_balanced_square

MOST_NAMED = 5
"""How many failing tasks and other problems the verdict names; the tables below it list all."""

RARE = 0.1
"""The rate of a problem for which the verdict states how often a study of this size misses it."""


def compose_verdict(
    collection: Collection,
    tasks: Sequence[TaskSummary],
    problems: Sequence[UsabilityProblem],
    comparisons: Sequence[Comparison],
) -> list[str]:
    """Compose the sentences of the verdict, the most important first."""
    return [
        *_walk_basis(collection),
        *_walk_failures(collection, tasks, problems),
        *_walk_comparisons(collection, comparisons),
        *_walk_limits(collection),
    ]


def _walk_basis(collection: Collection) -> Iterator[str]:
    study, people = collection.setup.study, collection.people
    attempts = sum(len(person.attempts) for person in people)
    variants = format_count(len(study.variants), "variant")
    tasks = format_count(len(study.tasks), "task")
    yield f"{format_count(len(people), 'person', 'people')}, {variants}, {tasks}: {format_count(attempts, 'attempt')}."
    missing = []
    if unfinished := sum(not person.finished for person in people):
        missing.append(f"{format_count(unfinished, 'sitting')} not finished")
    if other := sum(len(person.other_version) for person in people):
        missing.append(f"{format_count(other, 'attempt')} excluded: another version of the design")
    if refused := len(collection.refused):
        missing.append(f"{format_count(refused, 'recording')} excluded: not readable as a sitting of this study")
    if missing:
        yield f"{'; '.join(missing)}. See Recordings."


def _walk_failures(
    collection: Collection, tasks: Sequence[TaskSummary], problems: Sequence[UsabilityProblem]
) -> Iterator[str]:
    failing = sorted((one for one in tasks if one.done < one.tried), key=lambda one: one.done / one.tried)
    named: set[Trial] = set()
    for task in failing[:MOST_NAMED]:
        named.add(task.trial)
        assert task.success is not None
        bounds = f"95 %: {format_percent(task.success.low)} to {format_percent(task.success.high)}"
        yield f"{_format_task(collection, task.trial)} {task.done} of {task.tried} succeeded ({bounds})."
        worst = next((one for one in problems if one.trial == task.trial and one.failed), None)
        if worst is not None:
            yield f"There, {worst.met} of {worst.tried} {describe_problem(collection, worst)}."
    if len(failing) > MOST_NAMED:
        yield f"{len(failing) - MOST_NAMED} more tasks have failed attempts; see Tasks."
    if not failing and any(one.tried for one in tasks):
        yield "Every attempt succeeded."
    others = [one for one in problems if one.is_common and one.trial not in named]
    for problem in others[:MOST_NAMED]:
        cost = f"{format_number(problem.seconds)} s and {format_gestures(problem.gestures)} at the median"
        where = _format_task(collection, problem.trial)
        yield f"{where} {problem.met} of {problem.tried} {describe_problem(collection, problem)} ({cost})."
    if not failing and not others:
        yield "No problems were found, apart from slips that occur with any design."


def _format_task(collection: Collection, trial: Trial) -> str:
    study = collection.setup.study
    of = f' with "{get_variant_name(study, trial.variant)}"' if len(study.variants) > 1 else ""
    return f'Task "{trial.task}"{of}:'


def _walk_comparisons(collection: Collection, comparisons: Sequence[Comparison]) -> Iterator[str]:
    study = collection.setup.study
    overall = [one for one in comparisons if not one.task]
    for (first, second), group in groupby(overall, lambda one: (one.first, one.second)):
        compared = list(group)
        names = f'"{get_variant_name(study, first)}"', f'"{get_variant_name(study, second)}"'
        enough = [one for one in compared if one.has_enough_people]
        if not enough:
            pairs = max(one.pairs for one in compared)
            yield (
                f"Too few people to compare {names[0]} with {names[1]}: {pairs} can be compared, but at least"
                f" {FEWEST_FOR_DIFFERENCE} are needed."
            )
            continue
        clear = [one for one in enough if one.is_beyond_chance]
        for better, worse, key in ((names[1], names[0], second), (names[0], names[1], first)):
            won = [one for one in clear if one.better == key]
            if won:
                measures = join_names([one.measure.name for one in won])
                said = "; ".join(map(format_difference, won))
                both = " (of tasks done with both)" if any(one.measure.is_ratio for one in won) else ""
                yield f"{better} is better than {worse} in {measures}, beyond chance."
                yield f"{names[1]} has, against {names[0]}: {said}{both}."
        if not clear:
            pairs = max(one.pairs for one in enough)
            said = "; ".join(format_difference(one) for one in enough if one.difference is not None)
            yield (
                f"No difference between {names[0]} and {names[1]} is beyond chance with"
                f" {format_count(pairs, 'person', 'people')}. {names[1]} has, against {names[0]}: {said}."
            )


def _walk_limits(collection: Collection) -> Iterator[str]:
    study, people = collection.setup.study, len(collection.people)
    unseen = compute_chance_unseen(RARE, people)
    if unseen >= 0.005:
        rate = format_percent(unseen)
        yield f"A problem that 1 in {1 / RARE:.0f} people meet stays unseen in {rate} of studies this small."
    yield from _walk_order(study, people)


def _walk_order(study: Study, people: int) -> Iterator[str]:
    if len(study.variants) == 1:
        return
    if study.order == "fixed":
        yield "All people had the variants in the same order: learning cannot be separated from the difference."
        return
    whole = len(make_balanced_square(len(study.variants)))
    if people % whole:
        yield f"The order of variants is balanced over each {whole} people; {people} is not a multiple of {whole}."
