"""Everything is run whole: each test file in one part, its failures reported, nothing left after an interrupt."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.whole import COMPUTING_S, WAITING_S, divide, find_files

ROOT = Path(__file__).parents[1]


def test_each_test_file_is_in_one_part_and_long_parts_begin_first() -> None:
    files = find_files([])
    parts = divide(files)

    assert {path.relative_to(ROOT).as_posix() for path in (ROOT / "tests").rglob("test_*.py")} == set(files)
    assert sorted(path for part in parts for path in part.paths) == files
    assert len({part.name for part in parts}) == len(parts)
    assert [part.expected_s for part in parts] == sorted((part.expected_s for part in parts), reverse=True)
    assert set(COMPUTING_S) | set(WAITING_S) <= set(files)


SUITES = {
    "test_right.py": "def test_it():\n    pass\n",
    "test_wrong.py": "def test_it():\n    assert 1 == 2\n",
    "test_endless.py": """\
import subprocess, sys, time
def test_it():
    child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"], start_new_session=True)
    try:
        with open("child", "w") as file:
            file.write(f"{child.pid} ")
        time.sleep(600)
    finally:
        child.kill()
        child.wait()
""",
}


def start(folder: Path, *names: str) -> subprocess.Popen[str]:
    """Run a copy of the program on small suites of its own."""
    (folder / "tests").mkdir()
    (folder / "tests" / "whole.py").write_bytes((ROOT / "tests" / "whole.py").read_bytes())
    for name in names:
        # In a folder of its own, each is a part of its own.
        path = folder / "tests" / name.removesuffix(".py") / name
        path.parent.mkdir()
        path.write_text(SUITES[name], encoding="utf-8")
    command = [sys.executable, "-m", "tests.whole", "--jobs", "2"]
    return subprocess.Popen(command, cwd=folder, stdout=subprocess.PIPE, text=True, start_new_session=True)


def test_the_status_and_the_last_lines_say_what_failed(tmp_path: Path) -> None:
    process = start(tmp_path, "test_right.py", "test_wrong.py")
    said, _ = process.communicate(timeout=120)

    assert process.returncode == 1
    assert "test_right-rest: passed" in said
    assert "FAILED: test_wrong-rest: 1 failed" in said
    assert "whole: 2 parts, 1 failed" in said
    assert "assert 1 == 2" in (tmp_path / "build" / "whole" / "test_wrong-rest.log").read_text(encoding="utf-8")


def test_the_status_is_0_if_all_passed(tmp_path: Path) -> None:
    process = start(tmp_path, "test_right.py")
    said, _ = process.communicate(timeout=120)

    assert process.returncode == 0
    assert "whole: 1 parts, 0 failed" in said


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs Linux's list of processes")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP], ids=lambda number: number.name)
def test_an_interrupt_ends_what_was_started(tmp_path: Path, number: signal.Signals) -> None:
    process = start(tmp_path, "test_right.py", "test_endless.py")
    until_s = time.monotonic() + 60
    while not (begun := tmp_path / "child").exists() or not begun.read_text(encoding="utf-8").endswith(" "):
        assert time.monotonic() < until_s
        time.sleep(0.05)
    child = int(begun.read_text(encoding="utf-8"))
    os.kill(process.pid, number)
    said, _ = process.communicate(timeout=60)

    assert process.returncode == 130
    assert "interrupted" in said
    assert not Path(f"/proc/{child}").exists()
