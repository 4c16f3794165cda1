"""The results of a report, computed once: measures, problems and comparisons, and their tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import attrs

from knobmenu.analysis.cost.picture import describe_tally
from knobmenu.review.report.collection import Collection
from knobmenu.review.report.comparison import Comparison, compare_variants
from knobmenu.review.report.formatting import (
    format_difference,
    format_interval,
    format_number,
    format_p,
    format_percent,
    get_variant_name,
)
from knobmenu.review.report.problems import UsabilityProblem, describe_problem, find_problems
from knobmenu.review.report.summary import TaskSummary, summarize
from knobmenu.review.report.verdict import compose_verdict
from knobmenu.review.study import Trial


@attrs.frozen
class Results:
    """The results of the sittings of a study."""

    collection: Collection
    tasks: tuple[TaskSummary, ...]
    """Summaries of each task with each variant."""
    problems: tuple[UsabilityProblem, ...]
    """Problems, the worst first; those that few people met are last."""
    comparisons: tuple[Comparison, ...]
    """Comparisons of each pair of variants."""
    verdict: tuple[str, ...]
    """Sentences, the most important first."""

    @property
    def common(self) -> tuple[UsabilityProblem, ...]:
        """The problems that habits do not explain."""
        return tuple(problem for problem in self.problems if problem.is_common)


def compute_results(collection: Collection) -> Results:
    """Compute the results of the sittings."""
    tasks, problems = summarize(collection), find_problems(collection)
    comparisons = compare_variants(collection)
    return Results(
        collection, tasks, problems, comparisons, tuple(compose_verdict(collection, tasks, problems, comparisons))
    )


@attrs.frozen
class Table:
    """A table of texts and numbers."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: frozenset[int] = frozenset()
    """Indices of the right-aligned columns."""


def list_trial_cells(results: Results, trial: Trial) -> tuple[str, ...]:
    """List the cells that identify a trial: the task, and the variant if there are several."""
    study = results.collection.setup.study
    return (trial.task, get_variant_name(study, trial.variant)) if len(study.variants) > 1 else (trial.task,)


def list_trial_columns(results: Results) -> tuple[str, ...]:
    """List the column names of `list_trial_cells`."""
    return ("task", "variant") if len(results.collection.setup.study.variants) > 1 else ("task",)


def make_task_table(results: Results) -> Table:
    """Make the table of tasks: success, time, gestures against the least, ease."""
    begin = list_trial_columns(results)
    columns = (*begin, "done", "success (95 %)", "time [s]", "predicted [s]", "gestures", "least", "ease")
    return Table(columns, tuple(_walk_task_rows(results)), frozenset(range(len(begin), len(columns))))


def _walk_task_rows(results: Results) -> Iterator[tuple[str, ...]]:
    for task in results.tasks:
        yield (
            *list_trial_cells(results, task.trial),
            f"{task.done} of {task.tried}",
            "–"
            if task.success is None
            else f"{format_percent(task.success.low)} to {format_percent(task.success.high)}",
            format_interval(task.seconds),
            "–" if task.least is None else format_number(task.least.seconds.typical),
            format_interval(task.gestures),
            "–" if task.least is None else str(task.least.gestures),
            format_interval(task.ease),
        )


def make_way_table(results: Results) -> Table:
    """Make the table of deviations from the least way."""
    begin = list_trial_columns(results)
    columns = (
        *begin,
        "extra gestures",
        "lostness",
        "first press right",
        "wrong screens",
        "overshoots",
        "reverts",
        "time-outs",
    )
    rows = tuple(
        (
            *list_trial_cells(results, task.trial),
            format_interval(task.extra_gestures),
            format_interval(task.lostness),
            format_interval(task.first_press, format_percent),
            *map(format_number, (task.wrong_screens, task.overshoots, task.reverts, task.time_outs)),
        )
        for task in results.tasks
    )
    return Table(columns, rows, frozenset(range(len(begin), len(columns))))


def make_least_way_table(results: Results) -> Table:
    """Make the table of the tasks' texts and least ways."""
    rows = tuple(
        (
            *list_trial_cells(results, task.trial),
            results.collection.setup.get_task(task.trial.task).text,
            "unknown" if task.least is None else describe_tally(task.least.tally),
        )
        for task in results.tasks
    )
    return Table((*list_trial_columns(results), "what people read", "least way"), rows)


def make_problem_table(results: Results, problems: Sequence[UsabilityProblem]) -> Table:
    """Make a table of problems: where, what, who met it, what it cost."""
    begin = list_trial_columns(results)
    columns = (*begin, "people", "met", "failed", "median s", "median gestures")
    rows = tuple(
        (
            *list_trial_cells(results, problem.trial),
            describe_problem(results.collection, problem),
            f"{problem.met} of {problem.tried}",
            str(problem.failed),
            format_number(problem.seconds),
            format_number(problem.gestures),
        )
        for problem in problems
    )
    return Table(columns, rows, frozenset(range(len(begin) + 1, len(columns))))


def make_comparison_table(results: Results, comparisons: Iterable[Comparison]) -> Table:
    """Make a table of the differences of variants, for each pair those over all tasks first."""
    study = results.collection.setup.study
    columns = ("second against first", "task", "people", "difference (95 %)", "effect", "p, adjusted", "beyond chance")
    rows = tuple(
        (
            f"{get_variant_name(study, one.second)} against {get_variant_name(study, one.first)}",
            one.task or "all",
            str(one.pairs),
            f"{one.measure.name}: –" if one.difference is None else format_difference(one),
            "–" if one.difference is None else format_number(one.difference.effect),
            format_p(one.p) if one.has_enough_people else "–",
            ("yes" if one.is_beyond_chance else "no") if one.has_enough_people else "too few people",
        )
        for one in sorted(comparisons, key=lambda one: (one.first, one.second, one.task != ""))
    )
    return Table(columns, rows, frozenset({2, 4, 5}))


def keep_columns(table: Table, names: Sequence[str]) -> Table:
    """Return a table with some of its columns, in their own order; unknown names are ignored."""
    kept = [place for place, name in enumerate(table.columns) if name in names]
    return Table(
        tuple(table.columns[place] for place in kept),
        tuple(tuple(row[place] for place in kept) for row in table.rows),
        frozenset(new for new, old in enumerate(kept) if old in table.numeric),
    )


def make_recording_table(results: Results) -> Table:
    """Make the table of recordings: their attempts, and what is excluded."""
    collection = results.collection
    rows = []
    for person in collection.people:
        remarks = [] if person.finished else ["not finished"]
        if person.other_version:
            tasks = ", ".join(f"{trial.variant} {trial.task}" for trial in person.other_version)
            remarks.append(f"excluded, recorded with another version of the design: {tasks}")
        rows.append((person.code, f"{len(person.attempts)} of {len(person.trials)}", person.file, "; ".join(remarks)))
    rows += [("–", "–", refused.file, f"excluded: {refused.reason}") for refused in collection.refused]
    return Table(("participant", "attempts", "file", "remark"), tuple(rows), frozenset({1}))
