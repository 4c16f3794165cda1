"""``knobmenu bench capture``: what is said of a capture, and what the chain makes of it."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from knobmenu.bench.capture import vcd
from knobmenu.bench.capture.recording import Recording
from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.run import run
from knobmenu.bench.signal import Signal
from knobmenu.cli.main import main

Notice = pytest.CaptureFixture[str]

FILTERED = """
[contact]
preset = "encoder-2ms"
[filter]
series_ohm = 10_000
capacitor_f = 100e-9
rising_v = 2.9
falling_v = 1.9
[reader]
kind = "interrupt"
[decoder]
kind = "one-edge"
"""
"""A naive decoder that a filter of 1 ms saves from the bounce."""


@pytest.fixture
def bare(tmp_path: Path) -> str:
    """Capture bare contacts, turned back and forth."""
    done = run(Chain(turning=Turning(kind="reversals", detents=30, turns_per_s=0.5)), 2)
    pins = {name: Signal(1 - one.first, one.changes_s) for name, one in zip(("CLK", "DT"), done.contacts, strict=True)}
    path = tmp_path / "bare.vcd"
    path.write_text(vcd.write_vcd(Recording(pins, done.motion.end_s)))
    return str(path)


def told(capsys: Notice, *arguments: str) -> dict[str, object]:
    assert main(["bench", *arguments, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def test_a_capture_of_bare_contacts_is_sent_through_the_filter_where_that_is_asked_for(
    bare: str, tmp_path: Path, capsys: Notice
) -> None:
    chain = tmp_path / "chain.toml"
    chain.write_text(FILTERED)

    as_captured = told(capsys, "capture", bare, str(chain))
    filtered = told(capsys, "capture", bare, str(chain), "--bare")

    assert filtered["turned_up"] == filtered["counted_up"]
    assert filtered["turned_down"] == filtered["counted_down"]
    assert int(str(as_captured["counted"])) > 30


def test_a_capture_tells_the_distribution_of_its_bounce(bare: str, capsys: Notice) -> None:
    found = told(capsys, "capture", bare)["bounce"]
    assert main(["bench", "capture", bare]) == 0
    words = capsys.readouterr().out

    assert isinstance(found, dict)
    for name in ("make", "break"):
        figures = found[name]
        assert figures["edges"] == 60
        assert 0 < figures["bounced"] <= figures["edges"]
        assert figures["median_ms"] <= figures["percentile_90_ms"] <= figures["longest_ms"] <= 2.001
        assert f"bounce on {name}: {figures['bounced']} of 60 edges" in words


def test_a_table_of_samples_in_volts_is_read_with_its_rate_and_threshold(tmp_path: Path, capsys: Notice) -> None:
    """Ten clicks sampled at 1 kHz, 5 V logic: closed is low, A closes first."""
    volts = {0: "4.9", 1: "0.1"}
    codes = [(0, 0)] * 200 + ([(1, 0)] * 10 + [(1, 1)] * 10 + [(0, 1)] * 10 + [(0, 0)] * 170) * 10
    rows = [f"{number},{volts[a]},{volts[b]}" for number, (a, b) in enumerate(codes)]
    path = tmp_path / "scope.csv"
    path.write_text("\n".join(["sample,A,B", *rows]) + "\n")

    found = told(capsys, "capture", str(path), "--rate", "1000", "--threshold", "2.5")
    slower = told(capsys, "capture", str(path), "--rate", "500", "--threshold", "1.5", "3.5")

    assert found["turned_up"] == slower["turned_up"] == 10
    assert found["fastest_periods_per_s"] == 2 * float(str(slower["fastest_periods_per_s"]))


@pytest.mark.parametrize(
    ("options", "found"),
    [(["--rate", "0"], "rate: expected a number above 0"), (["--threshold", "1", "2", "3"], "got 3 numbers")],
)
def test_a_rate_or_threshold_that_cannot_be_is_refused(
    bare: str, options: list[str], found: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["bench", "capture", bare, *options]) == 1
    assert found in capsys.readouterr().err


def test_a_capture_that_no_contact_can_be_is_not_written_as_a_chain(tmp_path: Path, capsys: Notice) -> None:
    chatter = [0.5 + 0.0005 * number for number in range(3001)]
    later = [3.0 + 0.5 * turn for turn in range(9)]
    a = [*chatter, *(at for turn in later for at in (turn, turn + 0.04))]
    b = [*(at + part for at in (2.5, *later) for part in (0.02, 0.06))]
    path = tmp_path / "chatter.vcd"
    path.write_text(vcd.write_vcd(Recording({"A": Signal(1, np.array(a)), "B": Signal(1, np.array(b))}, 8.0)))

    assert main(["bench", "capture", str(path), "--show"]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "A changes 3019 times and B 20 times" in said.err
    assert "--pins" in said.err


def test_names_of_pins_never_reach_the_terminal_raw(bare: str, tmp_path: Path, capsys: Notice) -> None:
    """A dump names its pins with escape sequences; so does a table."""
    clear, title = "\x1b[2J", "\x1b]0;x\x07"
    hostile = tmp_path / "hostile.vcd"
    hostile.write_text(Path(bare).read_text().replace(" CLK ", f" CLK{clear} ").replace(" DT ", f" DT{title} "))
    table = tmp_path / "table.csv"
    table.write_text(f"Time,A{clear},B\u202e\n0,1,1\n1,2{clear},1\n")

    assert main(["bench", "capture", str(hostile)]) == 0
    assert main(["bench", "capture", str(hostile), "--pins", f"CLX{clear}", "DT"]) == 1
    assert main(["bench", "capture", str(table)]) == 1
    said = capsys.readouterr()

    assert "CLK\\x1b[2J" in said.out
    for sign in ("\x1b", "\x07", "\u202e"):
        assert sign not in said.out + said.err


def test_a_table_of_samples_in_volts_is_measured_as_the_dump_is(bare: str, tmp_path: Path, capsys: Notice) -> None:
    """An oscilloscope's view of the same knob: 20 kHz, 3.3 V, a ripple of 0.1 V."""
    found = vcd.read(Path(bare))
    at_s = np.arange(0, found.end_s, 5e-5)
    volts = [3.1 * pin.get_levels(at_s) + 0.1 * (np.arange(len(at_s)) % 2) for pin in found.pins.values()]
    table = tmp_path / "scope.csv"
    rows = zip(range(len(at_s)), *(one.tolist() for one in volts), strict=True)
    table.write_text("Sample,CLK,DT\n" + "".join(f"{at},{a:.2f},{b:.2f}\n" for at, a, b in rows))

    dumped = told(capsys, "capture", bare)
    sampled = told(capsys, "capture", str(table), "--rate", "20000", "--threshold", "0.8", "2")
    assert main(["bench", "capture", str(table), "--threshold", "1", "2", "3"]) == 1

    assert (sampled["turned_up"], sampled["turned_down"]) == (dumped["turned_up"], dumped["turned_down"])
    assert sampled["longest_bounce_ms"] == pytest.approx(dumped["longest_bounce_ms"], abs=0.1)
    assert sampled["sample_ms"] == pytest.approx(0.05)


def test_a_long_capture_shows_progress_on_a_terminal_alone(
    bare: str, capsys: Notice, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main(["bench", "capture", bare]) == 0
    assert capsys.readouterr().err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    assert main(["bench", "capture", bare]) == 0
    shown = capsys.readouterr().err
    assert "reading bare.vcd: 100%" in shown
    assert shown.endswith("\r\x1b[K")


def test_a_capture_is_drawn_around_its_longest_bounce_or_where_one_asks(
    bare: str, tmp_path: Path, capsys: Notice
) -> None:
    picture, other = tmp_path / "knob.svg", tmp_path / "start.svg"
    assert main(["bench", "capture", bare, "--plot", str(picture)]) == 0
    assert f"Wrote {picture}" in capsys.readouterr().err
    assert main(["bench", "capture", bare, "--plot", str(other), "--to-ms", "400"]) == 0
    capsys.readouterr()

    assert "url(#bounce)" in picture.read_text()
    assert picture.read_text() != other.read_text()
    for wrong, message in (
        (["--plot", str(picture)], "got an existing file"),
        (["--from-ms", "5"], "expected --plot, of which it states a part"),
        (["--plot", str(tmp_path / "x.svg"), "--from-ms", "9", "--to-ms", "8"], "expected from before to"),
        (["--plot", "knob.bmp"], ".svg or .png"),
    ):
        assert main(["bench", "capture", bare, *wrong]) == 1
        assert message in capsys.readouterr().err
