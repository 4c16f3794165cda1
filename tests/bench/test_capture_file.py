"""A capture in a file is read by what its name says, and only a file is read."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from knobmenu.bench.capture.file import CaptureFile
from knobmenu.bench.capture.recording import join
from knobmenu.bench.errors import BenchError

DUMP = "$timescale 1 ms $end\n$var wire 1 ! a $end\n$enddefinitions $end\n#0 1!\n#5 0!\n"
TABLE = "Time (ms),a\n0,1\n5,0\n"


@pytest.mark.parametrize(
    ("name", "content"), [("k.vcd", DUMP), ("K.VCD", DUMP), ("k.csv", TABLE), ("k.txt", TABLE), ("k", TABLE)]
)
def test_the_name_says_the_format(tmp_path: Path, name: str, content: str) -> None:
    path = tmp_path / name
    path.write_text(content)
    capture = CaptureFile(path)

    for _ in range(2):
        found = join(capture.walk_pieces())
        assert found.pins["a"].changes_s.tolist() == pytest.approx([0.005])


def test_a_folder_and_a_pipe_are_refused_at_once(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    for path in (tmp_path, pipe):
        with pytest.raises(BenchError, match="Write the capture to a file first"):
            CaptureFile(path).walk_pieces()


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BenchError, match=r"none\.csv"):
        join(CaptureFile(tmp_path / "none.csv").walk_pieces())
