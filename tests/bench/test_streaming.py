"""Memory stays flat in the length of a capture, through all that is done with one.

What is kept: a block of the file, one piece of about as many changes as `MOST_CHANGES` says, the figures of each pin's
bursts, and what a reader and a decoder remember. Blocks and pieces are made small here, so that short captures have
many; the captures are written row by row, too.
"""

from __future__ import annotations

import itertools
import tracemalloc
from collections.abc import Iterator
from pathlib import Path

import pytest

from knobmenu.bench.capture import csv, recording, vcd
from knobmenu.bench.capture.file import CaptureFile
from knobmenu.bench.capture.measure import measure
from knobmenu.bench.capture.replay import replay
from knobmenu.bench.chain import Chain
from knobmenu.bench.filter import Filter
from knobmenu.bench.reader import Reader

PIECE = 200
"""Changes of a piece. [changes]"""

BLOCK = 1000
"""What of a file is read at a time. [bytes]"""

SHORT = 100
"""Detents of the short capture, with 12 edges each, so 6 pieces. [detents]"""

LONGER = 10
"""How much longer the long one is."""


def edges(detents: int) -> Iterator[tuple[int, int, int]]:
    """Turn detent by detent, each edge bouncing once, with a rest after each: moments, and levels of two pins. [us]"""
    at_us, levels = 0, [1, 1]
    for _ in range(detents):
        for pin in (0, 1, 0, 1):
            at_us += 10_000
            for offset_us in (0, 300, 700):
                levels[pin] = 1 - levels[pin]
                yield at_us + offset_us, levels[0], levels[1]
        at_us += 150_000


def write(path: Path, detents: int) -> CaptureFile:
    """Write a capture without holding it."""
    with path.open("w") as file:
        if path.suffix == ".vcd":
            file.write(
                '$timescale 1 us $end\n$var wire 1 ! a $end\n$var wire 1 " b $end\n$enddefinitions $end\n#0 1! 1"\n'
            )
            file.writelines(f'#{at_us}\n{a}!\n{b}"\n' for at_us, a, b in edges(detents))
        else:
            file.write("time (us),a,b\n0,1,1\n")
            file.writelines(f"{at_us},{a},{b}\n" for at_us, a, b in edges(detents))
    return CaptureFile(path)


CHAINS = (
    Chain(reader=Reader(kind="polled", period_ms=1.0, jitter_ms=0.2, debounce="integrator")),
    Chain(
        reader=Reader(kind="interrupt", blocked_for_ms=5.0, blocked_every_ms=100.0),
        filter=Filter(series_ohm=10_000.0, capacitor_f=1e-8, rising_v=2.9, falling_v=1.9),
    ),
)


def most_bytes(capture: CaptureFile, detents: int) -> int:
    """Give the most memory that measuring and replaying a capture takes at any moment. [bytes]"""
    tracemalloc.start()
    try:
        measured = measure(capture)
        counted = [replay(capture, measured, chain, 1, filtered=True).net for chain in CHAINS]
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert measured.detents == counted[0] == detents
    # The capture ends with the last edge, so that the last burst may be cut off and is not measured.
    assert (measured.on_make.edges, measured.on_break.edges) == (2 * detents, 2 * detents - 1)
    return most


@pytest.mark.parametrize("suffix", [".vcd", ".csv"])
def test_a_capture_ten_times_as_long_takes_no_more_memory(
    suffix: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(vcd, "MOST_CHANGES", PIECE)
    monkeypatch.setattr(csv, "MOST_CHANGES", PIECE)
    monkeypatch.setattr(recording, "BLOCK", BLOCK)
    short = write(tmp_path / f"short{suffix}", SHORT)
    long = write(tmp_path / f"long{suffix}", SHORT * LONGER)
    assert len(list(itertools.islice(long.walk_pieces(), 100))) > 30
    most_bytes(short, SHORT)  # what is loaded or cached once is no part of the comparison

    few, many = most_bytes(short, SHORT), most_bytes(long, SHORT * LONGER)

    # Whatever kept the further changes, be it 2 bytes of each, would take more.
    further = 12 * SHORT * (LONGER - 1)
    assert many - few < 2 * further, f"{few} bytes grew to {many}"
