"""Value change dumps: what is written is read, by others too, and what is no dump is refused with its line.

Held to the library pyvcd from the registry, which writes and reads the format of IEEE 1364 independently; the firmware
tests hold the writer to a simulator of controllers, too.
"""

from __future__ import annotations

import contextlib
import io
import itertools
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from vcd.reader import TokenKind, tokenize
from vcd.writer import VCDWriter

from knobmenu.bench.capture import vcd
from knobmenu.bench.capture.recording import Recording, join
from knobmenu.bench.errors import BenchError
from knobmenu.bench.signal import Signal
from tests.bench.refusals import assert_refused

HEAD = "$timescale 1 us $end\n$var wire 1 ! a $end\n$enddefinitions $end\n"

ticks = st.lists(st.integers(1, 10**9), max_size=30, unique=True).map(sorted)
names = st.text(st.characters(codec="ascii", categories=("L", "N")), min_size=1, max_size=8)
pins = st.dictionaries(names, st.tuples(st.integers(0, 1), ticks), min_size=1, max_size=120)
"""Pins by name: a first level, and the ticks of changes."""


def recording(drawn: dict[str, tuple[int, list[int]]], tick_s: float = 1e-6) -> Recording:
    signals = {name: Signal(first, np.array(at, dtype=np.float64) * tick_s) for name, (first, at) in drawn.items()}
    return Recording(signals, (max([0, *(at[-1] for _, at in drawn.values() if at)]) + 5) * tick_s)


def same(one: Recording, other: Recording) -> bool:
    return (
        list(one.pins) == list(other.pins)
        and one.end_s == pytest.approx(other.end_s, abs=1e-12)
        and all(
            pin.first == other.pins[name].first
            and pin.changes_s.tolist() == pytest.approx(other.pins[name].changes_s.tolist(), rel=1e-12)
            for name, pin in one.pins.items()
        )
    )


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("dumps") / "knob.vcd"


@given(pins, st.sampled_from((1, 10, 100, 1000, 10_000, 1_000_000)))
def test_a_dump_that_was_written_is_read(file: Path, drawn: dict[str, tuple[int, list[int]]], tick_ns: int) -> None:
    sent = recording(drawn, tick_ns * 1e-9)
    file.write_text(vcd.write_vcd(sent, tick_ns))

    assert same(vcd.read(file), sent)


@given(pins)
def test_another_reader_reads_what_was_written(drawn: dict[str, tuple[int, list[int]]]) -> None:
    sent = recording(drawn)
    codes: dict[str, str] = {}
    found: dict[str, list[tuple[int, str]]] = {name: [] for name in drawn}
    now = 0
    for token in tokenize(io.BytesIO(vcd.write_vcd(sent).encode())):
        if token.kind is TokenKind.VAR:
            codes[token.var.id_code] = token.var.reference
        elif token.kind is TokenKind.CHANGE_TIME:
            now = token.time_change
        elif token.kind is TokenKind.CHANGE_SCALAR:
            found[codes[token.scalar_change.id_code]].append((now, token.scalar_change.value))

    for name, (first, at) in drawn.items():
        levels = [str((first + nth) & 1) for nth in range(len(at) + 1)]
        assert found[name] == list(zip([0, *at], levels, strict=True))


@given(pins)
def test_what_another_writer_wrote_is_read(file: Path, drawn: dict[str, tuple[int, list[int]]]) -> None:
    sent = recording(drawn)
    with (
        file.open("w") as out,
        VCDWriter(out, timescale="1 us", date="today", comment="by others") as writer,
    ):
        variables = {
            name: writer.register_var("board.knob", name, "wire", size=1, init=first)
            for name, (first, _) in drawn.items()
        }
        beside = writer.register_var("board", "beside", "integer", init=7)
        volts = writer.register_var("board", "volts", "real", init=1.5)
        changes = sorted((at, name, nth) for name, (_, every) in drawn.items() for nth, at in enumerate(every))
        for at, name, nth in changes:
            writer.change(variables[name], at, (drawn[name][0] + nth + 1) & 1)
            writer.change(beside, at, nth)
            writer.change(volts, at, at / 7)
        writer.close(round(sent.end_s * 1e6))

    assert same(vcd.read(file), sent)


def test_levels_written_as_vectors_of_one_bit_are_read(file: Path) -> None:
    """A vector of one bit may have more digits than its width; x and z keep the level before."""
    file.write_text(
        '$timescale 1 ms $end\n$var wire 1 ! a $end\n$var wire 1 " b $end\n$var wire 8 # bus $end\n'
        '$enddefinitions $end\n#0\nb1 !\nb0 "\nb101 #\n#1\nb0 !\nB1 "\n#2\nbx !\nbz "\n'
        'b00000000 #\n#3\nb0001 !\n0"\n#5\n'
    )

    found = vcd.read(file)

    assert {name: (pin.first, pin.changes_s.tolist()) for name, pin in found.pins.items()} == {
        "a": (1, pytest.approx([0.001, 0.003])),
        "b": (0, pytest.approx([0.001, 0.003])),
    }


@given(pins, st.integers(1, 20))
def test_pieces_joined_are_the_whole(file: Path, drawn: dict[str, tuple[int, list[int]]], most: int) -> None:
    file.write_text(vcd.write_vcd(recording(drawn)))
    whole = vcd.read(file)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(vcd, "MOST_CHANGES", most)
        pieces = list(vcd.read_pieces(file))

    assert same(join(pieces), whole)
    for before, after in itertools.pairwise(pieces):
        assert {name: pin.last for name, pin in before.pins.items()} == {
            name: pin.first for name, pin in after.pins.items()
        }
        assert all(np.all(pin.changes_s > before.end_s) for pin in after.pins.values())
    assert len(pieces) >= sum(len(at) for _, at in drawn.values()) // (most + len(drawn))


def test_the_parts_of_a_dump_that_say_nothing_of_pins_are_passed_over(file: Path) -> None:
    """A dump with what else the standard allows: comments, scopes, vectors, reals, unknown levels, dumps switched."""
    file.write_text("""$date today $end $version by hand
$end
$comment $var wire 1 % no $end
$timescale 10us $end
$scope module board $end
$var wire 1 ! clk $end $var reg 8 " bus [7:0] $end $var real 64 # volts $end
$scope task inner $end $var wire 1 $ clk $end $var wire 1 ! clk $end $upscope $end
$upscope $end
$enddefinitions $end
#50
$dumpvars
x! b00000000 " r0.5 # 0$
$end
#60 1!
#60 z$ $comment 0! $end
#70
$dumpoff x! bx " $end
#80 b101 " 0!
#90 $dumpon 0! 1$ $end
#95 1$ 0$
#100
""")

    found = vcd.read(file)

    assert list(found.pins) == ["clk", "clk#$"]
    assert (found.pins["clk"].first, found.pins["clk"].changes_s.tolist()) == (1, pytest.approx([3e-4]))
    assert (found.pins["clk#$"].first, found.pins["clk#$"].changes_s.tolist()) == (0, pytest.approx([4e-4, 4.5e-4]))
    assert found.end_s == pytest.approx(5e-4)


def test_a_pin_that_is_named_late_was_high_before(file: Path) -> None:
    file.write_text(HEAD.replace("$end\n$endd", '$end $var wire 1 " b $end\n$endd') + '#0 0!\n#5 1! 0"\n#9 1"\n')

    found = vcd.read(file).pins

    assert (found["b"].first, found["b"].changes_s.tolist()) == (1, pytest.approx([5e-6, 9e-6]))


def test_there_and_back_within_one_tick_is_no_change(file: Path) -> None:
    file.write_text(HEAD + "#0 0!\n#5 1! 0!\n#7 1! 0! 1!\n")

    assert vcd.read(file).pins["a"].changes_s.tolist() == pytest.approx([7e-6])


WRONG = [
    (b"", 0, "an empty file"),
    (b"\x00\x01\x02", 1, "a byte 0x00"),
    (HEAD.encode() + b"#0\n0!\n\xff\xfe\n", 6, "a byte 0xff"),
    (b"hello\n", 1, '"hello"'),
    (b"$timescale 1 us", 1, "the end of the file within $timescale"),
    (b"$timescale 1 us $end\n$var wire 1 ! a $end\n", 2, "the end of the file"),
    (b"$timescale 7 us $end\n", 1, '"7us"'),
    (b"$timescale 1 parsec $end\n", 1, '"1parsec"'),
    (b"$timescale $end\n", 1, '""'),
    (b"$var wire 1 ! a $end\n$enddefinitions $end\n", 2, "no $timescale"),
    (b"$timescale 1 us $end\n$enddefinitions $end\n", 2, "no variable of one bit"),
    (b"$timescale 1 us $end\n$var wire one ! a $end\n", 2, "$var wire one ! a"),
    (HEAD.encode(), 0, "no level of any pin"),
    (HEAD.encode() + b"#0\n#100\n", 5, "no level of any pin"),
    (HEAD.encode() + b"#5 0!\n#4 1!\n", 5, "time 4 after 5"),
    (HEAD.encode() + b"#x 0!\n", 4, '"#x"'),
    (HEAD.encode() + "#² 0!\n".encode(), 4, '"#²"'),
    (HEAD.encode() + b"#" + b"9" * 5000 + b"\n", 4, '"#999'),
    (HEAD.encode() + b"#0 0!\n1\n", 5, '"1" without a code'),
    (HEAD.encode() + b"#0 0!\n#10 b101", 5, '"b101" without a code'),
    (HEAD.encode() + b"#0 0!\n#10 hello\n", 5, '"hello"'),
]


@pytest.mark.parametrize(("content", "line", "found"), WRONG, ids=[found for _, _, found in WRONG])
def test_what_is_no_dump_is_refused_with_its_line(file: Path, content: bytes, line: int, found: str) -> None:
    file.write_bytes(content)

    assert_refused(vcd.read, file, line, found)


def test_a_file_that_is_not_there_and_a_folder_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "none.vcd", tmp_path):
        with pytest.raises(BenchError):
            vcd.read(path)


def test_lines_are_told_rightly_across_the_blocks_in_which_a_file_is_read(file: Path) -> None:
    """Damage far behind the first block still has its own line; a line without end is no text."""
    told = HEAD + "#0 0!\n" + "\n" * 70_000 + "#5 ä!\n"
    for content, line in (
        (told.encode(), 70_005),
        (told.encode()[:-4] + b"\xff", 70_005),
        (told.encode() + b"1" * 1_100_000, 70_005),
        (HEAD.encode() + b"#0 0!\n" + b" " * 1_100_000, 5),
    ):
        file.write_bytes(content)
        with pytest.raises(BenchError) as refused:
            vcd.read(file)
        assert refused.value.problems[0].line == line, refused.value


@given(st.binary(max_size=400), st.integers(0, 400), st.integers(0, 60))
def test_no_bytes_and_no_damage_give_another_error(file: Path, noise: bytes, cut: int, at: int) -> None:
    whole = vcd.write_vcd(recording({"a": (1, [10, 20, 35]), "b": (0, [15, 27])})).encode()
    for content in (noise, whole[:cut], whole[:at] + noise[:3] + whole[at + 2 :]):
        file.write_bytes(content)
        with contextlib.suppress(BenchError):
            assert vcd.read(file).pins
