"""The moderators' notes in a report, each with its task and time."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from itertools import islice

import attrs

from knobmenu.review.report.collection import Person
from knobmenu.review.report.results import Results, Table, list_trial_cells, list_trial_columns
from knobmenu.review.study import Trial
from knobmenu.review.walk import format_begin_mark
from knobmenu.session.moderator import ModeratorNote
from knobmenu.session.playback import format_clock


@attrs.frozen
class PlacedNote:
    """A note, and its place in the sitting."""

    note: ModeratorNote
    trial: Trial | None
    """The last trial that had begun; None before the first."""
    since_ms: int | None
    """Time since the start of that trial; None if it had ended. [ms]"""


def place_notes(person: Person) -> Iterator[PlacedNote]:
    """Walk the notes on a person's sitting, in order of time.

    The time of a trial that began again after an interruption counts from its last start before the note.
    """
    trials = {format_begin_mark(trial): trial for trial in person.trials}
    times: list[int] = []
    """The times at which a trial began or ended. [ms]"""
    states: list[tuple[Trial | None, int | None]] = []
    """For each time, the last trial that had begun, and its start, or None if it had ended. [ms]"""
    for real_ms, name in person.marks:
        if name in trials:
            states.append((trials[name], real_ms))
        elif name.startswith("end ") and states:
            states.append((states[-1][0], None))
        else:
            continue
        times.append(max(real_ms, times[-1]) if times else real_ms)
    for note in person.notes.notes:
        place = bisect_right(times, note.real_ms) - 1
        trial, begun_ms = states[place] if place >= 0 else (None, None)
        yield PlacedNote(note, trial, None if begun_ms is None else note.real_ms - begun_ms)


def make_note_table(results: Results, most: int) -> Table | None:
    """Make the table of the first notes, by participant; None without a note.

    Args:
        results: The results of the sittings.
        most: The largest number of notes.
    """
    placed = ((person, one) for person in results.collection.people for one in place_notes(person))
    rows = tuple(_make_row(results, person, one) for person, one in islice(placed, most))
    columns = ("participant", "time", *list_trial_columns(results), "in the task", "note")
    return Table(columns, rows, frozenset({1, len(columns) - 2})) if rows else None


def _make_row(results: Results, person: Person, placed: PlacedNote) -> tuple[str, ...]:
    if placed.trial is None:
        where: tuple[str, ...] = ("before the first", *[""] * (len(list_trial_columns(results)) - 1))
    else:
        task, *variant = list_trial_cells(results, placed.trial)
        where = (task if placed.since_ms is not None else f"after {task}", *variant)
    since = "" if placed.since_ms is None else format_clock(placed.since_ms)
    return (person.code, format_clock(placed.note.real_ms), *where, since, placed.note.text)
