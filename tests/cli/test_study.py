"""`knobmenu study` in a real terminal: sittings that are killed, that meet a full disk, or that are run twice."""

from __future__ import annotations

import contextlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from knobmenu.cli.main import main
from knobmenu.cli.sittings import list_interrupted, open_sitting
from knobmenu.errors import RecordingError
from knobmenu.events import Turn
from knobmenu.files.recordings import RecordingFile, begin_recording, read_recording
from knobmenu.files.sittings import (
    get_notes_path,
    get_sitting_path,
    get_sittings_folder,
    list_sitting_paths,
    list_sittings,
)
from knobmenu.files.studies import load_study
from knobmenu.review.attempts import read_attempts
from knobmenu.review.sitting import resume
from knobmenu.review.study import list_trials
from knobmenu.review.study_form import Setup, read_study
from knobmenu.session.records import MarkRecord
from knobmenu.session.timeline import Timeline
from tests.cli.participant import ESCAPE, begin_first_task
from tests.disks import fill, mount_small_disk
from tests.review.participants import least, sit_on_disk, take_part
from tests.sampling import sampled
from tests.terminal.pty_harness import KNOBMENU, Terminal, environment

DEMOS = Path(__file__).parents[2] / "demos" / "study"

RIGHT = "\x1b[C"

KILLS = sampled(200, 10)
"""How often sittings are killed."""


def copy_study(folder: Path) -> Path:
    for path in DEMOS.glob("*.toml"):
        shutil.copy(path, folder)
    return folder / "study.toml"


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return copy_study(tmp_path)


@pytest.fixture
def setup(study: Path) -> Setup:
    return load_study(study, read_study)


def sitting_of(study: Path, code: str) -> Terminal:
    return Terminal((*KNOBMENU, "study", str(study), "--participant", code))


def marks_of(path: Path) -> list[str]:
    return [record.name for record in read_recording(path)[1] if isinstance(record, MarkRecord)]


def whole_lines(content: bytes) -> bytes:
    return content[: content.rfind(b"\n") + 1]


# Killed.


def behave(terminal: Terminal, chance: random.Random, until: float) -> None:
    """Do something with every page and every task, quickly and without sense, until a time."""
    while time.monotonic() < until and terminal.process.poll() is None:
        terminal.type(chance.choice((" ", " ", RIGHT, RIGHT, "\r", "2", "4", "\x1b[D", "l", "h")))
        terminal.pump(chance.uniform(0.01, 0.08))
        if chance.random() < 0.1:
            terminal.type(ESCAPE)
            terminal.settle(0.15, timeout=1)
            terminal.type("2")
            terminal.settle(0.3, timeout=1)
            terminal.type(" ")


def test_a_sitting_that_is_killed_at_any_moment_keeps_every_line_and_resumes(study: Path, setup: Setup) -> None:
    """Goal of the issue: at 200 random moments, nothing that was flushed is lost, and the sitting resumes."""
    chance = random.Random(11)
    participant, finished = 1, 0
    for _ in range(KILLS):
        code = f"p{participant:02}"
        path = get_sitting_path(study, code)
        before = path.read_bytes() if path.exists() else b""
        with sitting_of(study, code) as terminal:
            while not path.exists():
                assert terminal.process.poll() is None, terminal.text
                terminal.pump(0.02)
            behave(terminal, chance, time.monotonic() + chance.uniform(0.0, 5.0))
            flushed = path.read_bytes()
            if terminal.process.poll() is None:
                os.killpg(terminal.process.pid, signal.SIGKILL)
                terminal.process.wait()
        left = path.read_bytes()
        assert left.startswith(whole_lines(before)), "what was there before stays"
        assert left.startswith(flushed), "what was flushed stays"
        resumed = None
        with contextlib.suppress(RecordingError):
            resumed = open_sitting(setup, study, code, 0)
        if resumed is None:
            sitting = resume(setup.study, marks_of(path))
            assert sitting.stage is None, "only a sitting that is over is refused"
            participant, finished = participant + 1, 0
            continue
        resumed.close()
        assert path.read_bytes().startswith(whole_lines(left))
        assert resumed.ongoing.sitting.finished >= finished, "no finished stage is lost"
        finished = resumed.ongoing.sitting.finished

    for one in list_sittings(study):
        with contextlib.suppress(RecordingError):  # that is over
            opened = open_sitting(setup, study, one.code, 0)
            with opened.file:
                take_part(opened.ongoing, least, random.Random(1), 0)
        attempts = list(read_attempts(setup, *read_recording(one.path)))
        number = resume(setup.study, marks_of(one.path)).number
        assert [attempt.trial for attempt in attempts] == list(list_trials(setup.study, number))


def test_a_terminal_that_is_closed_leaves_a_sitting_that_resumes(study: Path) -> None:
    with sitting_of(study, "p01") as terminal:
        begin_first_task(terminal)
        process = terminal.close()
        process.wait(30)
    assert marks_of(get_sitting_path(study, "p01"))[-1] == "begin a wake"

    with sitting_of(study, "p01") as terminal:
        terminal.wait_for("Task 1 of 8", timeout=30)


# A full disk.


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    with mount_small_disk(tmp_path / "disk", 256) as disk:
        yield disk


@pytest.mark.skipif(sys.platform != "linux", reason="a small disk is a tmpfs")
def test_on_a_full_disk_the_sitting_pauses_and_goes_on_once_there_is_room(small_disk: Path) -> None:
    study = copy_study(small_disk)
    path = get_sitting_path(study, "p01")
    with sitting_of(study, "p01") as terminal:
        begin_first_task(terminal)
        filler = fill(small_disk)
        terminal.type_until(RIGHT, "Paused")
        # The page may come in parts; a long path wraps the message.
        terminal.wait_for(lambda text: "nospaceleftondevice" in "".join(text.split()))
        kept = path.read_bytes()
        assert kept.endswith(b"\n"), "only whole lines"
        assert marks_of(path)[-1] == "begin a wake"

        terminal.type_until(" ", "Task 1 of 8")
        terminal.type_until(" ", "Paused")
        filler.unlink()
        terminal.type_until(" ", "Task 1 of 8")
        terminal.type_until(" ", "give up")
        terminal.type_until(ESCAPE, "Give up this task")
        terminal.type("2")
        terminal.type_until(" ", "how easy or difficult")

    assert path.read_bytes().startswith(kept)
    assert marks_of(path)[-2:] == ["begin a wake", "end gave-up"]


# Twice, and beside the point.


def test_a_second_terminal_with_the_same_participant_is_refused(study: Path) -> None:
    with sitting_of(study, "p01") as terminal:
        terminal.wait_for("I agree", timeout=30)
        with sitting_of(study, "p01") as second:
            second.wait_for(lambda text: "gotonethatisbeingwritten" in "".join(text.split()), timeout=30)
            assert second.wait(30) == 1
        terminal.type_until(" ", "First try the knob")


def test_the_moderator_follows_in_a_second_terminal_and_writes_notes(study: Path) -> None:
    path = get_sitting_path(study, "p01")
    with sitting_of(study, "p01") as terminal:
        begin_first_task(terminal)
        with Terminal((*KNOBMENU, "watch", str(path))) as moderator:
            moderator.wait_for("task: begin a wake", timeout=30)
            clock = moderator.text.split()[0]
            moderator.wait_for(lambda text: text.split()[0] != clock, timeout=30)
            moderator.type("frowns at é\x7fe menu")
            terminal.type(" ")
            moderator.wait_for("Colour", timeout=30)
            moderator.type_and_wait("\r", "noted: frowns at e menu", timeout=30)
            moderator.type("\x03")
            assert moderator.wait(30) == 130
        note = json.loads(get_notes_path(path).read_text())

    assert note["text"] == "frowns at e menu"
    assert note["real_ms"] >= max(
        record.real_ms for record in read_recording(path)[1] if isinstance(record, MarkRecord)
    )
    assert list(list_sitting_paths(study)) == ["p01"]


def test_the_moderator_is_asked_for_a_code_and_may_take_the_one_offered(study: Path) -> None:
    sit_on_disk(study, least, 0)
    with Terminal((*KNOBMENU, "study", str(study))) as terminal:
        terminal.wait_for("Enter takes p02", timeout=30)
        terminal.type_and_wait("\r", "I agree", timeout=30)

    assert get_sitting_path(study, "p02").exists()


@pytest.mark.parametrize("records", [None, 0, 1])
def test_a_sitting_killed_before_its_first_mark_is_offered_and_continues(
    study: Path, setup: Setup, capsys: pytest.CaptureFixture[str], records: int | None
) -> None:
    """Its file is empty, or has the header, or also the power-on of the device."""
    path = get_sitting_path(study, "p01")
    open_sitting(setup, study, "p01", 0).close()
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"" if records is None else b"".join(lines[: 1 + records]) + b'{"cut')
    assert [record for record in lines if b'"participant p01 0"' in record] == [lines[2]], "the first mark is cut off"

    assert main(["study", str(study), "--list"]) == 0
    assert capsys.readouterr().out.splitlines()[1].endswith("interrupted, 0 of 8 tasks done")
    with Terminal((*KNOBMENU, "study", str(study))) as terminal:
        terminal.wait_for("Interrupted, continued by the same code: p01.", timeout=30)
        terminal.type_and_wait("p01\r", "I agree", timeout=30)
        assert main(["study", str(study), "--list"]) == 0
        assert capsys.readouterr().out.splitlines()[1].endswith("in progress, 0 of 8 tasks done")

    assert marks_of(path) == ["participant p01 0"]


def test_other_files_are_not_offered_as_sittings(study: Path, setup: Setup) -> None:
    """An empty file that has no code for a name, and a recording of something else than a sitting."""
    open_sitting(setup, study, "p01", 0).close()
    path = get_sitting_path(study, "p01")
    header, power_on, _ = path.read_bytes().splitlines(keepends=True)
    with RecordingFile(get_sitting_path(study, "p02")) as file:
        Timeline([setup.designs["a"]], begin_recording(file, 0)).follow([Turn(0, 1)], 0)
    get_sitting_path(study, "Ann Other").write_bytes(b"")
    path.write_bytes(header + power_on)

    assert list_interrupted(setup.study, study) == ("p01",)
    before = get_sitting_path(study, "p02").read_bytes()
    with pytest.raises(RecordingError, match=r"p02\.jsonl: mark 1: expected the participant's code and number"):
        open_sitting(setup, study, "p02", 0)
    assert get_sitting_path(study, "p02").read_bytes() == before


@pytest.mark.parametrize("code", ["Ann Other", "P7", "../p7", ""])
def test_a_name_is_refused_as_a_code(study: Path, code: str) -> None:
    with sitting_of(study, code or " ") as terminal:
        terminal.wait_for("Use a code, not a name", timeout=30)
        assert terminal.wait(30) == 1
    assert not get_sittings_folder(study).exists()


def test_without_a_terminal_no_sitting_begins(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    done = subprocess.run(
        [*KNOBMENU, "study", str(study)],
        env=environment(),
        input="",
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )

    assert done.returncode == 1
    assert "expected a terminal for the participant" in done.stderr
    assert "Traceback" not in done.stderr


def test_sittings_are_listed(study: Path, setup: Setup, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["study", str(study), "--list"]) == 0
    assert "no sittings yet" in capsys.readouterr().out

    sit_on_disk(study, least, 0)
    open_sitting(setup, study, "p02", 0).close()
    get_sitting_path(study, "p03").write_bytes(b"not a recording\n")
    assert main(["study", str(study), "--list"]) == 0
    title, first, second, third = capsys.readouterr().out.splitlines()

    assert title == "Bedside lamp, two menus: 3 sittings"
    assert first.split()[0] == "p01"
    assert first.endswith("over")
    assert second.endswith("interrupted, 0 of 8 tasks done")
    assert "p03.jsonl:1: expected the header of a recording" in third


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('["sleep", 20]', '["sleep", 61]', "study.toml:28: tasks.sleep.done: an impossible task"),
        ("lamp-b.toml", "lamp-c.toml", "variants.b.design"),
    ],
)
def test_a_study_that_cannot_be_run_is_refused_with_its_line(
    study: Path, capsys: pytest.CaptureFixture[str], before: str, after: str, said: str
) -> None:
    study.write_text(study.read_text().replace(before, after))

    assert main(["study", str(study)]) == 1
    format_complaint = capsys.readouterr().err
    assert said in format_complaint
    assert not get_sittings_folder(study).exists()
