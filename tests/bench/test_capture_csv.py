"""Tables of any logic analyser: their dialects, their pieces, and what is refused with its line."""

from __future__ import annotations

import contextlib
import itertools
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from knobmenu.bench.capture import csv
from knobmenu.bench.capture.recording import join
from knobmenu.bench.errors import BenchError
from tests.bench.refusals import assert_refused


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("tables") / "knob.csv"


DIALECTS = {
    "changes, seconds, heading with unit": "Time [s],A,B\n0,1,1\n0.001,0,1\n0.002,0,0\n0.004,0,0\n",
    "heading in quotes": '"Time","A","B"\n0,1,1\n0.001,0,1\n0.002,0,0\n0.004,0,0\n',
    "levels in quotes": '"Time","A","B"\n"0","1","1"\n"0.001","0","1"\n"0.002","0","0"\n"0.004","0","0"\n',
    "milliseconds": "time (ms), A, B\n0, 1, 1\n1, 0, 1\n2, 0, 0\n4, 0, 0\n",
    "microseconds with the sign": "Time [µs],A,B\n0,1,1\n1000,0,1\n2000,0,0\n4000,0,0\n",
    "nanoseconds, capitals": "TIME[NS],A,B\n0,1,1\n1e6,0,1\n2e6,0,0\n4e6,0,0\n",
    "decimal comma": "Time;A;B\n0,0;1;1\n0,001;0;1\n0,002;0;0\n0,004;0;0\n",
    "tabs": "Time\tA\tB\n0\t1\t1\n0.001\t0\t1\n0.002\t0\t0\n0.004\t0\t0\n",
    "line ends of two signs and a mark of order": "\ufeffTime,A,B\r\n0,1,1\r\n0.001,0,1\r\n0.002,0,0\r\n0.004,0,0\r\n",
    "remarks and empty lines": "; by hand\n# 2 pins\n\nTime,A,B\n0,1,1\n\n0.001,0,1\n# still\n0.002,0,0\n0.004,0,0\n",
    "separator at the end of each line": "Time,A,B,\n0,1,1,\n0.001,0,1,\n0.002,0,0,\n0.004,0,0,\n",
    "words": "Time,A,B\n0,High,H\n0.001,Low,True\n0.002,L,false\n0.004,low,FALSE\n",
    "levels as numbers": "Time,A,B\n0,1.0,1.0\n0.001,0.0,1.0\n0.002,0.0,0.0\n0.004,0.0,0.0\n",
    "samples at an even rate": "Time,A,B\n0,1,1\n0.0005,1,1\n0.001,0,1\n0.0015,0,1\n0.002,0,0\n0.003,0,0\n0.004,0,0\n",
    "triggered, so that time begins below 0": "Time,A,B\n-0.002,1,1\n-0.001,0,1\n0,0,0\n0.002,0,0\n",
    "unit after a slash": "Time/ms,A,B\n0,1,1\n1,0,1\n2,0,0\n4,0,0\n",
    "unit after an underline": "t_us,A,B\n0,1,1\n1000,0,1\n2000,0,0\n4000,0,0\n",
    "unit after a comma, in quotes": '"Time, ms","A","B"\n0,1,1\n1,0,1\n2,0,0\n4,0,0\n',
    "unit in a word": "Time (milliseconds),A,B\n0,1,1\n1,0,1\n2,0,0\n4,0,0\n",
    "units in a second heading": "x-axis,A,B\nms,level,level\n0,1,1\n1,0,1\n2,0,0\n4,0,0\n",
    "dates of ISO 8601": "Time,A,B\n2026-03-01T23:59:59.998,1,1\n2026-03-01T23:59:59.999,0,1\n"
    "2026-03-02T00:00:00.000,0,0\n2026-03-02 00:00:00.002,0,0\n",
    "dates with an offset": "Date,A,B\n2026-03-01T12:00:00+01:00,1,1\n2026-03-01T11:00:00.001Z,0,1\n"
    "2026-03-01T13:00:00.002+02:00,0,0\n2026-03-01T11:00:00.004Z,0,0\n",
    "times of day": "Time,A,B\n12:00:00,1,1\n12:00:00.001,0,1\n12:00:00.002,0,0\n12:00:00.004,0,0\n",
    "nanoseconds since 1970": "Time [ns],A,B\n1772323200000000000,1,1\n1772323200001000000,0,1\n"
    "1772323200002000000,0,0\n1772323200004000000,0,0\n",
    "no end of line at the end": "Time,A,B\n0,1,1\n0.001,0,1\n0.002,0,0\n0.004,0,0",
}
"""The same four milliseconds of two pins, as analysers of several makes write them (common practice)."""


@pytest.mark.parametrize("content", DIALECTS.values(), ids=DIALECTS)
def test_a_dialect_is_read(file: Path, content: str) -> None:
    file.write_bytes(content.encode())

    found = csv.read(file)

    assert {name: pin.first for name, pin in found.pins.items()} == {"A": 1, "B": 1}
    assert found.pins["A"].changes_s.tolist() == pytest.approx([0.001])
    assert found.pins["B"].changes_s.tolist() == pytest.approx([0.002])
    assert found.end_s == pytest.approx(0.004)


SAMPLED = {
    "numbered samples": "Sample,A,B\n0,1,1\n1,1,1\n2,0,1\n3,0,1\n4,0,0\n8,0,0\n",
    "numbered samples, two words": "sample_index;A;B\n100;1;1\n102;0;1\n104;0;0\n108;0;0\n",
    "levels alone": "A,B\n1,1\n1,1\n0,1\n0,1\n0,0\n0,0\n0,0\n0,0\n0,0\n",
}
"""The same four milliseconds, sampled at 2 kHz."""


@pytest.mark.parametrize("content", SAMPLED.values(), ids=SAMPLED)
def test_samples_are_timed_by_the_rate(file: Path, content: str) -> None:
    file.write_text(content)

    found = csv.read(file, csv.Reading(rate_hz=2000.0))

    assert {name: pin.first for name, pin in found.pins.items()} == {"A": 1, "B": 1}
    assert found.pins["A"].changes_s.tolist() == pytest.approx([0.001])
    assert found.pins["B"].changes_s.tolist() == pytest.approx([0.002])
    assert found.end_s == pytest.approx(0.004)


@pytest.mark.parametrize(
    ("thresholds_v", "edges"), [((2.5, 2.5), [0.002, 0.003, 0.004]), ((1.0, 3.5), [0.004]), ((0.1, 4.9), [0.005])]
)
def test_volts_are_compared_with_one_threshold_or_two(
    file: Path, thresholds_v: tuple[float, float], edges: list[float]
) -> None:
    rows = zip(range(6), ("4,9", "4,7", "2,4", "2,6", "0,9", "0,02"), strict=True)
    file.write_text("ms;A\n" + "".join(f"{at};{volts}\n" for at, volts in rows))

    pin = csv.read(file, csv.Reading(thresholds_v=thresholds_v)).pins["A"]

    assert pin.first == 1
    assert pin.changes_s.tolist() == pytest.approx(edges)


@pytest.mark.parametrize(
    ("content", "reading", "advice"),
    [
        ("Sample,A\n0,1\n", csv.PLAIN, "--rate"),
        ("Time,A\n0,1\n", csv.Reading(rate_hz=1e3), "leave out --rate"),
        ("Time,A\n0,3.28\n", csv.PLAIN, "--threshold"),
    ],
)
def test_what_a_table_does_not_say_of_itself_is_asked_for(
    file: Path, content: str, reading: csv.Reading, advice: str
) -> None:
    file.write_text(content)

    with pytest.raises(BenchError) as refused:
        csv.read(file, reading)

    assert advice.lower() in refused.value.problems[0].advice.lower()


@pytest.mark.parametrize("rate_hz", [0.0, -1.0, float("inf"), float("nan")])
def test_a_rate_that_is_not_one_is_refused(rate_hz: float) -> None:
    with pytest.raises(BenchError, match="rate"):
        csv.Reading(rate_hz=rate_hz)


@pytest.mark.parametrize("thresholds_v", [(3.0, 2.0), (float("nan"), 1.0), (0.0, float("inf"))])
def test_thresholds_that_are_not_are_refused(thresholds_v: tuple[float, float]) -> None:
    with pytest.raises(BenchError, match="threshold"):
        csv.Reading(thresholds_v=thresholds_v)


def test_a_table_without_heading_names_its_pins_by_number(file: Path) -> None:
    file.write_text("0.5,1,0,0\n0.6,1,1,0\n")

    found = csv.read(file)

    assert {name: (pin.first, len(pin.changes_s)) for name, pin in found.pins.items()} == {
        "D0": (1, 0),
        "D1": (0, 1),
        "D2": (0, 0),
    }
    assert found.end_s == pytest.approx(0.1)


rows = st.lists(st.tuples(st.integers(0, 50), st.integers(0, 7)), min_size=1, max_size=60).map(
    lambda drawn: list(zip(itertools.accumulate(gap for gap, _ in drawn), (code for _, code in drawn), strict=True))
)
"""Rows of a time in milliseconds and the levels of three pins."""


@given(rows, st.integers(1, 10))
def test_pieces_joined_are_the_whole_and_hold_the_levels_of_every_row(
    file: Path, drawn: list[tuple[int, int]], most: int
) -> None:
    lines = [f"{at_ms},{code >> 2},{code >> 1 & 1},{code & 1}" for at_ms, code in drawn]
    file.write_text("\n".join(["t (ms),a,b,c", *lines]))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(csv, "MOST_CHANGES", most)
        pieces = list(csv.read_pieces(file))
    found, whole = join(pieces), csv.read(file)

    # Of several rows at one time the last one holds from then on.
    last = dict(drawn)
    at_s = np.array(sorted(last)) / 1000 - drawn[0][0] / 1000 + 1e-9
    for shift, name in ((2, "a"), (1, "b"), (0, "c")):
        assert found.pins[name].get_levels(at_s).tolist() == [last[at_ms] >> shift & 1 for at_ms in sorted(last)]
        assert found.pins[name].changes_s.tolist() == whole.pins[name].changes_s.tolist()
    assert found.end_s == whole.end_s


WRONG = [
    ("", 0, "an empty file"),
    ("\n\n# nothing\n", 0, "no row of levels"),
    ("Time,A,B\n", 0, "a heading alone"),
    ("hello\n", 1, '"hello"'),
    ("Time,A,A\n0,1,1\n", 1, "two pins of the same name"),
    ("Time [fortnights],A\n0,1\n", 1, 'the unit "fortnights"'),
    ("Time,A,B\n0,1,1\n0.001,1\n", 3, "1 of 2 levels"),
    ("Time,A\n0,1\nlater,0\n", 3, 'the time "later"'),
    ("Time,A\n0,1\ninf,0\n", 3, 'the time "inf"'),
    ("Time,A\n0,1\nnan,0\n", 3, 'the time "nan"'),
    ("Time,A\n0,1\n0.2,0\n0.1,1\n", 4, "time 0.1 after 0.2"),
    ("Time,A\n0,1\n0.1,2\n", 3, '"2" for "A"'),
    ("Time,A\n0,1\n0.1,\n", 3, "0 of 1 levels"),
    ("Time,A\n0,1\n0.1,\x00\n", 3, "a byte 0x00"),
]


@pytest.mark.parametrize(("content", "line", "found"), WRONG, ids=[found for _, _, found in WRONG])
def test_what_is_no_table_is_refused_with_its_line(file: Path, content: str, line: int, found: str) -> None:
    file.write_text(content)

    assert_refused(csv.read, file, line, found)


@given(st.binary(max_size=200), st.text(max_size=200), st.integers(0, 60))
@example(b"", '0"\r0', 0)
@example(b"", '"' + "0" * 200_000, 0)
def test_no_bytes_and_no_damage_give_another_error(file: Path, noise: bytes, words: str, at: int) -> None:
    whole = DIALECTS["changes, seconds, heading with unit"].encode()
    for content in (noise, words.encode("utf-8", "surrogatepass"), whole[:at], whole[:at] + noise[:3] + whole[at:]):
        file.write_bytes(content)
        with contextlib.suppress(BenchError):
            assert csv.read(file).pins
