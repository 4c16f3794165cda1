"""The demo study: two lamps that differ in their menus alone, and eight sittings that count as they should."""

from __future__ import annotations

import shutil
from pathlib import Path

import attrs
import pytest

from knobmenu import load
from knobmenu.files.recordings import read_recording
from knobmenu.files.sittings import get_sittings_folder
from knobmenu.files.studies import load_study
from knobmenu.review.attempts import read_attempts
from knobmenu.review.study import list_trials
from knobmenu.review.study_form import read_study
from tests.demos.playing import DEMOS
from tests.review.eight import STUDY as EIGHT_STUDY
from tests.review.eight import copy_study, record_eight
from tests.review.participants import EIGHT, run_study

STUDY = DEMOS / "study"


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("study")
    for name in ("study.toml", "lamp-a.toml", "lamp-b.toml"):
        shutil.copy(STUDY / name, folder)
    return folder / "study.toml"


def test_the_lamps_differ_in_their_menus_alone() -> None:
    one, other = load(STUDY / "lamp-a.toml"), load(STUDY / "lamp-b.toml")

    assert attrs.evolve(one, name=other.name, about=other.about, menus=other.menus) == other


def test_eight_people_sit_through_the_whole_study(study: Path) -> None:
    setup = load_study(study, read_study)
    paths = run_study(study)

    assert [path.name for path in paths] == [f"p0{number}.jsonl" for number in range(1, len(EIGHT) + 1)]
    for number, path in enumerate(paths):
        attempts = list(read_attempts(setup, *read_recording(path)))
        assert [attempt.trial for attempt in attempts] == list(list_trials(setup.study, number))


def test_waking_takes_fewer_detents_and_presses_in_the_second_lamp() -> None:
    setup = load_study(STUDY / "study.toml", read_study)
    for task in ("wake", "sunrise"):
        one, other = setup.least["a", task], setup.least["b", task]
        assert one is not None
        assert other is not None
        assert other.tally.gestures < one.tally.gestures


def test_the_sittings_that_stand_in_the_demo_are_what_those_people_do_now(tmp_path: Path) -> None:
    """Record them again with `python -m tests.review.eight` when the format or the demo has changed."""
    recorded = record_eight(copy_study(tmp_path))
    kept = {path.name: path.read_bytes() for path in get_sittings_folder(EIGHT_STUDY).glob("*.jsonl")}

    assert sorted(recorded) == sorted(kept)
    assert all(recorded[name] == kept[name] for name in kept)
