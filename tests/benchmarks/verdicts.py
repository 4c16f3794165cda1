"""A verdict with its plan and all corners: the demo chains and forty random ones, each in a process of its own.

Goal: under 5 s on two cores. One process does it all, so the time of the processor is what a machine needs that has
nothing else to do; wall time is longer where the machine is busy. Both are those of the judging alone; reading Python
and its libraries comes first and is not counted.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

from knobmenu.bench.chain import Chain, change
from knobmenu.bench.chain_file import loads
from knobmenu.bench.plan import make_plan
from knobmenu.bench.verdict import reach_verdict
from tests.bench.random_chains import random_chain

CHAINS = Path(__file__).parents[2] / "demos" / "chains"
SEEDS = range(500, 540)
RUNS = Chain().judging.seeds
"""Random seeds that each chain is judged with: as many as by default."""

GOAL_S = 5.0


def make_chain(name: str) -> Chain:
    """Return a random chain by its seed, or the chain in a file."""
    if name.isdigit():
        return change(random_chain(int(name)), {"judging.seeds": RUNS})
    return loads(Path(name).read_text(encoding="utf-8"))


def measure(name: str) -> None:
    """Judge one chain, a file or the seed of a random one.

    Print wall time, the time of the processor, how often progress was reported, the speed reached, and the proposals.
    """
    chain = make_chain(name)
    reports: list[str] = []
    wall_s, processor_s = time.perf_counter(), time.process_time()
    found, proposed = reach_verdict(chain, reports.append), make_plan(chain, reports.append)
    wall_s, processor_s = time.perf_counter() - wall_s, time.process_time() - processor_s
    print(wall_s, processor_s, len(reports), found.worst.turns_per_s, len(proposed.proposals))


def main() -> None:
    """Measure every chain."""
    print(f"{'chain':<20} {'wall s':>7} {'processor s':>12} {'reports':>8} {'turns/s':>8} {'proposals':>10}")
    worst: list[tuple[float, float, str]] = []
    for name in (*map(str, sorted(CHAINS.glob("*.toml"))), *map(str, SEEDS)):
        code = f"from tests.benchmarks.verdicts import measure; measure({name!r})"
        printed = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout
        wall_s, processor_s, reports, reached, proposals = map(float, printed.split())
        title = f"random {name}" if name.isdigit() else Path(name).stem
        print(
            f"{title:<20} {wall_s:7.2f} {processor_s:12.2f} {reports:8.0f} {reached:8.3g} {proposals:10.0f}", flush=True
        )
        worst.append((processor_s, wall_s, title))
    processor_s, wall_s, title = max(worst)
    above = sum(one > GOAL_S for one, _, _ in worst)
    print(
        f"the slowest of {len(worst)}: {title}, {processor_s:.2f} s of a processor, {wall_s:.2f} s wall;"
        f" the longest wall time {max(one for _, one, _ in worst):.2f} s; {above} above {GOAL_S:g} s of a processor"
    )


if __name__ == "__main__":
    main()
