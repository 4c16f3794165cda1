"""The contents of a report, in order: verdict, problems with their replays, plots, tables, answers, recordings."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from knobmenu.errors import RecordingError
from knobmenu.review.departures import MOST_TURNS
from knobmenu.review.measures import FEWEST_FOR_DIFFERENCE
from knobmenu.review.report.document import Document, Heading, Paragraph, Part, Picture
from knobmenu.review.report.edit_plots import plot_edits
from knobmenu.review.report.flow import find_flow
from knobmenu.review.report.flow_plot import plot_flow
from knobmenu.review.report.formatting import (
    format_count,
    format_gestures,
    format_interval,
    format_number,
    get_variant_name,
)
from knobmenu.review.report.measure_plots import plot_gestures, plot_times
from knobmenu.review.report.notes import make_note_table
from knobmenu.review.report.problems import FEWEST_WHO_MEET, UsabilityProblem, describe_problem
from knobmenu.review.report.replays import choose_occurrence, make_replay
from knobmenu.review.report.results import (
    Results,
    Table,
    list_trial_cells,
    make_comparison_table,
    make_least_way_table,
    make_problem_table,
    make_recording_table,
    make_task_table,
    make_way_table,
)
from knobmenu.review.report.summary import summarize_usability
from knobmenu.review.sitting import EASE, AskedQuestion
from knobmenu.review.study import Trial
from knobmenu.session.recording import VisibleRecord
from knobmenu.session.records import Header

MOST_REPLAYS = 12
"""How many problems have a replay, the worst first."""

MOST_PICTURED = 24
"""How many trials have plots of paths and edits, those with the worst problems first."""

MOST_COMPARISONS = 200
"""How many comparisons are listed: those over all tasks, then those beyond chance."""

MOST_LISTED = 40
"""How many departures of few people, and how many answers to a free-text question, are listed."""

MOST_NOTES = 1000
"""How many notes of moderators are listed."""

OpenRecording = Callable[[str], tuple[Header, Iterator[VisibleRecord]]]
"""A function that opens the recording with a file name."""


def compose(results: Results, read: OpenRecording, progress: Callable[[int, int], None] = lambda *_: None) -> Document:
    """Compose a report.

    Args:
        results: The results of the sittings.
        read: Opens a recording again, for the replays.
        progress: Called with the number of trials drawn so far, and their total.
    """
    trials = _choose_pictured(results)
    parts: list[Part] = [*_compose_problems(results, read), *_compose_measures(results)]
    parts.append(Heading("Paths", "Where people went on the map of the menu, and how they set values."))
    if len(trials) < len(results.tasks):
        parts.append(
            Paragraph(f"{len(trials)} of {len(results.tasks)} are shown, those with the worst problems first.")
        )
    for done, trial in enumerate(trials, 1):
        parts += _compose_paths(results, trial)
        progress(done, len(trials))
    parts += (
        *_compose_variants(results),
        *_compose_answers(results),
        *_compose_notes(results),
        *_compose_recordings(results),
        *_compose_method(),
    )
    study = results.collection.setup.study
    return Document(f"{study.name}: report", results.verdict, tuple(parts))


def _choose_pictured(results: Results) -> list[Trial]:
    tried = [task.trial for task in results.tasks if task.tried]
    if len(tried) <= MOST_PICTURED:
        return tried
    ranked = [problem.trial for problem in results.problems]
    return sorted(tried, key=lambda trial: ranked.index(trial) if trial in ranked else len(ranked))[:MOST_PICTURED]


# The sections.


def _compose_problems(results: Results, read: OpenRecording) -> Iterator[Part]:
    yield Heading(
        "Problems",
        f"Places where at least {FEWEST_WHO_MEET} people left the least way in the same manner, and more people than"
        " their own habits explain (p < 0.05, adjusted). Ranked by how many failed, how many met it, and the time it"
        " cost.",
    )
    if results.common:
        yield make_problem_table(results, results.common)
    else:
        yield Paragraph("None.")
    for place, problem in enumerate(results.common[:MOST_REPLAYS], 1):
        yield from _compose_problem(results, place, problem, read)
    few = [problem for problem in results.problems if not problem.is_common]
    if few:
        yield Heading("Other departures", "They may be slips or habits of these people.")
        yield make_problem_table(results, few[:MOST_LISTED])
        if len(few) > MOST_LISTED:
            yield Paragraph(f"{len(few) - MOST_LISTED} more are not listed.")


def _compose_problem(results: Results, place: int, problem: UsabilityProblem, read: OpenRecording) -> Iterator[Part]:
    where = ", ".join(list_trial_cells(results, problem.trial))
    description = describe_problem(results.collection, problem)
    yield Heading(f"{place}. {where}: {problem.met} of {problem.tried} {description}")
    codes = [one.person.code for one in problem.occurrences]
    who = ", ".join(codes[:10]) + (f" and {len(codes) - 10} more" if len(codes) > 10 else "")
    cost = f"{format_number(problem.seconds)} s and {format_gestures(problem.gestures)} at the median"
    yield Paragraph(f"Met by {who}. It cost {cost}; {problem.failed} of them failed the task.")
    occurrence = choose_occurrence(problem)
    try:
        design = results.collection.setup.designs[problem.trial.variant]
        yield make_replay(occurrence, design, *read(occurrence.person.file))
    except RecordingError as error:
        yield Paragraph(f"No replay: {error}")


def _compose_measures(results: Results) -> Iterator[Part]:
    yield Heading("Tasks", "Means of times and gestures are geometric, over those who succeeded, with 95 % intervals.")
    yield make_task_table(results)
    yield make_least_way_table(results)
    yield Picture(
        "times", "Time on task of every attempt; the hatched range is predicted for the least way", plot_times(results)
    )
    yield Picture("gestures", "Detents and presses of every attempt against the least way", plot_gestures(results))
    yield Heading("Deviation from the least way", "Means for each attempt, with 95 % intervals.")
    yield make_way_table(results)


def _compose_paths(results: Results, trial: Trial) -> Iterator[Part]:
    collection = results.collection
    where = ", ".join(list_trial_cells(results, trial))
    name = f"{trial.variant}-{trial.task}"
    flow = find_flow(collection, trial)
    yield Picture(f"paths-{name}", f"{where}: paths of {format_count(flow.tried, 'person', 'people')}", plot_flow(flow))
    for place, (title, svg) in enumerate(plot_edits(collection, trial), 1):
        yield Picture(f"edits-{name}-{place}", f"{where}: {title}", svg)


def _compose_variants(results: Results) -> Iterator[Part]:
    if not results.comparisons:
        return
    yield Heading(
        "Variants",
        "Over the people who tried both. Differences are second minus first; times and gestures are ratios."
        " The effect is Cohen's d of the pairs; for the success of one task, it is the difference of the rates.",
    )
    # Not all may be listed: those over all tasks and those beyond chance come first.
    ranked = sorted(results.comparisons, key=lambda one: (one.task != "", not one.is_beyond_chance))
    yield make_comparison_table(results, ranked[:MOST_COMPARISONS])
    if len(ranked) > MOST_COMPARISONS:
        yield Paragraph(f"{len(ranked) - MOST_COMPARISONS} more comparisons of single tasks are not listed.")


def _compose_answers(results: Results) -> Iterator[Part]:
    collection = results.collection
    study = collection.setup.study
    scores = [
        (get_variant_name(study, variant.key), format_interval(score))
        for variant in study.variants
        if (score := summarize_usability(collection, variant.key)) is not None
    ]
    if scores:
        yield Heading(
            "Usability scale", "0 to 100, not a percentage; an average product scores about 68 (J. Brooke, 1996)."
        )
        yield Table(("variant", "score (95 %)"), tuple(scores), frozenset({1}))
    asked: dict[AskedQuestion, list[tuple[str, int | str]]] = {}
    for person in collection.people:
        for ask, answer in person.answers:
            if ask.key != EASE.key and not ask.key.startswith("usability_"):
                asked.setdefault(ask, []).append((person.code, answer))
    for ask, answers in sorted(asked.items(), key=lambda item: (item[0].about, item[0].key)):
        yield Heading(ask.text, f"about {ask.about}")
        if ask.answers:
            counts = [sum(answer == value for _, answer in answers) for value in range(1, ask.answers + 1)]
            ends = {1: ask.lowest, ask.answers: ask.highest}
            rows = tuple(
                (f"{value} {ends.get(value, '')}".strip(), str(count)) for value, count in enumerate(counts, 1)
            )
            yield Table(("answer", "people"), rows, frozenset({1}))
        else:
            yield Table(("participant", "answer"), tuple((code, str(said)) for code, said in answers[:MOST_LISTED]))


def _compose_notes(results: Results) -> Iterator[Part]:
    people = results.collection.people
    table = make_note_table(results, MOST_NOTES)
    problems = [problem for person in people for problem in person.notes.problems]
    if table is None and not problems:
        return
    yield Heading(
        "Notes",
        "The moderator's notes, with the time since the start of the sitting and, during a task, since its start."
        " A note is written some time after its subject.",
    )
    if table is not None:
        yield table
    more = sum(len(person.notes.notes) for person in people) - MOST_NOTES
    if more > 0:
        yield Paragraph(f"{more} more are not listed.")
    for problem in problems[:MOST_LISTED]:
        yield Paragraph(f"Not read: {problem}")
    if len(problems) > MOST_LISTED:
        yield Paragraph(f"{len(problems) - MOST_LISTED} more lines cannot be read.")


def _compose_recordings(results: Results) -> Iterator[Part]:
    yield Heading("Recordings", "Replay one with: knobmenu replay FILE")
    yield make_recording_table(results)


def _compose_method() -> Iterator[Part]:
    yield Heading("Method")
    rows = (
        ("success", "adjusted Wald interval (Agresti and Coull, 1998)"),
        ("time, gestures", "geometric mean, Student's interval on logarithms (Sauro, 2006)"),
        (
            "least way",
            "found by search, including fast turning; its time by the keystroke-level model",
        ),
        ("lostness", "0 for the shortest way, about 0.4 and more is visibly lost (Smith, 1996)"),
        ("long turn", f"more than {MOST_TURNS} turns of the knob in one edit before the target is reached"),
        ("variants", "Student's paired test, on logarithms for times and gestures; McNemar's exact test for one task"),
        ("several comparisons", "p adjusted by Holm's method (1979), over all tasks and for each measure of tasks"),
        ("too few people", f"fewer than {FEWEST_FOR_DIFFERENCE} people can be compared: no judgement"),
    )
    yield Table(("measure", "definition"), rows)
