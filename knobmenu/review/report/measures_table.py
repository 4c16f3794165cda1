"""All measures as comma-separated values, one row for each attempt."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping

from knobmenu.review.attempts import Attempt
from knobmenu.review.report.collection import Collection, Person
from knobmenu.review.report.summary import format_about, score_person
from knobmenu.review.sitting import EASE
from knobmenu.review.study import Scale

COLUMNS: Mapping[str, str] = {
    "participant": "the code",
    "order": "the place of the attempt in the sitting, from 1",
    "variant": "the key of the variant",
    "task": "the key of the task",
    "outcome": "`done`, `gave-up` or `time-out`",
    "seconds": "time on task [s]",
    "predicted_seconds": "the prediction of the keystroke-level model for the least way [s]",
    "detents": "detents turned, in either direction",
    "presses": "presses, long presses and double presses",
    "least_gestures": "the fewest detents and presses that do the task, including fast turning",
    "extra_gestures": "detents and presses beyond those; 0 or more if the task was done",
    "screens": "screens visited, including the first",
    "wrong_screens": "those of them that the least way does not show",
    "lostness": "0 for the shortest way; from about 0.4 on, a person is visibly lost",
    "first_press_right": "1 if the first entry pressed was that of the least way, otherwise 0",
    "overshoots": "how often a value went past the one that the task requests",
    "reverts": "edits undone",
    "time_outs": "how often the device left a screen because it idled",
    "departures": "the kinds of departure from the least way, separated by spaces",
    "ease": "the answer to the single ease question, 1 to 7",
    "usability_score": "the score of the usability scale for the variant, 0 to 100",
}
"""The columns and their contents, before those of the study's own scales."""


def write_measures_csv(collection: Collection) -> str:
    """Format every attempt with its measures as comma-separated values, with the line ends of RFC 4180.

    Unknown measures are empty cells. Answers to free-text questions are only in the report.
    """
    scales = [question for question in collection.setup.study.questions if isinstance(question, Scale)]
    written = io.StringIO()
    writer = csv.writer(written)
    writer.writerow((*COLUMNS, *(f"answer_{scale.key}" for scale in scales)))
    for person in collection.people:
        for place, attempt in enumerate(person.attempts, 1):
            answers = (
                person.find_answer(
                    format_about(attempt.trial) if scale.when == "task" else attempt.trial.variant, scale.key
                )
                for scale in scales
            )
            writer.writerow(
                (*map(_format_cell, _walk_cells(collection, person, attempt, place)), *map(_format_cell, answers))
            )
    return written.getvalue()


def _walk_cells(collection: Collection, person: Person, attempt: Attempt, place: int) -> Iterator[object]:
    trial = attempt.trial
    trail = collection.setup.trails[trial.variant, trial.task]
    yield from (person.code, place, trial.variant, trial.task, attempt.outcome, attempt.seconds)
    yield None if trail is None else trail.seconds.typical
    yield from (attempt.detents, attempt.presses)
    yield None if trail is None else trail.gestures
    yield from (attempt.extra_gestures, len(attempt.screens), attempt.wrong_screens, attempt.lostness)
    yield None if attempt.first_press is None else int(attempt.first_press)
    yield from (attempt.overshoots, attempt.reverts, attempt.time_outs)
    yield " ".join(sorted({departure.kind for departure in attempt.departures}))
    yield person.find_answer(format_about(trial), EASE.key)
    yield score_person(person, trial.variant)


def _format_cell(value: object) -> object:
    return "" if value is None else f"{value:.3f}" if isinstance(value, float) else value
