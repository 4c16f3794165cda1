"""The reading strategies as firmware: plain C in tests/firmware, in a simulated 8-bit controller.

Compiler and simulator are avr-gcc and simavr (Debian packages gcc-avr, avr-libc, simavr). The simulator takes the pins'
levels from a value change dump that `knobmenu.bench.capture.vcd` wrote, and the firmware prints what it counted.

Where the timing in `STRATEGIES` comes from: cycles of a 16 MHz clock, counted in the listing of ``avr-objdump -d``
(gcc-avr 5.4.0, -Os) by the cycle counts of the AVR instruction set manual. Nothing of it was fitted to a count of
detents. The firmware prints its looks too, so that a compiler that needs other cycles is noticed.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Mapping
from pathlib import Path

import attrs
import numpy as np

from knobmenu.bench.capture import vcd
from knobmenu.bench.capture.recording import Recording
from knobmenu.bench.decoder import DecoderKind
from knobmenu.bench.reader import Reader
from knobmenu.bench.schedule import Beginning
from knobmenu.bench.signal import Signal
from knobmenu.knob.quadrature import FULL_PERIOD

FLAGS = (
    *("-mmcu=atmega328p", "-Os", "-std=c99", "-DF_CPU=16000000UL"),
    *("-Wall", "-Wextra", "-Werror", "-pedantic", "-Wconversion", "-Wshadow", "-Wmissing-prototypes", "-Wundef"),
)

SOURCES = Path(__file__).parents[1] / "firmware"
COMPILER, SIMULATOR = shutil.which("avr-gcc"), shutil.which("simavr")

CYCLES_A_MS = 16_000
"""Cycles of the clock, 16 MHz. [cycles/ms]"""

ROUND = 6400 + 54
"""One round of poll.c, [cycles]: `_delay_us` 6400; the report's pin 2, call 4, reading the pins 11, comparing 9,
counting the look 20, counting nothing 6, jump 2. It is 1 longer while A is closed, and up to 10 longer where a detent
is counted."""

ROUND_BLOCKED = ROUND + 4
"""One round of poll_blocked.c: 4 more to count it. [cycles]"""

ROUNDS = 750
"""Rounds of poll_blocked.c between two waits of 200 ms."""

LATENCY = 4 + 3 + 20 + 1
"""From an edge until the pins are read, [cycles]: response 4 (data sheet of the controller, *Interrupt Response Time*),
jump in the vector table 3, registers saved 20, reading 1. The instruction that is interrupted adds 1 or 2."""

SERVICE = 6 + 19 + 20 + 6 + 23
"""From there until the next interrupt, [cycles]: making the code 6, the table 19, counting the look 20, counting
nothing 6, registers restored and return 23."""

SERVICE_A = 6 + 14 + 20 + 6 + 23
"""Likewise of interrupt_a.c, [cycles]: making the code 6, comparing 14, counting the look 20, counting nothing 6,
registers restored and return 23. It is up to 10 longer where a detent is counted."""

START = 110
"""From power-on until a loop first looks, or a timer runs: what the C library and `board_start` do. [cycles]"""

UNSURE_MS = 0.002
"""How well it is known when a firmware looks: the levels have ticks of 1 us, and cycles were counted to 16. [ms]"""

REPORT_S = 0.25
"""How long the report's line stays high: the simulator stops at the last change of its input. A loop may
stand still for 200 ms before it sees the line. [s]"""


@attrs.frozen(kw_only=True)
class Strategy:
    """One way to read the knob, as firmware and as the bench's reader and decoder."""

    source: str
    """Its C file, without the ending."""
    reader: Reader
    decoder: DecoderKind
    step: str = ""
    """The step of debounce.h that it takes."""

    @property
    def first_ms(self) -> float:
        """When it first looks, or masks interrupts. [ms]"""
        return (START + LATENCY if self.reader.kind == "timer" else START) / CYCLES_A_MS

    @property
    def exact(self) -> bool:
        """Whether its looks are known well enough to settle the count; a naive one hangs on each bounce that is met."""
        return self.decoder == "table"


TIMER = Reader(kind="timer", period_ms=1.0)
INTERRUPT = Reader(kind="interrupt", latency_ms=LATENCY / CYCLES_A_MS, service_ms=SERVICE / CYCLES_A_MS)

STRATEGIES = {
    "poll": Strategy(source="poll", reader=Reader(kind="polled", period_ms=ROUND / CYCLES_A_MS), decoder="one-edge"),
    "poll_blocked": Strategy(
        source="poll_blocked",
        reader=Reader(
            kind="polled",
            period_ms=ROUND_BLOCKED / CYCLES_A_MS,
            blocked_for_ms=200.0,
            blocked_every_ms=200.0 + ROUNDS * ROUND_BLOCKED / CYCLES_A_MS,
        ),
        decoder="one-edge",
    ),
    "interrupts": Strategy(source="interrupts", reader=INTERRUPT, decoder="table"),
    "interrupts_masked": Strategy(
        source="interrupts_masked",
        reader=attrs.evolve(INTERRUPT, masked_for_ms=20.0, masked_every_ms=100.0),
        decoder="table",
    ),
    "timer": Strategy(source="timer", reader=TIMER, decoder="table"),
    "timer_lockout": Strategy(
        source="timer_debounced",
        step="lockout_step",
        reader=attrs.evolve(TIMER, debounce="lockout", lockout_ms=5.0),
        decoder="table",
    ),
    "timer_integrator": Strategy(
        source="timer_debounced",
        step="integrator_step",
        reader=attrs.evolve(TIMER, debounce="integrator", samples=4),
        decoder="table",
    ),
    "timer_equal": Strategy(
        source="timer_debounced",
        step="equal_step",
        reader=attrs.evolve(TIMER, debounce="equal", samples=4),
        decoder="table",
    ),
}
"""By their names."""

INTERRUPT_A = Strategy(
    source="interrupt_a",
    reader=attrs.evolve(INTERRUPT, phases="a", service_ms=SERVICE_A / CYCLES_A_MS),
    decoder="one-edge",
)
"""What counts each closing of phase A, and so each that noise makes."""


def known_beginning(strategy: Strategy, first_ms: float) -> Beginning:
    """Return where a firmware begins, which is known.

    Args:
        strategy: of the firmware.
        first_ms: when it first samples, or masks interrupts. [ms]
    """
    reader = strategy.reader
    # The loop stands still after its rounds; what masks interrupts begins immediately.
    rounds_ms = ROUNDS * reader.period_ms if reader.kind == "polled" and reader.blocked_for_ms else 0.0
    return Beginning(first_ms / 1000, (first_ms + rounds_ms) / 1000)


@attrs.frozen
class Tally:
    """What a firmware printed."""

    up: int
    down: int
    samples: int


def build(directory: Path, strategies: Mapping[str, Strategy] = STRATEGIES) -> None:
    """Compile strategies, warnings being errors, with the project's own transition table."""
    entries = [f"0x{entry:02x}u," for entry in FULL_PERIOD]
    rows = [" ".join(entries[row : row + 4]) for row in range(0, len(entries), 4)]
    (directory / "full_period.inc").write_text("\n".join(rows) + "\n")
    for name, strategy in strategies.items():
        step = [f"-DSTEP={strategy.step}"] if strategy.step else []
        files = (f"-I{directory}", f"-I{SOURCES}", f"{SOURCES}/{strategy.source}.c", f"{SOURCES}/board.c")
        subprocess.run([str(COMPILER), *FLAGS, *step, *files, "-o", f"{directory}/{name}.elf"], check=True)


def dump(pins: tuple[Signal, Signal], end_s: float) -> str:
    """Write the contacts as levels of the controller's pins (closed is low), and the line that asks for the report.

    The tick is 1 us: version 1.6 of the simulator takes every tick for that, whatever the timescale says.
    """
    a, b = (Signal(1 - pin.first, pin.changes_s) for pin in pins)
    lines = {"iogD_2": a, "iogD_3": b, "iogD_4": Signal(0, np.array([end_s, end_s + REPORT_S]))}
    return vcd.write_vcd(Recording(lines, end_s + REPORT_S), tick_ns=1000)


def simulate(name: str, directory: Path, levels: Path) -> Tally:
    """Run a strategy's firmware from power-on until its report."""
    clock = ("-m", "atmega328p", "-f", str(CYCLES_A_MS * 1000))
    done = subprocess.run(
        [str(SIMULATOR), *clock, "-i", str(levels), f"{directory}/{name}.elf"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    # The simulator shows a line of the serial port with a dot for its end.
    report = re.search(r"(\d+) (\d+) (\d+)\.", done.stdout + done.stderr)
    assert report, f"{name} printed no report: {done.stdout[-500:]}{done.stderr[-500:]}"
    return Tally(*(int(number) for number in report.groups()))
