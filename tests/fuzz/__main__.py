"""Read many mutants, or run the command line on them; what fails is printed and kept in build/fuzz.

``python -m tests.fuzz COUNT [KIND…]`` reads COUNT mutants of each kind through the library.
``python -m tests.fuzz --command-line COUNT [FIRST]`` runs COUNT cases through the real command line.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from tests.fuzz.command_line import COUNTS, judge_cases
from tests.fuzz.kinds import KINDS
from tests.fuzz.oracle import judge_mutants

FOUND = Path(__file__).parents[2] / "build" / "fuzz"


def read(count: int, names: list[str]) -> int:
    """Read `count` mutants of each kind named, or of all; return the exit code."""
    found = 0
    FOUND.mkdir(parents=True, exist_ok=True)
    for name in names or KINDS:
        failures = 0
        for failure in judge_mutants(name, count):
            failures += 1
            if failures <= 20:
                print(failure, "\n")
            (FOUND / f"{name}.{failure.number}.bin").write_bytes(failure.content)
        print(f"{name}: {count} read, {failures} failed", flush=True)
        found += failures
    return 1 if found else 0


def run(count: int, first: int = 0) -> int:
    """Run cases through the command line; return the exit code."""
    failures = 0
    for case, done, what in judge_cases(range(first, first + count), lambda line: print(line, flush=True)):
        failures += 1
        print(f"{case}\n  {what}\n  status {done.status}, {done.took_s:.2f} s\n", flush=True)
        folder = FOUND / f"case-{case.number}"
        shutil.rmtree(folder, ignore_errors=True)
        for name, content in case.files.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(content)
    print(f"{count} runs, {failures} failed: {dict(COUNTS)}", flush=True)
    return 1 if failures else 0


if __name__ == "__main__":
    if sys.argv[1] == "--command-line":
        sys.exit(run(*map(int, sys.argv[2:])))
    sys.exit(read(int(sys.argv[1]), sys.argv[2:]))
