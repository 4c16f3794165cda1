"""One million edges through contacts, filter, reader and decoder.

Goal: under 2 s of one core, for every way of reading. What is timed is the time of the processor, which other work on
the machine lengthens little; how the knob is turned is worked out before. Each line also says how much faster than the
turning itself the whole chain goes, and what share of its time is that of reader and decoder.

Then captures of two lengths, each measured and replayed in a process of its own. Goal: the longer takes no more memory.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from knobmenu.bench import motion
from knobmenu.bench.capture import vcd
from knobmenu.bench.capture.recording import Recording
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.filter import Filter
from knobmenu.bench.reader import Reader
from knobmenu.bench.signal import Signal
from tests.bench.stages import bouncing_phases, contacts, decode, filtered, read

EDGES = 1_000_000
"""At least so many edges of both contacts."""

DETENTS = 51_000
PART = Encoder()
RC = Filter(series_ohm=10_000.0, capacitor_f=1e-8, rising_v=2.9, falling_v=1.9)

READERS = {
    "loop of 1 ms": Reader(kind="polled", period_ms=1.0),
    "loop of 1 ms, uneven and blocked": Reader(
        kind="polled", period_ms=1.0, jitter_ms=0.2, blocked_for_ms=20.0, blocked_every_ms=500.0
    ),
    "timer of 1 ms": Reader(kind="timer", period_ms=1.0),
    "timer of 1 ms, lock-out": Reader(kind="timer", period_ms=1.0, debounce="lockout"),
    "timer of 1 ms, integrator": Reader(kind="timer", period_ms=1.0, debounce="integrator"),
    "timer of 1 ms, equal samples": Reader(kind="timer", period_ms=1.0, debounce="equal"),
    "timer of 1 ms, uneven and masked": Reader(
        kind="timer", period_ms=1.0, jitter_ms=0.2, masked_for_ms=20.0, masked_every_ms=500.0, debounce="equal"
    ),
    "interrupts": Reader(kind="interrupt"),
}


LENGTHS = (10_000, 100_000)
"""Detents of the captures, about 20 edges each. [detents]"""

REPLAY = """
import re, sys, time
from pathlib import Path
from knobmenu.bench.capture.file import CaptureFile
from knobmenu.bench.capture.measure import measure
from knobmenu.bench.capture.replay import replay
from knobmenu.bench.chain import Chain
capture = CaptureFile(Path(sys.argv[1]))
measured = measure(capture)
net = replay(capture, measured, Chain(), 1).net
status = Path("/proc/self/status").read_text()  # of this program alone; getrusage tells of its parent, too
print(net, time.process_time(), re.search(r"VmHWM:\\s+(\\d+)", status)[1])
"""


def main() -> None:
    """Print the figures."""
    stages()
    captures()


def stages() -> None:
    """Print the time of each stage and of the whole."""
    moved = motion.make_flicks(DETENTS, 20.0, np.random.default_rng(1))

    begun = time.process_time()
    bounced = bouncing_phases(PRESETS["encoder-2ms"], contacts(PART, moved, 1), 1)
    bouncing_s = time.process_time() - begun
    edges = sum(len(phase.changes_s) for phase in bounced)
    assert edges >= EDGES

    begun = time.process_time()
    pins = filtered(RC, bounced[0]), filtered(RC, bounced[1])
    filtering_s = time.process_time() - begun
    print(f"{edges} edges of {DETENTS} detents in {moved.end_s:.0f} s of turning")
    print(f"contacts {bouncing_s:.2f} s, filter {filtering_s:.2f} s; the whole, goal under 2 s:")
    slowest_s = 0.0
    for levels, before_s, words in ((pins, bouncing_s + filtering_s, "filtered"), (bounced, bouncing_s, "bare")):
        for name, look in READERS.items():
            begun = time.process_time()
            seen = read(look, levels[0], levels[1], moved.end_s, 2)
            _, counted = decode("table", PART, 0, *seen)
            reading_s = time.process_time() - begun
            whole_s = before_s + reading_s
            slowest_s = max(slowest_s, whole_s)
            print(
                f"  {name:<33} {words:<9} {whole_s:5.2f} s, {moved.end_s / whole_s:6.0f} times as fast as the knob,"
                f" reading {reading_s / whole_s * 100:2.0f} %, {counted.sum()} counted"
            )
    print(f"the slowest takes {slowest_s:.2f} s")


def captures() -> None:
    """Print time and memory of captures."""
    most_kb = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "knob.vcd"
        for detents in LENGTHS:
            moved = motion.make_flicks(detents, 20.0, np.random.default_rng(1))
            bounced = bouncing_phases(PRESETS["encoder-2ms"], contacts(PART, moved, 1), 1)
            pins = {name: Signal(1, phase.changes_s) for name, phase in zip("ab", bounced, strict=True)}
            path.write_text(vcd.write_vcd(Recording(pins, moved.end_s)))
            done = subprocess.run([sys.executable, "-c", REPLAY, path], check=True, capture_output=True, text=True)
            net, took_s, memory_kb = done.stdout.split()
            assert int(net) == detents
            edges = sum(len(pin.changes_s) for pin in pins.values())
            most_kb.append(int(memory_kb))
            print(
                f"capture of {edges} edges, {path.stat().st_size / 1e6:.0f} MB:"
                f" {int(memory_kb) / 1024:.0f} MiB at most, {edges / float(took_s):.0f} edges a second, 3 readings"
            )
    print(f"{LENGTHS[1] / LENGTHS[0]:.0f} times as long takes {most_kb[1] / most_kb[0]:.2f} times the memory")


if __name__ == "__main__":
    main()
