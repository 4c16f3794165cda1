"""The terminal app against a minimal app of the same library, in pseudo-terminals of the same size, in the same run.

What is measured: from a key's byte to the last byte of output that follows it (without the terminal's own drawing),
wanted at most 1.5 times the minimal app's, twice at the very most; the first whole frame, at most 1.3 times; whether
turning at 200 detents per second for 10 s leaves more behind than turning for 2 s; and memory over a million events,
from which the first can still be gone back to. The two apps take turns, key by key and start by start, so that a
machine that drifts drifts for both; the minimal app shows as much text (`_minimal.py`).
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory, mkdtemp

from knobmenu.files.starter import read_starter
from knobmenu.files.toml import loads
from knobmenu.picture.display import draw
from knobmenu.picture.forms import Form, Manner
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from tests.benchmarks._alone import most_memory, run_alone
from tests.terminal.pty_harness import KNOBMENU, Terminal, environment

MINIMAL = (sys.executable, str(Path(__file__).with_name("_minimal.py")))
SIZES = ((80, 24), (120, 40), (200, 50))
KEYS = 500
SILENCE = 0.06
UP = "\x1b[A"
DOWN = "\x1b[B"
_STATE = TemporaryDirectory(prefix="knobmenu-benchmark-")


def last_byte(terminal: Terminal, since: float, silence: float = SILENCE) -> float:
    """Return how long after a moment the program wrote last, before it was silent. [s]"""
    last = since
    while time.monotonic() - max(last, since) < silence or (last == since and time.monotonic() - since < 1.0):
        if terminal.pump(0.005):
            last = time.monotonic()
    return last - since


def started(command: tuple[str, ...], columns: int, rows: int) -> tuple[Terminal, float]:
    """Start a program; return it, and how long its first whole frame took. [s]"""
    # What an earlier start left unsaved would be offered just after the first frame.
    environ = environment(XDG_STATE_HOME=mkdtemp(dir=_STATE.name))
    began = time.monotonic()
    terminal = Terminal(command, columns, rows, environ)
    while len(terminal.output) < 500:
        if terminal.process.poll() is not None:
            raise SystemExit(f"{' '.join(command)} ended at once:\n{terminal.output.decode(errors='replace')}")
        terminal.pump(0.005)
    return terminal, last_byte(terminal, began, 0.15)


def latencies(terminals: Sequence[Terminal], keys: int, seed: int) -> list[list[float]]:
    """Type keys one by one, some up and some down, at uneven times, the same into each program in turn.

    Returns:
        For each program, how long each key took. [ms]
    """
    chance = random.Random(seed)
    took: list[list[float]] = [[] for _ in terminals]
    for number in range(keys):
        time.sleep(chance.random() * 0.02)
        for terminal, ones in zip(terminals, took, strict=True):
            while terminal.pump(0):
                pass
            sent = time.monotonic()
            terminal.type(UP if number % 20 < 10 else DOWN)
            ones.append(1000 * last_byte(terminal, sent))
    return took


def at(share: float, values: list[float]) -> float:
    """Return the value that a share of all do not exceed."""
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def compare_keys() -> None:
    """Compare the time from key to last byte."""
    print("key to last byte [ms]      minimal p50   p99      app p50   p99      ratio p50   p99")
    for columns, rows in SIZES:
        (minimal, _), (app, _) = started(MINIMAL, columns, rows), started(APP, columns, rows)
        with minimal, app:
            latencies((minimal, app), 10, 0)
            (a50, a99), (b50, b99) = (
                (at(0.5, took), at(0.99, took)) for took in latencies((minimal, app), KEYS, columns)
            )
        print(
            f"  {columns}x{rows}".ljust(27)
            + f"{a50:11.1f} {a99:5.1f} {b50:12.1f} {b99:5.1f} {b50 / a50:14.2f} {b99 / a99:5.2f}",
            flush=True,
        )


def compare_first_frames() -> None:
    """Compare the time from starting to the first whole frame."""
    print("first whole frame [ms]         minimal         app       ratio")
    for columns, rows in SIZES:
        both: dict[tuple[str, ...], list[float]] = {MINIMAL: [], APP: []}
        for _ in range(9):
            for command, took in both.items():
                terminal, first = started(command, columns, rows)
                took.append(1000 * first)
                terminal.__exit__()
        minimal, app = (statistics.median(took) for took in both.values())
        print(f"  {columns}x{rows}".ljust(27) + f"{minimal:11.0f} {app:11.0f} {app / minimal:11.2f}")


def turn_on_and_on() -> None:
    """Turn at 200 detents per second, shortly and for long; print what was left when the turning ended."""
    print("200 detents per second: from the last key to the last byte [ms]      after 2 s   after 10 s")
    for columns, rows in SIZES:
        left = []
        for seconds in (2, 10):
            terminal, _ = started(APP, columns, rows)
            with terminal:
                began = time.monotonic()
                for number in range(200 * seconds):
                    while time.monotonic() < began + number / 200:
                        terminal.pump(0.001)
                    terminal.type(UP if number % 40 < 20 else DOWN)
                left.append(1000 * last_byte(terminal, time.monotonic()))
        print(f"  {columns}x{rows}".ljust(66) + f"{left[0]:11.0f} {left[1]:12.0f}")


def go_on_for_a_million_events() -> None:
    """Turn a million times, drawing as an app does; print the memory on the way."""
    session = Session(Timeline([loads(read_starter())]), 0)
    display = session.designs[0].display
    print("events     most memory so far [MiB]")
    draw(display, session.parts[0].screen, Form("half"), Manner())
    print(f"{0:>9} {most_memory():12.1f}")
    for number in range(1, 1_000_001):
        session.turn(1 if number % 20 < 10 else -1, 100 * number)
        if number % 10 == 0:
            draw(display, session.parts[0].screen, Form("half"), Manner())
        if number in (100_000, 200_000, 500_000, 1_000_000):
            print(f"{number:>9} {most_memory():12.1f}")
    for place, name in ((1, "the first event"), (session.history.last // 2, "the middle")):
        began = time.perf_counter()
        session.go(place, 200_000_000)
        assert session.parts[0].event is not None
        print(f"back to {name}: {1000 * (time.perf_counter() - began):.0f} ms")


def hold_memory_of_the_app() -> None:
    """Print the most memory of both apps in a terminal of 120 by 40, after the first frame and after 1000 keys."""
    print("most memory of the process [MiB]    first frame   after 1000 keys")
    for name, command in (("minimal", MINIMAL), ("app", APP)):
        terminal, _ = started(command, 120, 40)
        with terminal:
            held = [_most_memory_of(terminal.process.pid)]
            for number in range(1000):
                terminal.type(UP if number % 20 < 10 else DOWN)
                terminal.pump(0)
            terminal.settle(0.3)
            held.append(_most_memory_of(terminal.process.pid))
        print(f"  {name}".ljust(34) + f"{held[0]:13.1f} {held[1]:17.1f}")


def _most_memory_of(process: int) -> float:
    """Return the most memory that another process has held (proc(5), VmHWM). [MiB]"""
    status = Path(f"/proc/{process}/status").read_text(encoding="ascii", errors="replace")
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024


APP = (*KNOBMENU, "try")

if __name__ == "__main__":
    compare_keys()
    compare_first_frames()
    turn_on_and_on()
    sys.stdout.write(run_alone("tests.benchmarks.terminal", "go_on_for_a_million_events"))
    sys.stdout.write(run_alone("tests.benchmarks.terminal", "hold_memory_of_the_app"))
