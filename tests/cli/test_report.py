"""``knobmenu report`` on files: what it writes, and what it says of recordings that it cannot use."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from knobmenu.cli.main import main
from tests.review.participants import sit_on_disk
from tests.review.planted import write_study
from tests.review.readers import careful, slow


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a study of the design with a hidden long press, with two sittings."""
    study = write_study(tmp_path_factory.mktemp("study"), "hidden")
    sit_on_disk(study, careful, 0)
    sit_on_disk(study, slow, 1)
    return study


@pytest.fixture
def study(whole: Path, tmp_path: Path) -> Path:
    """Return a copy that a test may damage."""
    shutil.copytree(whole.parent, tmp_path / "copy")
    return tmp_path / "copy" / whole.name


def sitting(study: Path, code: str) -> Path:
    return study.with_suffix(".sittings") / f"{code}.jsonl"


def test_the_verdict_comes_first(whole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", str(whole)]) == 0

    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "2 people, 1 variant, 3 tasks: 6 attempts."
    assert lines[1] == 'Task "contrast": 0 of 2 succeeded (95 %: 0 % to 71 %).'
    assert lines[2] == "There, 2 of 2 never found the long press at home."
    assert "tasks" in lines


def test_the_same_recordings_give_the_same_report(whole: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["report", str(whole)])
    first = capsys.readouterr().out
    main(["report", str(whole)])

    assert capsys.readouterr().out == first


def test_the_measures_are_written_as_a_table(whole: Path, tmp_path: Path) -> None:
    target = tmp_path / "measures.csv"
    assert main(["report", str(whole), "--csv", str(target)]) == 0

    assert target.read_text(encoding="utf-8").startswith("participant,order,variant,task,outcome,")


@pytest.mark.parametrize("option", ["--csv"])
def test_inputs_and_files_that_exist_are_not_written_over(
    option: str, study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    there = study.parent / "there"
    there.write_text("mine", encoding="utf-8")

    for name in (study, sitting(study, "p01"), there):
        before = name.read_bytes()
        assert main(["report", str(study), option, str(name)]) == 1
        assert name.read_bytes() == before
        assert str(name) in capsys.readouterr().err
    assert main(["report", str(study), option, str(study), "--overwrite"]) == 1


def test_a_study_without_sittings_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    study = write_study(tmp_path, "none")

    assert main(["report", str(study)]) == 1
    said = capsys.readouterr().err
    assert f"{study.with_suffix('.sittings')}: expected at least one sitting, got none." in said


def test_a_recording_that_was_cut_off_is_used_as_far_as_it_goes(
    study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sitting(study, "p02")
    path.write_bytes(path.read_bytes()[:-2000])

    assert main(["report", str(study)]) == 0
    assert "1 sitting not finished. See Recordings." in capsys.readouterr().out


@pytest.mark.parametrize("damage", ["newer", "garbage", "empty", "folder"])
def test_a_recording_that_cannot_be_read_is_left_out_and_counted(
    damage: str, study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sitting(study, "p02")
    match damage:
        case "newer":
            first, *rest = path.read_text(encoding="utf-8").splitlines(keepends=True)
            path.write_text("".join([json.dumps(json.loads(first) | {"format": 99}) + "\n", *rest]), encoding="utf-8")
        case "garbage":
            path.write_bytes(bytes(range(256)) * 10 + b"\n")
        case "empty":
            path.write_bytes(b"")
        case _:
            path.unlink()
            path.mkdir()

    assert main(["report", str(study)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("1 person, 1 variant, 3 tasks: 3 attempts.\n1 recording left out:")


def test_recordings_of_another_version_alone_are_refused(study: Path, capsys: pytest.CaptureFixture[str]) -> None:
    design = study.parent / "hidden.toml"
    design.write_text(design.read_text(encoding="utf-8").replace('"Key clicks"', '"Clicks"'), encoding="utf-8")

    assert main(["report", str(study)]) == 1
    said = capsys.readouterr().err
    assert "expected a sitting with a finished task of this study, got none:" in said
    assert "p01.jsonl: recorded with another version of the design" in said


def test_a_missing_library_is_named(
    whole: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None if name == "scipy" else object())

    assert main(["report", str(whole)]) == 1
    assert "scipy is not installed: a report needs it. Install knobmenu[review]." in capsys.readouterr().err
