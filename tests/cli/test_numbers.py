"""Participants get different numbers, though their sittings begin at the same moment in different processes."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from random import Random

import pytest

from knobmenu.cli.sittings import open_sitting
from knobmenu.errors import RecordingError
from knobmenu.files import sittings
from knobmenu.files.sittings import (
    LOCK,
    create_folder,
    get_sitting_path,
    get_sittings_folder,
    list_sitting_paths,
    lock_numbers,
)
from knobmenu.files.studies import load_study
from knobmenu.review.study_form import Setup, read_study
from tests.sampling import sampled

DEMOS = Path(__file__).parents[2] / "demos" / "study"
FIRST, SECOND = "p01", "p02"

PROCESSES = 8
ROUNDS = sampled(100, 8)
"""How often all processes begin a sitting together."""

KILLS = sampled(100, 10)
"""How often a process is killed while it begins a sitting."""

BEGIN = """
import json, sys, time
from knobmenu.cli.sittings import open_sitting
from knobmenu.files.studies import load_study
from knobmenu.review.study_form import read_study
setup = load_study(sys.argv[1], read_study)
print("ready", flush=True)
for line in sys.stdin:
    study, code, at = json.loads(line)
    while time.time() < at:
        pass
    opened = open_sitting(setup, study, code, 0)
    print(opened.ongoing.sitting.number, flush=True)
    opened.close()
"""
"""Begin sittings, each at a given time of the clock."""

DIE = "import os, signal, knobmenu.cli.sittings as s; s.{at} = lambda *_: os.kill(os.getpid(), signal.SIGKILL)\n"
"""Be killed where a function is called."""


@contextmanager
def process(study: Path, before: str = "") -> Iterator[subprocess.Popen[str]]:
    """Start a process that is ready to begin sittings; it is killed at the end."""
    command = [sys.executable, "-c", before + BEGIN, str(study)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as begun:
        try:
            assert begun.stdout is not None
            assert begun.stdout.readline() == "ready\n"
            yield begun
        finally:
            begun.kill()


def begin(begun: subprocess.Popen[str], study: Path, code: str, at: float = 0.0) -> None:
    assert begun.stdin is not None
    begun.stdin.write(json.dumps([str(study), code, at]) + "\n")
    begun.stdin.flush()


def number(begun: subprocess.Popen[str]) -> int:
    assert begun.stdout is not None
    return int(begun.stdout.readline())


def copy_study(folder: Path) -> Path:
    folder.mkdir(exist_ok=True)
    for path in DEMOS.glob("*.toml"):
        shutil.copy(path, folder)
    return folder / "study.toml"


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return copy_study(tmp_path / "study")


@pytest.fixture
def setup(study: Path) -> Setup:
    return load_study(study, read_study)


def number_of(setup: Setup, study: Path, code: str) -> int:
    """Begin or continue a sitting, and return its number."""
    opened = open_sitting(setup, study, code, 0)
    opened.close()
    return opened.ongoing.sitting.number


def test_sittings_that_begin_together_get_different_numbers(study: Path, tmp_path: Path, setup: Setup) -> None:
    with ExitStack() as stack:
        begun = [stack.enter_context(process(study)) for _ in range(PROCESSES)]
        for place in range(ROUNDS):
            # Each round is a study without sittings.
            other = copy_study(tmp_path / f"round-{place}")
            at = time.time() + 0.1
            for person, one in enumerate(begun):
                begin(one, other, f"p{person:02}", at)
            numbers = [number(one) for one in begun]
            assert sorted(numbers) == list(range(PROCESSES))
            assert [number_of(setup, other, f"p{person:02}") for person in range(PROCESSES)] == numbers, "kept"


@pytest.mark.parametrize("at", ["find_free_number", "begin_recording", "begin_sitting"])
def test_a_number_is_free_again_if_its_claimer_was_killed(study: Path, setup: Setup, at: str) -> None:
    with process(study, DIE.format(at=at)) as one:
        begin(one, study, FIRST)
        assert one.wait(30) == -signal.SIGKILL
    assert get_sitting_path(study, FIRST).exists()

    assert number_of(setup, study, SECOND) == 0
    assert number_of(setup, study, FIRST) == 1, "the sitting that was killed begins with another number"


def test_kills_at_any_moment_neither_lose_a_number_nor_give_it_twice(study: Path, setup: Setup) -> None:
    chance = Random(4)
    for place in range(KILLS):
        with process(study) as one:
            begin(one, study, f"p{place:03}")
            time.sleep(chance.uniform(0.0, 0.02))
            os.kill(one.pid, signal.SIGKILL)
            one.wait(30)
        number_of(setup, study, f"q{place:03}")
    numbers = [number_of(setup, study, code) for code in list_sitting_paths(study)]

    assert sorted(numbers) == list(range(len(numbers)))
    assert len(numbers) >= KILLS


def test_a_sitting_keeps_its_number_when_lower_ones_are_free(study: Path, setup: Setup) -> None:
    assert [number_of(setup, study, code) for code in ("p01", "p02", "p03")] == [0, 1, 2]
    get_sitting_path(study, "p01").unlink()
    (get_sittings_folder(study) / LOCK).unlink()

    assert number_of(setup, study, "p03") == 2
    assert number_of(setup, study, "p04") == 0


def test_a_sitting_waits_only_so_long_for_another_one(
    study: Path, setup: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sittings, "NUMBERING_S", 0.05)
    create_folder(study)
    with lock_numbers(study):
        with pytest.raises(RecordingError, match=r"\.lock: expected no other sitting that is about to begin, got one"):
            open_sitting(setup, study, FIRST, 0)
        assert not get_sitting_path(study, FIRST).exists(), "no sitting without a number"

    assert number_of(setup, study, FIRST) == 0


def test_a_lock_that_cannot_be_made_is_reported(study: Path, setup: Setup) -> None:
    create_folder(study)
    (get_sittings_folder(study) / LOCK).mkdir()

    with pytest.raises(RecordingError, match=r"\.lock: expected a file that can be written, got a folder\."):
        open_sitting(setup, study, FIRST, 0)
