"""Read many mutants: ``python -m tests.fuzz COUNT [KIND…]`` prints what fails and keeps it in build/fuzz."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.fuzz.kinds import KINDS
from tests.fuzz.oracle import judge_mutants

FOUND = Path(__file__).parents[2] / "build" / "fuzz"


def main(count: int, names: list[str]) -> int:
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


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), sys.argv[2:]))
