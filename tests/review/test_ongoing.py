"""A sitting goes through its stages as the participant finishes them, and continues from any point of its recording."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path
from random import Random

import pytest

from knobmenu.cli.sittings import find_free_code, find_free_number, format_overview, open_sitting
from knobmenu.errors import RecordingError
from knobmenu.files import save
from knobmenu.files.recordings import read_recording
from knobmenu.files.sittings import get_sitting_path, list_sittings
from knobmenu.files.studies import load_study
from knobmenu.review.attempts import read_attempts
from knobmenu.review.ongoing import SETTLE_MS, OngoingSitting, begin_sitting
from knobmenu.review.sitting import Consent, Practice, resume
from knobmenu.review.study import Trial, list_trials
from knobmenu.review.study_form import Setup, read_study
from knobmenu.session.recorder import Recorder
from knobmenu.session.records import EventRecord, Header, MarkRecord, Record
from tests.review.designs import clean
from tests.review.participants import astray, least, sit_on_disk, take_part
from tests.review.studies import volume_and_light

STUDY = (
    """\
format = 1
name = "Amplifier"
consent = "Your turns and presses are recorded under a code."
practice_s = 20
variants = { one = "one.toml", two = "two.toml" }

"""
    + volume_and_light(volume=9, give_up_s=30)
    + """
[questions.why]
kind = "text"
text = "Why?"
when = "task"
"""
)


@pytest.fixture
def study(tmp_path: Path) -> Path:
    for name in ("one", "two"):
        save(clean(), tmp_path / f"{name}.toml")
    path = tmp_path / "amplifier.toml"
    path.write_text(STUDY)
    return path


@pytest.fixture
def setup(study: Path) -> Setup:
    return load_study(study, read_study)


def at_task(setup: Setup, task: str = "louder") -> tuple[OngoingSitting, list[Header | Record]]:
    """Begin a sitting, and go to its first task at 10 000 ms; it must be the named one."""
    written: list[Header | Record] = []
    ongoing = begin_sitting(setup, "p01", 0, Recorder(written.append, 0), 0)
    ongoing.agree(1000)
    ongoing.put_device(2000)
    ongoing.end_practice(9000)
    ongoing.put_device(10_000)
    assert ongoing.task is not None
    assert ongoing.task.key == task
    return ongoing, written


def to_volume(ongoing: OngoingSitting, value: int) -> int:
    """Open the volume of the menu and turn it from 9 to a value; return the time after that."""
    session = ongoing.session
    session.click(10_100)
    session.click(10_400)
    for number in range(value - 9):
        session.turn(1, 10_700 + 200 * number)
    return 10_700 + 200 * (value - 9)


def test_a_task_is_done_once_its_condition_has_held_for_a_moment(setup: Setup) -> None:
    ongoing, written = at_task(setup)
    at_ms = to_volume(ongoing, 12)
    ongoing.pass_time(at_ms)
    assert ongoing.task is not None, "a draft is no value yet"
    ongoing.session.click(at_ms)
    ongoing.pass_time(at_ms + 100)
    due = ongoing.find_due_ms()
    assert due is not None
    assert due <= at_ms + 100 + SETTLE_MS
    assert isinstance(written[-1], EventRecord), "not yet"

    ongoing.pass_time(at_ms + 100 + SETTLE_MS)

    assert not ongoing.has_device
    assert not isinstance(ongoing.stage, Trial)
    mark = written[-1]
    assert isinstance(mark, MarkRecord)
    assert (mark.name, mark.real_ms) == ("end done", at_ms + 100), "the moment's wait does not count"


def test_a_value_that_is_only_passed_is_not_done(setup: Setup) -> None:
    ongoing, _ = at_task(setup)
    at_ms = to_volume(ongoing, 12)
    ongoing.session.click(at_ms)
    ongoing.pass_time(at_ms + 100)
    for number in range(5):
        at_ms += SETTLE_MS - 100
        ongoing.session.turn(1 if number % 2 else -1, at_ms)
        ongoing.pass_time(at_ms)

    assert ongoing.has_device


def test_a_task_ends_when_its_time_is_over(setup: Setup) -> None:
    ongoing, written = at_task(setup)
    while (due := ongoing.find_due_ms()) is not None:
        ongoing.pass_time(due)

    mark = written[-1]
    assert isinstance(mark, MarkRecord)
    assert (mark.name, mark.real_ms) == ("end time-out", 40_000)


def test_practice_ends_when_its_time_is_over(setup: Setup) -> None:
    ongoing = begin_sitting(setup, "p01", 0, Recorder(lambda record: None, 0), 0)
    ongoing.agree(0)
    assert isinstance(ongoing.stage, Practice)
    ongoing.put_device(1000)
    ongoing.pass_time(20_999)
    assert ongoing.has_device
    ongoing.pass_time(21_000)

    assert isinstance(ongoing.stage, Trial)


def test_a_task_can_be_given_up(setup: Setup) -> None:
    ongoing, written = at_task(setup)
    ongoing.give_up(12_000)

    assert isinstance(written[-1], MarkRecord)
    assert written[-1].name == "end gave-up"
    assert not ongoing.has_device


def test_a_knob_that_is_held_at_the_end_of_a_task_is_released_in_the_next(setup: Setup) -> None:
    ongoing, _ = at_task(setup)
    ongoing.session.press("sticky", 11_000)
    ongoing.give_up(12_000)
    while not isinstance(ongoing.stage, Trial):
        ongoing.answer(1 if getattr(ongoing.stage, "answers", 0) else "", 13_000)
    ongoing.put_device(20_000)

    assert not ongoing.session.hand.down
    assert ongoing.session.at_ms == 0


def test_a_sitting_on_disk_goes_through_all_steps_in_the_order_of_its_number(study: Path, setup: Setup) -> None:
    for number in range(4):
        header, records = read_recording(sit_on_disk(study, least, number))
        kept = list(records)
        marks = [record.name for record in kept if isinstance(record, MarkRecord)]
        sitting = resume(setup.study, marks)
        assert sitting.stage is None
        assert (sitting.code, sitting.number) == (f"p{number + 1:02}", number)
        attempts = list(read_attempts(setup, header, kept))
        assert [attempt.trial for attempt in attempts] == list(list_trials(setup.study, number))
        assert all(attempt.succeeded for attempt in attempts)


def test_a_sitting_continues_wherever_its_file_was_cut(study: Path, setup: Setup) -> None:
    whole = sit_on_disk(study, astray, 0).read_bytes()
    path = get_sitting_path(study, "p01")
    random = Random(7)
    cuts = [0, 1, whole.index(b"\n"), whole.index(b"\n") + 1, len(whole) - 1]
    for cut in [*cuts, *(random.randrange(len(whole)) for _ in range(20))]:
        path.write_bytes(whole[:cut])
        kept = whole[: whole.rfind(b"\n", 0, cut) + 1]

        opened = open_sitting(setup, study, "p01", 5_000_000)
        with opened.file:
            if cut > whole.index(b"\n"):
                before = resume(setup.study, _marks(kept)) if _marks(kept) else None
                assert opened.ongoing.sitting.finished == (before.finished if before else 0)
            take_part(opened.ongoing, least, Random(1), 5_000_000)
        continued = path.read_bytes()
        assert continued.startswith(kept), "what was written whole stays as it is"
        header, records = read_recording(path)
        attempts = list(read_attempts(setup, header, records))
        assert [attempt.trial for attempt in attempts] == list(list_trials(setup.study, 0))
        assert format_overview(setup.study, tuple(list_sittings(study)))[1].endswith("over")


def _marks(content: bytes) -> list[str]:
    lines = map(json.loads, content.splitlines())
    return [line["name"] for line in lines if line["kind"] == "mark"]


def test_a_sitting_that_is_run_elsewhere_is_refused(study: Path, setup: Setup) -> None:
    with open_sitting(setup, study, "p01", 0).file:
        with pytest.raises(RecordingError, match=r"p01\.jsonl: expected a file that no other process"):
            open_sitting(setup, study, "p01", 0)
        assert "in progress, 0 of 4 tasks done" in format_overview(setup.study, tuple(list_sittings(study)))[1]

    with open_sitting(setup, study, "p01", 0).file as file:
        assert file.path.exists()


def test_a_sitting_that_is_over_is_refused_and_left_as_it_is(study: Path, setup: Setup) -> None:
    path = sit_on_disk(study, least, 0)
    before = path.read_bytes()

    with pytest.raises(RecordingError, match=r"got one that is over\. Choose another code\."):
        open_sitting(setup, study, "p01", 0)

    assert path.read_bytes() == before


def test_a_newer_format_is_refused_and_left_as_it_is(study: Path, setup: Setup) -> None:
    path = sit_on_disk(study, least, 0)
    newer = path.read_bytes().replace(b'"format":1', b'"format":2', 1) + b'{"cut'
    path.write_bytes(newer)

    with pytest.raises(RecordingError, match=r"p01\.jsonl:1: format: expected 1, got 2\."):
        open_sitting(setup, study, "p01", 0)

    assert path.read_bytes() == newer


def test_a_sitting_of_another_study_is_refused(study: Path, setup: Setup) -> None:
    sit_on_disk(study, least, 0)
    study.write_text(STUDY.replace("tasks.dark", "tasks.off"))
    other = load_study(study, read_study)

    with pytest.raises(RecordingError, match=r"p01\.jsonl: mark \d+: expected .* Is it a sitting of another study\?"):
        open_sitting(other, study, "p01", 0)


def test_each_participant_gets_the_lowest_number_that_is_free(study: Path, setup: Setup) -> None:
    for code in ("p01", "own", "other"):
        open_sitting(setup, study, code, 0).file.close()
    numbers = {one.code: resume(setup.study, one.marks).number for one in list_sittings(study)}
    assert numbers == {"p01": 0, "own": 1, "other": 2}

    get_sitting_path(study, "own").unlink()
    get_sitting_path(study, "p02").write_bytes(b"")
    get_sitting_path(study, "p04").write_bytes(b"not a recording\n")
    assert find_free_number(study) == 1
    assert find_free_code(study) == "p03"


def test_what_does_not_come_next_is_refused(setup: Setup) -> None:
    ongoing = begin_sitting(setup, "p01", 0, Recorder(lambda record: None, 0), 0)
    for too_early in (ongoing.put_device, ongoing.end_practice, ongoing.give_up, partial(ongoing.answer, 1)):
        with pytest.raises(RecordingError, match="expected"):
            too_early(1000)
    assert isinstance(ongoing.stage, Consent)
    ongoing.agree(1000)
    with pytest.raises(RecordingError, match="expected"):
        ongoing.agree(2000)
    assert isinstance(ongoing.stage, Practice)
