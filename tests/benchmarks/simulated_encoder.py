"""The simulated encoder: processor time of one turn, against the same motion through the bench's whole-signal stages.

A hand turns a detent every 60 ms for two minutes, and the knob is asked every 15 ms what was counted, as the app does.
Goal: a turn with the asking that belongs to it takes less than 2 ms, and the last hundred turns no longer than twice
the first hundred. The bench's own stages work the same detents in one go; that is no goal, it is what can be had where
the future is known.
"""

from __future__ import annotations

import statistics
import time

import attrs

from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.filter import Filter
from knobmenu.bench.live import FIRST_TRY, SimulatedKnob
from knobmenu.bench.run import run

TURNS = 2000
EVERY_MS = 60
ASKED_MS = 15

RC = Filter(series_ohm=10_000.0, capacitor_f=1e-7, rising_v=2.9, falling_v=1.9)
CHAINS = {
    "built-in": Chain(),
    "a first try": FIRST_TRY,
    "30 ms of bounce behind an RC": attrs.evolve(FIRST_TRY, contact=PRESETS["encoder-30ms"], filter=RC),
}


def turns_s(chain: Chain) -> list[float]:
    """Give the processor time of each turn, with the asking up to the next. [s]"""
    knob, taken = SimulatedKnob(chain), []
    for number in range(TURNS):
        at_ms = number * EVERY_MS
        began = time.process_time()
        knob.turn(1, at_ms)
        for asked_ms in range(at_ms, at_ms + EVERY_MS, ASKED_MS):
            knob.wait(asked_ms)
        taken.append(time.process_time() - began)
    return taken


def whole_s(chain: Chain) -> float:
    """Give the processor time of a detent when all are turned in one go. [s]"""
    steady = attrs.evolve(chain, turning=Turning(kind="steady", detents=TURNS))
    began = time.process_time()
    run(steady, 1)
    return (time.process_time() - began) / TURNS


def main() -> None:
    """Measure, and say how it compares with the goals."""
    for name, chain in CHAINS.items():
        taken = turns_s(chain)
        taken_ms = sorted(second * 1000 for second in taken)
        typical, slow = taken_ms[TURNS // 2], taken_ms[TURNS * 99 // 100]
        drift = statistics.median(taken[-100:]) / statistics.median(taken[:100])
        print(
            f"{name}: a turn {typical:.2f} ms, 99 of 100 within {slow:.2f} ms (goal 2),"
            f" last to first {drift:.2f} (goal 2), against all in one go {typical / whole_s(chain) / 1000:.0f} times"
        )


if __name__ == "__main__":
    main()
