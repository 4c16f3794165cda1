"""All measures as comma-separated values, one row for each attempt."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from knobmenu.review.attempts import Attempt
from knobmenu.review.report.collection import Collection, Person
from knobmenu.review.report.summary import about, usability_score
from knobmenu.review.sitting import EASE
from knobmenu.review.study import Scale

COLUMNS = (
    "participant",
    "order",
    "variant",
    "task",
    "outcome",
    "seconds",
    "predicted_seconds",
    "detents",
    "presses",
    "least_gestures",
    "extra_gestures",
    "screens",
    "wrong_screens",
    "lostness",
    "first_press_right",
    "overshoots",
    "reverts",
    "time_outs",
    "departures",
    "ease",
    "usability_score",
)
"""The columns before those of the study's own scales; ``order`` is the place of the attempt in the sitting."""


def measures_csv(collection: Collection) -> str:
    """Write every attempt with its measures; what is not known is an empty cell. Lines end as RFC 4180 asks.

    Answers in words are left out: they are in the report.
    """
    scales = [question for question in collection.setup.study.questions if isinstance(question, Scale)]
    written = io.StringIO()
    writer = csv.writer(written)
    writer.writerow((*COLUMNS, *(f"answer_{scale.key}" for scale in scales)))
    for person in collection.people:
        for place, attempt in enumerate(person.attempts, 1):
            answers = (
                person.answer(about(attempt.trial) if scale.when == "task" else attempt.trial.variant, scale.key)
                for scale in scales
            )
            writer.writerow((*map(_cell, _row(collection, person, attempt, place)), *map(_cell, answers)))
    return written.getvalue()


def _row(collection: Collection, person: Person, attempt: Attempt, place: int) -> Iterator[object]:
    trial = attempt.trial
    trail = collection.setup.trails[trial.variant, trial.task]
    yield from (person.code, place, trial.variant, trial.task, attempt.outcome, attempt.seconds)
    yield None if trail is None else trail.seconds.typical
    yield from (attempt.detents, attempt.presses)
    yield None if trail is None else trail.tally.gestures
    yield from (attempt.extra_gestures, len(attempt.screens), attempt.wrong_screens, attempt.lostness)
    yield None if attempt.first_press is None else int(attempt.first_press)
    yield from (attempt.overshoots, attempt.reverts, attempt.time_outs)
    yield " ".join(sorted({departure.kind for departure in attempt.departures}))
    yield person.answer(about(trial), EASE.key)
    yield usability_score(person, trial.variant)


def _cell(value: object) -> object:
    return "" if value is None else f"{value:.3f}" if isinstance(value, float) else value
