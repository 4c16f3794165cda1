"""docs/reference/bench.md says what is so: its commands and its Python run, and what it names is there.

Its drawn tables are held by `tests/export/test_standard.py`, and the sayings in them by `test_afternoon.py`.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from docs.afternoon import STEPS, cell, chain, fastest_turns_per_s, pictures, without_noise
from knobmenu.bench.chain import SECTIONS, change
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.filter import compute_opening_delay_s, estimate_crossings
from knobmenu.bench.verdict import measure_row
from knobmenu.cli.main import build_parser, main

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "docs" / "reference" / "bench.md").read_text(encoding="utf-8")


def block(language: str) -> str:
    return TEXT.split(f"```{language}\n")[1].split("```")[0]


def commands() -> list[list[str]]:
    return [line.partition("#")[0].partition(">")[0].split()[1:] for line in block("sh").splitlines()]


def test_every_command_of_the_document_is_one_that_the_parser_takes() -> None:
    assert len(commands()) >= 7
    for words in commands():
        assert build_parser().parse_args(words).command == "bench"


def test_the_commands_do_what_the_document_says_they_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In its own order; the chain is the one that is shown, but for fewer seeds, and the capture one of the bench's."""
    monkeypatch.chdir(tmp_path)
    for words in commands():
        if words == ["bench", "show"]:
            assert main(words) == 0
            chain = capsys.readouterr().out.replace("seeds = 20", "seeds = 2")
            (tmp_path / "mine.toml").write_text(chain, encoding="utf-8")
            main(["bench", "mine.toml", "--vcd", "knob.vcd"])
        elif words != ["bench"]:
            assert main(words) == 0, words

    assert {"run.svg", "map.svg"} <= {path.name for path in tmp_path.iterdir()}


def test_the_python_of_the_document_runs(capsys: pytest.CaptureFixture[str]) -> None:
    exec(compile(block("python"), "bench.md", "exec"), {})

    assert re.match(r"(True|False) [\d.]+\n", capsys.readouterr().out)


def test_the_pictures_of_the_document_are_what_is_drawn_now() -> None:
    drawn = pictures()

    assert len(drawn) == len(STEPS) + 1
    for path, picture in drawn.items():
        assert path.read_text(encoding="utf-8") == picture, "out of date: run python -m docs.draw"
        assert TEXT.count(f"(../images/{path.name})") == 1


def test_every_file_that_the_document_names_is_there() -> None:
    links = re.findall(r"\]\(([^)]+)\)", TEXT)
    files = re.findall(r"`((?:bench|knob|tests)/[\w/]+\.py)`", TEXT)

    assert len(links) > 6
    assert all((ROOT / "docs" / "reference" / link).exists() for link in links)
    assert len(files) > 10
    for file in files:
        assert (ROOT / file).is_file() or (ROOT / "knobmenu" / file).is_file(), file


def test_every_preset_is_told_with_its_source_and_its_published_longest() -> None:
    told = dict(re.findall(r"^\| `([\w-]+)` \| ([^|]*(?: ms| us)[^|]*) \| [^|]+ \|$", TEXT, re.MULTILINE))

    assert sorted(told) == sorted(name for name, preset in PRESETS.items() if preset.on_make)
    for name, words in told.items():
        longest_ms = max(
            float(number) / (1000 if unit == "us" else 1) for number, unit in re.findall(r"([\d.]+) (ms|us)", words)
        )
        burst = PRESETS[name].on_make
        assert burst
        assert burst.longest_ms == longest_ms


def test_every_section_of_a_chain_has_its_heading() -> None:
    assert re.findall(r"^### \[(\w+)\]", TEXT, re.MULTILINE) == list(SECTIONS)


def test_the_figures_in_the_reading_of_the_afternoon_are_those_of_the_table() -> None:
    assert f"{fastest_turns_per_s('schmitt-1uf'):.2g} turn/s for flicks of the hand" in TEXT
    # "A third of them backwards", "five times a click", "one in 15 at 1 turn/s".
    assert cell("schmitt-1uf", 1.5).reversed.mean == pytest.approx(1 / 3, abs=0.05)
    assert cell("one-edge-polling", 1.0).counted.mean == pytest.approx(5.0, abs=0.2)
    assert cell("waiting-loop", 1.0).counted.mean == pytest.approx(1 / 15, abs=0.015)
    assert cell("waiting-loop", 2.0).counted.mean == pytest.approx(1 / 25, abs=0.015)


def test_the_figures_about_noise_in_the_reading_of_the_afternoon_are_those_that_the_bench_finds() -> None:
    plain = chain("rc-plain-input")
    assert f"{cell('rc-plain-input', 1.0).errors.mean * 100:.0f} errors in" in TEXT
    assert max(cell("rc-plain-input", speed).errors.mean for speed in (0.2, 0.5, 1.5)) < 0.65
    assert min(cell("rc-plain-input", speed).errors.mean for speed in (0.2, 0.5, 1.5)) > 0.6
    # "Some eight times", "3.3 ms", "no error in 2000 clicks", "0.9 V".
    assert estimate_crossings(plain.filter)[0] == pytest.approx(8, abs=0.5)
    assert compute_opening_delay_s(plain.filter) == pytest.approx(3.3e-3, abs=0.05e-3)
    assert without_noise("rc-plain-input", 1.0) == 0
    schmitt = chain("rc-schmitt-input").filter
    assert schmitt.rising_v - schmitt.falling_v == pytest.approx(0.9, abs=0.05)
    assert schmitt.noise_v == plain.filter.noise_v
    # "A larger one makes it worse", "a loop of 1 ms meets few", "a microcontroller's port does as well".
    assert measure_row(change(plain, {"filter.capacitor_f": 1e-6}), 1.0).error_rate > 1.5
    assert measure_row(change(plain, {"reader.period_ms": 1.0}), 1.0).error_rate < 0.05
    assert measure_row(change(plain, {"filter.input": "microcontroller"}), 1.0).error_rate == 0
