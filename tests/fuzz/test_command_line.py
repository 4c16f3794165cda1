"""The real command line on anything: a documented status, no traceback, nothing raw, little time, no stray file."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.fuzz.command_line import MAKERS, Case, Run, judge_run, make_case
from tests.sampling import sampled

RUNS = sampled(2_000, 70)
"""How many; `python -m tests.fuzz --command-line COUNT` runs any number."""


def test_every_run_ends_as_documented_and_writes_nothing_but_its_output() -> None:
    # A process of its own: what it forks must not begin with all that the suite holds by now.
    command = [sys.executable, "-m", "tests.fuzz", "--command-line", str(RUNS)]
    done = subprocess.run(
        command, cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False, timeout=60 + RUNS
    )

    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{RUNS} runs, 0 failed" in done.stdout


def test_the_cases_use_every_command_and_most_of_them_alone_with_their_files() -> None:
    cases = [make_case(number) for number in range(20 * len(MAKERS))]
    commands = {word for case in cases for word in case.words[:1]}

    assert {
        "check",
        "cost",
        "order",
        "compare",
        "export",
        "play",
        "try",
        "new",
        "bench",
        "replay",
        "report",
        "study",
        "serve",
        "watch",
    } <= commands
    assert sum(bool(case.files) for case in cases) > 0.9 * len(cases)


FINE = Run(status=1, out=b"", err=b"a.toml:1: expected a, got b.\n", took_s=0.1, interrupted=False, written=())


@pytest.mark.parametrize(
    ("run", "says"),
    [
        (FINE, ""),
        (Run(1, b"", b"Traceback (most recent call last):\n", 0.1, False, ()), "traceback"),
        (Run(3, b"x", b"", 0.1, False, ()), "status 3"),
        (Run(-11, b"", b"", 0.1, False, ()), "status -11"),
        (Run(1, b"", b"", 0.1, False, ()), "without a word"),
        (Run(1, b"", b"no\n", 2.5, False, ()), "refused after"),
        (Run(1, b"", b"x" * 100_000, 0.1, False, ()), "a format_complaint of"),
        (Run(0, b"\x1b[2J", b"", 0.1, False, ()), "raw characters in its output"),
        (Run(1, b"", b"a\rb\n", 0.1, False, ()), "raw characters in its errors"),
        (Run(0, b"ok", b"", 0.1, False, ("other.txt",)), "beside the named output"),
        (Run(0, b"ok", b"", 0.1, False, ("d.toml",)), "beside the named output"),
        (Run(0, b"ok", b"", 0.1, False, ("-d.toml",)), "beside the named output"),
        (Run(1, b"", b"no\n", 0.1, False, ("out.json",)), "refused, and left"),
    ],
)
def test_the_oracle_finds_each_kind_of_failure(run: Run, says: str) -> None:
    case = Case(0, ("export", "d.toml", "--to", "spec", "-o", "out.json"), {"d.toml": b""}, outputs=("out.json",))

    assert says in judge_run(case, run)
    assert says or not judge_run(case, run)
