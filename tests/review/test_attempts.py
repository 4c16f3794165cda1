"""Attempts count what a participant did: each simulated participant makes one kind of mistake, which alone shows."""

from __future__ import annotations

import math

import pytest

from knobmenu.analysis.cost.routes import Route
from knobmenu.errors import RecordingError
from knobmenu.machine.state import make_initial_state
from knobmenu.review.attempts import Attempt, read_attempts
from knobmenu.review.study import Trial
from knobmenu.review.study_form import Setup, prepare_design, read_study
from knobmenu.session.recording import decode, decode_events, encode
from knobmenu.session.records import EventRecord, GoRecord, MarkRecord, Record
from tests.review.designs import clean
from tests.review.participants import Participant, astray, least, one_too_far, pausing, sit

PLAIN = {
    "name": "Amplifier",
    "order": "fixed",
    "variants": {"only": "clean.toml"},
    "tasks": {
        "louder": {"text": "Set the volume to 12.", "start": {"volume": 3}, "done": {"equal": ["volume", 12]}},
        "dark": {"text": "Switch it off.", "start": {"light": True}, "done": {"equal": ["light", False]}},
        "treble": {"text": "Set the treble to 2.", "done": {"equal": ["treble", 2]}},
    },
}


@pytest.fixture(scope="module")
def setup() -> Setup:
    return read_study(PLAIN, lambda file: clean())


def attempts(setup: Setup, participant: Participant, seed: int = 1) -> dict[str, Attempt]:
    return {one.trial.task: one for one in read_attempts(setup, *sit(setup, participant, 0, seed))}


def least_route(setup: Setup, task: str) -> Route:
    route = setup.least["only", task]
    assert route is not None
    return route


def test_the_staged_design_starts_where_the_task_does(setup: Setup) -> None:
    for task in setup.study.tasks:
        prepared = prepare_design(setup.designs["only"], task)
        assert make_initial_state(prepared) == setup.starts["only", task.key]


@pytest.mark.parametrize("participant", [least, pausing])
def test_who_does_the_least_shows_no_mistake(setup: Setup, participant: Participant) -> None:
    found = attempts(setup, participant)

    assert list(found) == ["louder", "dark", "treble"]
    for task, attempt in found.items():
        tally = least_route(setup, task).tally
        assert (attempt.detents, attempt.presses) == (tally.detents, tally.presses + tally.holds)
        assert attempt.succeeded
        assert attempt.extra_gestures == attempt.wrong_screens == attempt.overshoots == attempt.reverts == 0
        assert attempt.time_outs == 0
        assert attempt.first_press is True


def test_the_shortest_way_there_without_a_way_back_is_not_lost(setup: Setup) -> None:
    """N = S = R gives 0; a way that returns through a list visits it twice, which Smith's S counts."""
    for attempt in attempts(setup, least).values():
        total, different = len(attempt.screens), len(set(attempt.screens))
        assert attempt.lostness == pytest.approx(abs(different / total - 1))


def test_who_hesitates_takes_longer(setup: Setup) -> None:
    quick, slow = attempts(setup, least), attempts(setup, pausing)

    for task in quick:
        assert slow[task].lasted_ms >= quick[task].lasted_ms + 800 * 2


def test_who_overshoots_shows_overshoots_alone(setup: Setup) -> None:
    found = attempts(setup, one_too_far)

    for task, overshoots in (("louder", 1), ("dark", 0), ("treble", 1)):
        attempt = found[task]
        assert attempt.succeeded
        assert attempt.overshoots == overshoots
        assert attempt.extra_gestures == 2 * overshoots
        assert attempt.wrong_screens == attempt.reverts == 0


def test_who_is_lost_shows_the_wrong_entry_and_lostness(setup: Setup) -> None:
    straight, found = attempts(setup, least), attempts(setup, astray)

    for task in ("louder", "dark"):
        attempt = found[task]
        assert attempt.succeeded
        assert attempt.first_press is False
        assert attempt.wrong_screens is not None
        assert attempt.wrong_screens >= 1
        assert attempt.lostness is not None
        assert attempt.lostness > (straight[task].lostness or 0)
    different, total = len(set(found["louder"].screens)), len(found["louder"].screens)
    fewest = len(set(straight["louder"].screens))
    assert found["louder"].lostness == pytest.approx(math.hypot(different / total - 1, fewest / different - 1))


def test_attempts_are_the_same_from_the_lines_of_a_file(setup: Setup) -> None:
    header, records = sit(setup, one_too_far, 0)
    lines = [encode(header), *map(encode, records)]

    assert list(read_attempts(setup, *decode(lines))) == list(read_attempts(setup, header, records))
    assert list(read_attempts(setup, *decode_events(lines))) == list(read_attempts(setup, header, records))


def test_every_cut_of_a_recording_keeps_the_attempts_that_ended(setup: Setup) -> None:
    header, records = sit(setup, least, 0)
    whole = list(read_attempts(setup, header, records))
    text = "".join([encode(header), *map(encode, records)])
    ends = [
        index
        for index, record in enumerate(records, 1)
        if isinstance(record, MarkRecord) and record.name.startswith("end ")
    ]

    for cut in range(len(encode(header)), len(text), 97):
        kept = text[:cut].splitlines(keepends=True)
        finished = sum(end < sum(line.endswith("\n") for line in kept) for end in ends)
        assert list(read_attempts(setup, *decode(kept)))[:finished] == whole[:finished]


def test_the_same_seed_gives_the_same_recording(setup: Setup) -> None:
    assert sit(setup, pausing, 0, seed=7) == sit(setup, pausing, 0, seed=7)


@pytest.mark.parametrize(
    ("records", "said"),
    [
        (
            [MarkRecord(5, 0, "begin only nothing"), MarkRecord(6, 0, "end done")],
            "expected a variant and a task of this study, got 'only nothing'",
        ),
        ([MarkRecord(5, 0, "begin nothing")], "expected a variant and a task, got 'nothing'"),
        ([EventRecord(5, 1, (None, None), (), ())], "expected one variant, got 2"),
        ([GoRecord(5, 0, (None,))], "a sitting does not go back"),
    ],
)
def test_records_that_are_not_of_this_study_are_refused(setup: Setup, records: list[Record], said: str) -> None:
    header, _ = sit(setup, least, 0)

    with pytest.raises(RecordingError, match=said):
        list(read_attempts(setup, header, records))


def test_an_outcome_that_is_unknown_is_refused(setup: Setup) -> None:
    header, records = sit(setup, least, 0)
    begin = next(record for record in records if isinstance(record, MarkRecord) and record.name.startswith("begin "))

    with pytest.raises(RecordingError, match="expected an outcome, got 'won'"):
        list(read_attempts(setup, header, [begin, MarkRecord(9, 0, "end won")]))


def test_trials_carry_their_variant(setup: Setup) -> None:
    assert attempts(setup, least)["dark"].trial == Trial("only", "dark")
