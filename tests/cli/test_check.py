"""The command that checks a design: what it prints, and its exit code."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from knobmenu.cli.main import main
from tests.analysis.check.test_findings import SOUND

DEMOS = Path(__file__).parents[2] / "demos"


def checked(tmp_path: Path, text: str, *options: str) -> int:
    path = tmp_path / "box.toml"
    path.write_text(text, encoding="utf-8")
    return main(["check", str(path), *options])


def test_a_sound_design_has_nothing_to_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert checked(tmp_path, SOUND) == 0
    assert capsys.readouterr().out.startswith("0 errors, 0 warnings, 0 notes. ")


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("[actions.go]", '[actions.go]\nhazard = "It moves."', 4),
        ("after_ms = 30000", "after_ms = 5000", 3),
        ('entries = ["mode",', 'entries = [{ target = "mode", shown_if = { at_least = ["probe", 3] } },', 0),
    ],
)
def test_the_exit_code_says_how_bad_the_worst_finding_is(tmp_path: Path, old: str, new: str, code: int) -> None:
    assert checked(tmp_path, SOUND.replace(old, new, 1)) == code


def test_a_finding_names_its_line_its_identifier_what_to_do_and_a_trace(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    checked(tmp_path, SOUND.replace("[actions.go]", '[actions.go]\nhazard = "It moves."'))
    lines = capsys.readouterr().out.splitlines()

    assert lines[0] == (
        f'{tmp_path / "box.toml"}:47: error: actions.go: "go" runs within 3 gestures, and nothing asks first.'
        " [hazard-unconfirmed]"
    )
    assert lines[1].strip() == 'Write confirm = "ask" or "hold".'
    assert lines[2].strip() == f"To see it: knobmenu play {tmp_path / 'box.toml'} 'press +3 press'"


def test_an_accepted_finding_does_not_count(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    accepted = '\n[[accepted]]\nfinding = "short-timeout"\nreason = "It is a toy."\n'
    assert checked(tmp_path, SOUND.replace("after_ms = 30000", "after_ms = 5000") + accepted) == 0
    assert "Accepted: It is a toy." in capsys.readouterr().out


def test_json_holds_what_the_lines_say(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    checked(tmp_path, SOUND.replace("after_ms = 30000", "after_ms = 5000"), "--json")
    report = json.loads(capsys.readouterr().out)

    assert report["counts"] == {"error": 0, "warning": 1, "note": 0}
    assert [(item["rule"], item["place"], item["line"]) for item in report["findings"]] == [
        ("short-timeout", "idle.after_ms", 18)
    ]


def test_a_sarif_log_goes_to_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(DEMOS / "radio.toml"), "--sarif"]) == 0
    assert json.loads(capsys.readouterr().out)["version"] == "2.1.0"


def test_the_kinds_of_finding_are_listed_without_a_design(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--rules"]) == 0
    assert "hazard-unconfirmed" in capsys.readouterr().out


def test_a_missing_design_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check"]) == 1
    assert "the name of a design file" in capsys.readouterr().err
