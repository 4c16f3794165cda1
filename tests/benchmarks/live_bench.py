"""The live bench in a pseudo-terminal: from a key that changes the chain to the first figures of the changed chain.

First figures are a row of the table that is judged (with ✓ or ✗), and the run that the waveforms show. Half of the keys
come while the chain before is still being judged, which has to be broken off first. Goal: within 0.3 s. What is printed
is wall time, which a busy machine lengthens, and the program's own processor time within it.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from tests.terminal.pty_harness import KNOBMENU, Terminal

CHAINS = Path(__file__).parents[2] / "demos" / "chains"
SIZES = ((80, 24), (110, 40))
KEYS = 24
RIGHT, LEFT, DOWN = "\x1b[C", "\x1b[D", "\x1b[B"
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


def latencies(command: tuple[str, ...], columns: int, rows: int) -> list[tuple[float, float, float]]:
    """Change the speed again and again; return the time to the run, to the first figures, and the processor's. [ms]"""
    found = []
    with Terminal(command, columns, rows) as terminal:
        terminal.wait_for("→ motion", 20)
        terminal.wait_for(has_figures, 20)
        terminal.type(DOWN)
        for number in range(KEYS):
            # Every other key comes once all is judged, or a little later than the first figures.
            terminal.settle(0.5, 5.0) if number % 2 else terminal.settle(0.02, 0.2)
            before = terminal.text.partition("\n")[0]
            used_s, sent_s = processor_s(terminal), time.monotonic()
            terminal.type(RIGHT if number % 6 < 3 else LEFT)
            # With the key's message the rows of the chain before are dimmed.
            wait(terminal, partial(has_new_header, before))
            run_s = wait(terminal, lambda text: "before the change" not in text) - sent_s
            figures_s = wait(terminal, has_figures) - sent_s
            found.append((run_s * 1000, figures_s * 1000, (processor_s(terminal) - used_s) * 1000))
    return found


def main() -> None:
    """Measure the built-in chain and those of the demos."""
    print("key to the first figures [ms]    run p50   max   figures p50   max   processor p50   max   (goal: 300)")
    slowest = 0.0
    for path in (None, *sorted(CHAINS.glob("*.toml"))):
        for columns, rows in SIZES:
            command = (*KNOBMENU, "bench", "live", *([str(path)] if path else []))
            runs, figures, used = zip(*latencies(command, columns, rows), strict=True)
            slowest = max(slowest, *figures)
            name = f"{path.stem if path else 'built-in'} {columns}x{rows}"
            parts = [f"{statistics.median(ones):9.0f} {max(ones):5.0f}" for ones in (runs, figures, used)]
            print(f"  {name}".ljust(32) + parts[0] + parts[1].rjust(20) + parts[2].rjust(22), flush=True)
    print(f"the slowest first figures: {slowest:.0f} ms")


if __name__ == "__main__":
    main()
