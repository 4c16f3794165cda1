"""``knobmenu bench``, used as a person uses it."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from xml.etree import ElementTree

import pytest

from knobmenu.bench.capture import vcd
from knobmenu.bench.chain_file import load
from knobmenu.bench.run import run
from knobmenu.bench.verdict import reach_verdict
from knobmenu.cli.main import WRONG_INPUT, build_parser, main

CHAIN = """\
[turning]
detents = 20
[contact]
preset = "encoder-3ms"
[filter]
capacitor_f = 1e-7
rising_v = 2.65
falling_v = 1.7
[decoder]
kind = "one-edge"
[judging]
seeds = 2
"""

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def chain(tmp_path: Path) -> str:
    path = tmp_path / "chain.toml"
    path.write_text(CHAIN, encoding="utf-8")
    return str(path)


def said(capsys: Capture, *words: str) -> str:
    """Run the command, which must succeed, and return what it prints."""
    assert main(["bench", *words]) == 0
    return capsys.readouterr().out


def refused(capsys: Capture, *words: str) -> str:
    """Run the command, which must refuse, and return what it says; it prints nothing else."""
    assert main(["bench", *words]) == WRONG_INPUT
    told = capsys.readouterr()
    assert told.out == ""
    assert "Traceback" not in told.err
    return told.err


def refused_after_printing(capsys: Capture, *words: str) -> str:
    """Run the command, which must refuse at the end, and return what it says."""
    assert main(["bench", *words]) == WRONG_INPUT
    return capsys.readouterr().err


def files(directory: Path) -> set[str]:
    return {path.name for path in directory.iterdir()}


def test_the_verdict_is_a_table_of_speeds_the_fastest_one_the_filter_and_what_to_change(
    chain: str, capsys: Capture
) -> None:
    text = said(capsys, chain)
    found = reach_verdict(load(Path(chain)))
    lines = text.splitlines()[4:]

    assert text.startswith(
        "No: it counts right at no speed that was tried at the worst corner of its parts; the target"
    )
    assert lines[0] == (
        "20 detents and 20 pulses a turn, polled reader, one-edge decoder; 2 runs of 20 detents at each speed (flicks)"
    )
    assert lines[2].split()[:6] == ["turns/s", "true", "counted", "lost", "extra", "reversed"]
    assert [line.split()[:2] for line in lines[3 : 3 + len(found.rows)]] == [
        [f"{one.turns_per_s:.2f}", str(one.true)] for one in found.rows
    ]
    # RC is 1 ms: ln(5/2.35) of it up to the upper threshold, ln(3.3/2.35) from the lower one to it.
    assert lines[4 + len(found.rows)] == (
        "The filter delays opening by 0.755 ms and closing by less than 1 us, removes bounce of up to 0.34 ms at a"
        " closing and of 0.755 ms at an opening, and passes an even turn up to 17 turns/s; above it fails by: order of"
        " the phases."
    )
    assert "What helps, the cheapest first:" in text
    assert re.search(r"^  1\. \(code\) [A-Z].*: right up to \S+ turns/s\.$", text, re.MULTILINE)
    assert lines[-1].startswith(f"knobmenu bench {chain} --apply 1 --output")


def test_json_says_the_same_in_numbers(chain: str, capsys: Capture) -> None:
    told = json.loads(said(capsys, chain, "--json"))
    found = reach_verdict(load(Path(chain)))

    assert told["answer"] == "no"
    assert told["nominal"]["turns_per_s"] == found.nominal.turns_per_s
    assert told["worst_corner"]["turns_per_s"] == found.worst.turns_per_s
    assert told["searched_to_turns_per_s"] == 5.0
    assert told["remedies"][0]["cost"] == "code"
    for row, one in zip(told["rows"], found.rows, strict=True):
        assert row["error_rate"] == one.error_rate
        assert (row["error_rate_low"], row["error_rate_high"]) == (one.low, one.high)
        assert row["counted"] == sum(count.counted for count in one.counts)


def test_a_remedy_is_applied_to_a_new_file_and_answers_yes(chain: str, tmp_path: Path, capsys: Capture) -> None:
    better = tmp_path / "better.toml"
    said(capsys, chain, "--apply", "1", "--output", str(better))

    assert said(capsys, str(better)).startswith("Yes: it counts right up to 2 turns/s")
    kept = better.read_bytes()
    assert "expected the name of a new file" in refused_after_printing(
        capsys, chain, "--apply", "1", "--output", str(better)
    )
    assert better.read_bytes() == kept


@pytest.mark.parametrize("number", ["0", "-1", "99"])
def test_a_remedy_that_is_not_in_the_list_is_refused(number: str, chain: str, tmp_path: Path, capsys: Capture) -> None:
    told = refused_after_printing(capsys, chain, "--apply", number, "--output", str(tmp_path / "better.toml"))

    assert "--apply: expected a number from 1 to " in told
    assert not (tmp_path / "better.toml").exists()


def test_a_remedy_is_applied_to_a_named_file_alone(chain: str, capsys: Capture) -> None:
    for words in (("--apply", "1"), ("--output", "x.toml")):
        assert "--apply N and --output FILE together" in refused(capsys, chain, *words)


def test_without_a_chain_the_built_in_one_is_judged_and_shown(tmp_path: Path, capsys: Capture) -> None:
    shown = said(capsys, "show")
    written = tmp_path / "shown.toml"
    written.write_text(shown, encoding="utf-8")

    assert said(capsys, "show", str(written)) == shown
    assert said(capsys, str(written)) == said(capsys)


def test_what_show_prints_is_a_chain_with_the_same_verdict(chain: str, tmp_path: Path, capsys: Capture) -> None:
    written = tmp_path / "shown.toml"
    written.write_text(said(capsys, "show", chain), encoding="utf-8")

    assert load(written) == load(Path(chain))
    assert said(capsys, str(written), "--json") == said(capsys, chain, "--json")


def test_figures_of_a_contact_that_is_no_preset_are_shown_and_judged_the_same(tmp_path: Path, capsys: Capture) -> None:
    own, written = tmp_path / "own.toml", tmp_path / "shown.toml"
    own.write_text(
        CHAIN.replace('preset = "encoder-3ms"', "longest_ms = 4\nbreak_no_bounce_fraction = 1"), encoding="utf-8"
    )
    written.write_text(said(capsys, "show", str(own)), encoding="utf-8")

    assert load(own).contact.on_break is None
    assert load(written) == load(own)
    assert said(capsys, str(written), "--json") == said(capsys, str(own), "--json")


def test_a_run_is_drawn_as_svg(chain: str, tmp_path: Path, capsys: Capture) -> None:
    picture = tmp_path / "run.svg"
    assert main(["bench", chain, "--plot", str(picture)]) == 0

    assert ElementTree.parse(picture).getroot().tag.endswith("svg")
    assert f"Wrote {picture}." in capsys.readouterr().err
    assert picture.stat().st_mode & 0o777 == 0o644


def test_a_run_is_drawn_as_png_too(chain: str, tmp_path: Path) -> None:
    picture = tmp_path / "run.png"
    assert main(["bench", chain, "--plot", str(picture)]) == 0

    assert picture.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")


def test_png_without_the_extra_says_what_to_install(
    chain: str, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    before = files(tmp_path)

    assert "Install knobmenu[png]" in refused(capsys, chain, "--plot", str(tmp_path / "run.png"))
    assert files(tmp_path) == before


def test_another_part_of_the_run_is_drawn_on_demand(chain: str, tmp_path: Path) -> None:
    one, other = tmp_path / "one.svg", tmp_path / "other.svg"
    main(["bench", chain, "--plot", str(one)])
    main(["bench", chain, "--plot", str(other), "--from-ms", "300", "--to-ms", "320"])

    assert ">310<" in other.read_text(encoding="utf-8")
    assert one.read_bytes() != other.read_bytes()


@pytest.mark.parametrize("wish", [("320", "300"), ("-5", "10"), ("0", "1e9"), ("nan", "10"), ("5", "5")])
def test_a_part_that_is_not_in_the_run_is_refused(
    wish: tuple[str, str], chain: str, tmp_path: Path, capsys: Capture
) -> None:
    before = files(tmp_path)
    wanted = [f"--from-ms={wish[0]}", f"--to-ms={wish[1]}"]

    assert "expected from before to, within 0 and" in refused(
        capsys, chain, "--plot", str(tmp_path / "run.svg"), *wanted
    )
    assert files(tmp_path) == before


def test_the_pins_of_a_run_are_written_as_a_value_change_dump_that_reads_back(chain: str, tmp_path: Path) -> None:
    dump = tmp_path / "run.vcd"
    assert main(["bench", chain, "--vcd", str(dump)]) == 0
    done = run(load(Path(chain)), 1)
    read = vcd.read(dump)

    for name, pin in zip(("phase_a", "phase_b"), done.pins, strict=True):
        # A closed contact pulls its pin low.
        assert read.get_pin(name).first == 1 - pin.first
        assert read.get_pin(name).changes_s == pytest.approx(pin.changes_s, abs=1e-6)


def test_a_dump_of_the_bench_is_measured_and_replayed(chain: str, tmp_path: Path, capsys: Capture) -> None:
    dump = tmp_path / "run.vcd"
    main(["bench", chain, "--vcd", str(dump)])
    capsys.readouterr()
    told = json.loads(said(capsys, "capture", str(dump), "--json"))
    words = said(capsys, "capture", str(dump))

    assert told["phases"] == ["phase_a", "phase_b"]
    assert (told["detents"], told["net"]) == (20, 20)
    assert told["closed_is_low"] is True
    assert "phases: A is phase_a, B is phase_b; a closed contact is low (pull-up)" in words
    assert "turned: 20 detents clockwise" in words


def test_the_phases_of_a_capture_can_be_said(chain: str, tmp_path: Path, capsys: Capture) -> None:
    dump = tmp_path / "run.vcd"
    main(["bench", chain, "--vcd", str(dump)])
    capsys.readouterr()
    turned = json.loads(said(capsys, "capture", str(dump), "--pins", "phase_b", "phase_a", "--json"))

    assert turned["detents"] == -20
    assert 'Did you mean "phase_a"?' in refused(capsys, "capture", str(dump), "--pins", "phase_aa", "phase_b")


def test_a_sweep_is_a_table_a_map_and_json(chain: str, tmp_path: Path, capsys: Capture) -> None:
    picture = tmp_path / "map.svg"
    axes = ("reader.period_ms=1,10", "turning.turns_per_s=0.5,1,2")
    words = said(capsys, "sweep", chain, *axes, "--plot", str(picture)).splitlines()
    told = json.loads(said(capsys, "sweep", chain, *axes, "--json"))

    assert words[0] == (
        "errors for each 100 detents; rows reader.period_ms, columns turning.turns_per_s; !: more than 1 %"
    )
    assert words[1].split() == ["0.5", "1", "2"]
    assert [line.split()[0] for line in words[2:]] == ["1", "10"]
    assert told["rows"] == {"reader.period_ms": [1.0, 10.0]}
    assert told["error_rates"][1][2] * 100 == pytest.approx(float(words[3].split()[3].rstrip("!")), rel=0.01)
    assert told["tolerated_error_rate"] == 0.01
    for rates, tolerated, line in zip(told["error_rates"], told["tolerated"], words[2:], strict=True):
        assert [rate <= 0.01 for rate in rates] == tolerated
        assert [not cell.endswith("!") for cell in line.split()[1:]] == tolerated
    assert len(list(ElementTree.parse(picture).getroot().iter("{http://www.w3.org/2000/svg}title"))) == 6


def test_cells_that_cannot_be_are_a_dash(chain: str, capsys: Capture) -> None:
    words = said(capsys, "sweep", chain, "filter.supply_v=2,5", "reader.period_ms=1,2").splitlines()

    assert words[2].split() == ["2", "-", "-"]


def test_parts_are_suggested_in_words_and_in_json(chain: str, capsys: Capture) -> None:
    options = ("--bounce-ms", "2", "--turns-per-s", "0.5")
    words = said(capsys, "suggest", chain, *options).splitlines()
    told = json.loads(said(capsys, "suggest", chain, *options, "--json"))

    assert words[0].startswith("Pull-up of 10000 ohm from contact to 5 V; series resistor from contact to pin")
    assert words[1].endswith("the target is 0.5 turns/s.")
    assert re.match(r" +\d+ ohm +[\d.]+ nF +\d\.\d\d ms +[\d.]+ turns/s +\d+ %", words[4])
    assert f"{told[0]['series_ohm']:g} ohm" in words[4]
    assert told[0]["margin"] == told[0]["reached_turns_per_s"] / 0.5


def test_the_push_switch_is_judged_in_words_and_in_json(chain: str, capsys: Capture) -> None:
    words = said(capsys, "press", chain).splitlines()
    told = json.loads(said(capsys, "press", chain, "--json"))

    assert words[0] == ("switch tactile-5ms, polled reader; 2 runs of 50 presses of 60 to 250 ms, long from 500 ms")
    assert [line.split("  ")[0] for line in words[3:-2]] == [
        "every closing",
        *(f"{debounce} ms" for debounce in (0, 1, 2, 5, 9, 10, 20, 50, 100)),
    ]
    assert words[-1] == told["advice"]
    assert 5 in told["right_ms"]
    assert told["rows"][0]["debounce_ms"] is None
    assert told["rows"][0]["extra"] == int(words[3].split()[5])


@pytest.mark.parametrize(
    "wish", [("--bounce-ms", "0"), ("--bounce-ms=-1",), ("--turns-per-s", "0"), ("--turns-per-s", "nan")], ids="-".join
)
def test_a_filter_for_what_cannot_be_is_refused(wish: tuple[str, ...], chain: str, capsys: Capture) -> None:
    assert "expected a number above 0" in refused(capsys, "suggest", chain, *wish)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("no-such.toml",), "expected the name of a chain's file, got no file of this name"),
        (("--plot", "run.gif"), '--plot: expected a file that ends in .svg or .png, got "run.gif"'),
        (("sweep", "reader.period=1", "turning.turns_per_s=1"), 'Did you mean "reader.period_ms"?'),
        (("capture", "no-such.vcd"), "no-such.vcd"),
    ],
)
def test_wrong_wishes_are_refused_with_what_is_allowed(words: tuple[str, ...], told: str, capsys: Capture) -> None:
    assert told in refused(capsys, *words)


@pytest.mark.parametrize("words", [("--from-ms", "3"), ("--vcd", "a.vcd", "--to-ms", "3")], ids="-".join)
def test_a_part_of_a_picture_without_a_picture_is_refused(
    words: tuple[str, ...], capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)

    assert "--from-ms: expected --plot" in refused(capsys, *words)
    assert files(tmp_path) == set()


@pytest.mark.parametrize(
    "words",
    [
        ("show", "--json"),
        ("capture", "x.vcd", "--vcd", "a.vcd"),
        ("capture", "x.vcd", "--show", "--json"),
        ("suggest", "--vcd", "a.vcd"),
        ("press", "--pins", "a", "b"),
        ("judge", "--look", "dark"),
        ("live", "--json"),
        ("sweep", "a"),
        ("suggest", "--bounce-ms", "fast"),
    ],
    ids="-".join,
)
def test_each_question_takes_its_own_options_alone(words: tuple[str, ...], capsys: Capture) -> None:
    with pytest.raises(SystemExit) as left:
        main(["bench", *words])

    assert left.value.code == 2
    assert f"usage: knobmenu bench {words[0]}" in capsys.readouterr().err


def test_to_judge_is_what_is_asked_where_no_question_is_named(chain: str, capsys: Capture) -> None:
    assert said(capsys, chain) == said(capsys, "judge", chain)


def test_a_design_is_sent_to_the_command_that_tries_it(tmp_path: Path, capsys: Capture) -> None:
    for name, text, advice in (
        ("device.toml", "[settings.volume]\n", "Give it to knobmenu try"),
        ("device.json", '{"settings": {}}', "Give it to knobmenu try"),
        ("device.py", "design = 1\n", '"knobmenu bench show" prints a chain'),
    ):
        (tmp_path / name).write_text(text, encoding="utf-8")
        assert advice in refused(capsys, str(tmp_path / name))


def test_a_captured_knob_is_shown_as_a_chain_that_bounces_as_it_did(tmp_path: Path, capsys: Capture) -> None:
    """The dump is one of the bench's own, of contacts that are known: without a filter, they are what the pins see."""
    own, dump, real = (tmp_path / name for name in ("own.toml", "knob.vcd", "real.toml"))
    text = "[turning]\nkind = 'steady'\ndetents = 400\nturns_per_s = 0.25\n[contact]\npreset = 'encoder-3ms'\n"
    own.write_text(text + "[judging]\nseeds = 2", encoding="utf-8")
    main(["bench", str(own), "--vcd", str(dump)])
    capsys.readouterr()
    real.write_text(said(capsys, "capture", str(dump), str(own), "--show"), encoding="utf-8")
    known, found = load(own), load(real)

    assert found.filter == known.filter
    assert found.reader == known.reader
    for burst, fitted in (
        (known.contact.on_make, found.contact.on_make),
        (known.contact.on_break, found.contact.on_break),
    ):
        assert burst
        assert fitted
        assert fitted.mean_ms == pytest.approx(burst.mean_ms, rel=0.1)
        assert fitted.longest_ms == pytest.approx(burst.longest_ms, rel=0.2)
        assert fitted.longest_ms <= burst.longest_ms * 1.001
        assert fitted.bounces == pytest.approx(burst.bounces, rel=0.1)
        assert fitted.no_bounce_fraction == pytest.approx(burst.no_bounce_fraction, abs=0.05)


def test_a_bad_chain_is_refused_with_every_problem_a_line(tmp_path: Path, capsys: Capture) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text("[filter]\npull_up_ohm = -1\n[reader]\nperiod = 5\n", encoding="utf-8")
    told = refused(capsys, str(bad), "--plot", str(tmp_path / "run.svg"), "--vcd", str(tmp_path / "run.vcd"))

    assert [line.split(": ")[0] for line in told.splitlines()] == [f"{bad}:2", f"{bad}:4"]
    assert files(tmp_path) == {"bad.toml"}


def test_a_place_that_cannot_be_written_keeps_what_is_there_and_leaves_nothing_half_written(
    chain: str, tmp_path: Path, capsys: Capture
) -> None:
    blocked = tmp_path / "run.svg"
    blocked.mkdir()

    for option in ("--plot", "--vcd"):
        assert "got an existing folder. Choose another name.\n" in refused(capsys, chain, option, str(blocked))
        assert "got a folder" in refused(capsys, chain, option, str(blocked), "--overwrite")
        assert "got a folder that does not" in refused(capsys, chain, option, str(tmp_path / "none" / "run.svg"))
    assert files(tmp_path) == {"chain.toml", "run.svg"}


def test_a_capture_that_cannot_be_read_is_refused_with_its_line(tmp_path: Path, capsys: Capture) -> None:
    cut = tmp_path / "cut.csv"
    cut.write_text("Time [s],A,B\n0,0,0\n1,1,0\n0.5,1,1\n", encoding="utf-8")

    assert "cut.csv:4: expected a time that goes forward, got time" in refused(capsys, "capture", str(cut))


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="no groups of processes here")
def test_a_long_sweep_that_is_interrupted_ends_at_once_and_without_a_traceback() -> None:
    """Of ten thousand cells, after twenty are done; the interrupt reaches the workers as well, as Ctrl+C does."""
    command = [sys.executable, "-u", "-c", INTERRUPTED_SWEEP]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True) as started:
        assert started.stdout
        assert started.stderr
        for _ in range(20):
            assert started.stdout.readline() == b"a cell is done\n"
        os.killpg(started.pid, signal.SIGINT)
        begun = time.monotonic()
        assert started.wait(timeout=60) == 130
        assert time.monotonic() - begun < 30
        assert started.stderr.read() == b""


INTERRUPTED_SWEEP = """
import sys
from knobmenu.cli.bench import answering
from knobmenu.cli.main import main

answering.show_progress = lambda words: print("a cell is done", flush=True)
sys.exit(main(["bench", "sweep", "reader.period_ms=1:50:100", "turning.turns_per_s=0.2:5:100"]))
"""


def test_progress_is_told_to_a_person_and_not_to_a_file(
    chain: str, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    main(["bench", chain])
    silent = capsys.readouterr().err
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    main(["bench", chain])

    assert silent == ""
    assert "trying 0.5 turns/s" in capsys.readouterr().err


def test_every_example_of_the_help_is_a_command_that_the_parser_takes(capsys: Capture) -> None:
    with pytest.raises(SystemExit):
        main(["bench", "--help"])
    examples = re.findall(r"^  knobmenu (bench.*?)(?:  .*| > .*)?$", capsys.readouterr().out, re.MULTILINE)

    assert len(examples) >= 6
    for example in examples:
        assert build_parser().parse_args(example.split()).command == "bench"
