"""The commands that count costs print tables, data, traces that play, pages and pictures, and refuse what is wrong."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from knobmenu.cli.main import main
from tests.demos.playing import DEMOS, played

RADIO = str(DEMOS / "radio.toml")


def printed(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(list(words)) == 0
    return capsys.readouterr().out


def test_the_table_says_the_verdict_first_and_fits_80_columns(capsys: pytest.CaptureFixture[str]) -> None:
    lines = printed(capsys, "cost", RADIO).splitlines()

    assert lines[0].startswith("A use takes ")
    assert all(len(line) <= 80 for line in lines[3:])
    assert any(line.startswith("bass ") for line in lines)
    assert "  mw: station, band" in lines


def test_data_names_every_part(capsys: pytest.CaptureFixture[str]) -> None:
    plain = json.loads(printed(capsys, "cost", RADIO, "--json"))

    assert {cost["key"] for cost in plain["costs"]} >= {"bass", "factory"}


def test_a_printed_way_does_what_it_says(capsys: pytest.CaptureFixture[str]) -> None:
    from knobmenu.files.disk import load

    trace = printed(capsys, "cost", RADIO, "--to", "mw", "--value", "1476")

    assert played(load(RADIO), trace).get_value("mw") == 1476


def test_the_values_of_a_setting_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    lines = printed(capsys, "cost", RADIO, "--values", "snooze").splitlines()

    assert lines[1].split() == ["value", "shown", "as", "plain", "held", "fast"]
    assert [line.split()[0] for line in lines[2:]] == ["3", "5", "7", "10", "15", "20"]


def test_pages_and_pictures_are_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page, drawing, dots = (tmp_path / name for name in ("a.html", "a.svg", "a.png"))
    printed(capsys, "cost", RADIO, "--html", str(page), "--plot", str(drawing))
    printed(capsys, "cost", RADIO, "--plot", str(dots))

    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert drawing.read_text(encoding="utf-8").startswith("<svg")
    assert dots.read_bytes().startswith(b"\x89PNG")


def test_operators_of_a_file_are_used(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    slow = tmp_path / "slow.toml"
    names = ("K", "H", "M", "detent")
    tables = "".join(f"[operators.{name}]\nlow = 9\ntypical = 9\nhigh = 9\nsource = 'a test'\n" for name in names)
    slow.write_text("format = 1\n" + tables, encoding="utf-8")
    plain = json.loads(printed(capsys, "cost", RADIO, "--operators", str(slow), "--to", "station", "--json"))

    # H, then M and K twice.
    assert plain["seconds"]["typical"] == 45


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["cost", RADIO, "--to", "bas"], 'Did you mean "bass"?'),
        (["cost", RADIO, "--to", "bass", "--value", "high"], "--value"),
        (["cost", RADIO, "--values", "owner"], "--values"),
        (["cost", RADIO, "--plot", "a.gif"], ".svg or .png"),
        (["cost", RADIO, "--profile", "missing.toml"], "missing.toml"),
        (["cost", RADIO, "--operators", "missing.toml"], "missing.toml"),
        (["order", RADIO, "--menu", "mian"], "main"),
        (["order", RADIO, "--group", "mian"], "--group"),
        (["order", RADIO, "--group", "main", "--groups", "1", "--longest", "2"], "do not fit"),
        (["compare", RADIO, "missing.toml"], "missing.toml"),
    ],
)
def test_what_is_wrong_is_refused(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 1
    assert said in capsys.readouterr().err


def test_a_value_that_no_one_can_set_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["cost", RADIO, "--to", "bass", "--value", "99"]) == 1
    assert "cannot be reached" in capsys.readouterr().out


def test_an_order_is_printed_and_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    proofer, better = str(DEMOS / "proofer.toml"), tmp_path / "better.toml"
    said = printed(capsys, "order", proofer, "-o", str(better), "--html", str(tmp_path / "order.html"))

    assert said.startswith("1 of 5 menus")
    assert json.loads(printed(capsys, "order", proofer, "--json"))["menus"][0]["menu"] == "main"
    assert "moved from place" in printed(capsys, "compare", proofer, str(better))
    assert "changes" in json.loads(printed(capsys, "compare", proofer, str(better), "--json"))


def test_a_grouping_is_printed_and_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    grouped = tmp_path / "grouped.toml"
    said = printed(capsys, "order", RADIO, "--group", "main", "--groups", "4", "--longest", "4", "-o", str(grouped))

    assert said.startswith("A use takes ")
    assert "entry" in printed(capsys, "compare", RADIO, str(grouped))
    assert json.loads(printed(capsys, "order", RADIO, "--group", "main", "--json"))["menu"] == "main"
