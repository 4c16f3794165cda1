"""The replay of a problem shows the attempt in which somebody met it, and ends with it."""

from __future__ import annotations

import shlex
from collections.abc import Iterator

import pytest

from knobmenu.review.report.collection import Collection, read_person
from knobmenu.review.report.problems import Occurrence
from knobmenu.review.report.replays import AFTER_MS, Replay, choose_occurrence, format_replay_command, make_replay
from knobmenu.review.report.results import compute_results
from knobmenu.review.walk import format_begin_mark, format_end_mark
from knobmenu.screen.cells import Screen
from knobmenu.session.playback import Frame, select_frames_from, select_frames_until, walk_frames
from knobmenu.session.recording import VisibleRecord, decode_visible, encode
from tests.review.participants import Participant, astray, code_of, sit
from tests.review.planted import planted_study
from tests.review.readers import exact, hesitant, lost

SETUP = planted_study("hidden")
WHO: tuple[Participant, ...] = (exact, hesitant, lost, astray)
SITTINGS = {f"{code_of(number)}.jsonl": sit(SETUP, who, number, number) for number, who in enumerate(WHO)}
LINES = {file: [encode(header), *map(encode, records)] for file, (header, records) in SITTINGS.items()}
PEOPLE = tuple(read_person(SETUP, file, header, records) for file, (header, records) in SITTINGS.items())
OCCURRENCES = [choose_occurrence(problem) for problem in compute_results(Collection(SETUP, PEOPLE)).problems]


def attempt_of(occurrence: Occurrence) -> tuple[Frame, ...]:
    attempt = occurrence.attempt
    every = list(walk_frames(*decode_visible(LINES[occurrence.person.file])))
    return select_frames_until(
        select_frames_from(every, format_begin_mark(attempt.trial)), format_end_mark(attempt.outcome)
    )


def later(shown: Iterator[VisibleRecord], occurrence: Occurrence, by_ms: int) -> Iterator[VisibleRecord]:
    """Walk what a recording shows, with another screen so much later than the end of an attempt."""
    end, begun = format_end_mark(occurrence.attempt.outcome), False
    for one in shown:
        yield one
        begun = begun or one.plain.get("name") == format_begin_mark(occurrence.attempt.trial)
        if begun and one.plain.get("name") == end:
            begun = False
            (screen,) = next(frame.screens for frame in attempt_of(occurrence))
            rows = tuple("LATER" + row[5:] for row in screen.rows)
            yield one._replace(real_ms=one.real_ms + by_ms, kind="go", screens=(Screen(rows),))


def replay_of(occurrence: Occurrence, by_ms: int) -> Replay:
    header, shown = decode_visible(LINES[occurrence.person.file])
    design = SETUP.designs[occurrence.attempt.trial.variant]
    return make_replay(occurrence, design, header, later(shown, occurrence, by_ms))


def test_both_kinds_of_end_are_met() -> None:
    assert {occurrence.attempt.outcome for occurrence in OCCURRENCES} >= {"done", "gave-up"}


@pytest.mark.parametrize("by_ms", [0, 1, AFTER_MS])
def test_a_picture_shows_nothing_that_follows_the_attempt(by_ms: int) -> None:
    for occurrence in OCCURRENCES:
        assert "LATER" not in replay_of(occurrence, by_ms).picture


def test_a_command_ends_with_the_attempt() -> None:
    for occurrence in OCCURRENCES:
        words = shlex.split(format_replay_command(occurrence))
        attempt = occurrence.attempt
        played = attempt_of(occurrence)

        marks = ["--from", format_begin_mark(attempt.trial), "--until", format_end_mark(attempt.outcome)]
        assert words[2:] == [occurrence.person.file, *marks]
        assert played[-1].real_ms >= attempt.lasted_ms
        assert [frame.shown.plain["name"] for frame in played if frame.shown.kind == "mark"] == [words[4], words[6]]


def test_an_attempt_that_began_again_ends_at_the_end_of_the_last() -> None:
    """A sitting that was killed puts its task again; the first begin has no end."""
    occurrence = OCCURRENCES[0]
    attempt = occurrence.attempt
    every = list(walk_frames(*decode_visible(LINES[occurrence.person.file])))
    place = next(
        at for at, frame in enumerate(every) if frame.shown.plain.get("name") == format_begin_mark(attempt.trial)
    )
    twice = [*every[: place + 3], *every[place:]]

    assert select_frames_until(
        select_frames_from(twice, format_begin_mark(attempt.trial)), format_end_mark(attempt.outcome)
    ) == attempt_of(occurrence)
