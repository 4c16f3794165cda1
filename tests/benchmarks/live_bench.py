"""The live bench in a pseudo-terminal: from a key that changes the chain to the first figures of the changed chain.

First figures are a row of the table that is judged (with ✓ or ✗), and the run that the waveforms show. Every sample is
a chain that was not there before, so that nothing of it is known: the knob's speed goes up and down through all its
values, and at either end the encoder gets more pulses. Half of the keys come while the chain before is still being
judged, which has to be broken off first. Goal: within 0.3 s. What is printed is wall time, which a busy machine
lengthens, and the program's own processor time within it.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from knobmenu.bench.chain import Chain
from knobmenu.bench.chain_file import loads
from knobmenu.bench.parameters import list_parameters, turn_parameter
from tests.terminal.pty_harness import KNOBMENU, Terminal

CHAINS = Path(__file__).parents[2] / "demos" / "chains"
SIZES = ((80, 24), (110, 40))
KEYS = 24
RIGHT, LEFT, DOWN, UP = "\x1b[C", "\x1b[D", "\x1b[B", "\x1b[A"
MOTION, SPEED, PULSES = "turning.kind", "turning.turns_per_s", "encoder.pulses_per_turn"
"""The first three parameters on the screen, in order."""
TICKS = os.sysconf("SC_CLK_TCK")


def processor_s(terminal: Terminal) -> float:
    """Return the processor time that the program has used (proc(5), stat: utime and stime). [s]"""
    fields = Path(f"/proc/{terminal.process.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def has_figures(text: str) -> bool:
    """Tell whether a row of the table is judged."""
    return any(line.rstrip().endswith(("✓", "✗")) or " ✓ " in line or " ✗ " in line for line in text.splitlines())


def has_new_header(before: str, text: str) -> bool:
    """Tell whether the header says something else than before."""
    return text.partition("\n")[0] != before


def wait(terminal: Terminal, found: Callable[[str], bool]) -> float:
    """Wait until the screen is so; return when it is. [s]"""
    until = time.monotonic() + 20
    while time.monotonic() < until:
        if found(terminal.text):
            return time.monotonic()
        terminal.pump(0.005)
    raise SystemExit(f"the screen never showed what was awaited:\n{terminal.text}")


def plan_keys(chain: Chain) -> list[tuple[str, str, str]]:
    """Return keys that make a new chain each: what is typed before, the key itself, and what is typed after it."""
    speed, pulses = (one for one in list_parameters(chain) if one.path in (SPEED, PULSES))
    keys: list[tuple[str, str, str]] = []
    seen, steps = {chain}, 1
    while len(keys) < KEYS:
        turned, key = turn_parameter(chain, speed, steps).chain, ("", RIGHT if steps > 0 else LEFT, "")
        if turned in seen:
            steps = -steps
            turned, key = turn_parameter(chain, pulses, 1).chain, (DOWN, RIGHT, UP)
        assert turned not in seen
        chain = turned
        seen.add(chain)
        keys.append(key)
    return keys


def latencies(path: Path | None, columns: int, rows: int) -> list[tuple[float, float, float]]:
    """Change a chain again and again; return the time to the run, to the first figures, and the processor's. [ms]"""
    chain = loads(path.read_text(encoding="utf-8")) if path else Chain()
    assert [one.path for one in list_parameters(chain)[:3]] == [MOTION, SPEED, PULSES]
    found = []
    with Terminal((*KNOBMENU, "bench", "live", *([str(path)] if path else [])), columns, rows) as terminal:
        terminal.wait_for("→ motion", 20)
        terminal.wait_for(has_figures, 20)
        terminal.type(DOWN)
        for number, (before_key, key, after_key) in enumerate(plan_keys(chain)):
            terminal.type(before_key)
            # Every other key comes once all is judged, or a little later than the first figures.
            terminal.settle(0.5, 5.0) if number % 2 else terminal.settle(0.02, 0.2)
            header = terminal.text.partition("\n")[0]
            used_s, sent_s = processor_s(terminal), time.monotonic()
            terminal.type(key)
            # With the key's message the rows of the chain before are dimmed.
            wait(terminal, partial(has_new_header, header))
            run_s = wait(terminal, lambda text: "before the change" not in text) - sent_s
            figures_s = wait(terminal, has_figures) - sent_s
            found.append((run_s * 1000, figures_s * 1000, (processor_s(terminal) - used_s) * 1000))
            terminal.type(after_key)
    return found


def main() -> None:
    """Measure the built-in chain and those of the demos."""
    print("key to the first figures [ms]    run p50   max   figures p50   max   processor p50   max   (goal: 300)")
    slowest = most_used = 0.0
    for path in (None, *sorted(CHAINS.glob("*.toml"))):
        for columns, rows in SIZES:
            runs, figures, used = zip(*latencies(path, columns, rows), strict=True)
            slowest, most_used = max(slowest, *figures), max(most_used, *used)
            name = f"{path.stem if path else 'built-in'} {columns}x{rows}"
            parts = [f"{statistics.median(ones):9.0f} {max(ones):5.0f}" for ones in (runs, figures, used)]
            print(f"  {name}".ljust(32) + parts[0] + parts[1].rjust(20) + parts[2].rjust(22), flush=True)
    print(f"the slowest first figures: {slowest:.0f} ms; the most of a processor: {most_used:.0f} ms")


if __name__ == "__main__":
    main()
