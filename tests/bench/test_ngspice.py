"""The filter against ngspice, a circuit simulator that steps through time (Debian package ngspice, in batch mode)."""

from __future__ import annotations

import os
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import mkdtemp

import numpy as np
import pytest

from knobmenu.bench import motion
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.filter import Filter, follow, settle
from knobmenu.bench.signal import Signal
from tests.bench import spice
from tests.bench.stages import bouncing, contacts, filtered

pytestmark = pytest.mark.skipif(spice.NGSPICE is None, reason="ngspice is not installed (package ngspice)")

FILTERS = 200
"""As many random filters and trains are compared."""

REPEATS = 20
"""How often the filter's own time is taken; it is short."""

GRAZING_V = 1e-3
"""A bounce that turns this near to a threshold is drawn again: there even equal circuits may differ. [V]"""


def random_case(seed: int) -> tuple[Filter, Signal, float]:
    generator = np.random.default_rng(seed)
    while True:
        supply_v = float(generator.choice([1.8, 3.3, 5.0, 12.0]))
        low, high = sorted(generator.uniform(0.2, 0.8, 2).tolist())
        if generator.random() < 0.3:
            low = high
        parts = Filter(
            supply_v=supply_v,
            pull_up_ohm=float(10 ** generator.uniform(3, 5)),
            series_ohm=float(10 ** generator.uniform(2, 5)),
            capacitor_f=float(10 ** generator.uniform(-8.5, -6.5)),
            contact_ohm=float(10 ** generator.uniform(-1, 2)),
            rising_v=supply_v * high,
            falling_v=supply_v * low,
        )
        if not (parts.closed_s > 1e-5 and parts.open_s < 5e-2 and parts.closed_v < parts.falling_v):
            continue
        moved = motion.make_steady(2, float(generator.uniform(5, 60)))
        phase, _ = contacts(Encoder(), moved, seed)
        preset = PRESETS[str(generator.choice(["encoder-2ms", "encoder-3ms", "encoder-10ms", "switch"]))]
        # The long rests before and after take ngspice time and show nothing.
        bounced = bouncing(preset, phase, int(generator.integers(2**31)))
        bounced = Signal(bounced.first, bounced.changes_s - bounced.changes_s[0] + 1e-3)
        rest_v = settle(parts, bounced.first)
        volts = follow(parts, bool(bounced.first), 0.0, rest_v, bounced.changes_s).begins_v[1:]
        nearest = min(np.abs(volts - parts.rising_v).min(), np.abs(volts - parts.falling_v).min())
        if np.diff(bounced.changes_s).min() > 1e-6 and nearest > GRAZING_V:
            return parts, bounced, float(bounced.changes_s[-1]) + 5 * parts.open_s


def test_threshold_crossings_are_those_of_ngspice(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cases = [random_case(seed) for seed in range(FILTERS)]

    def simulated(case: tuple[Filter, Signal, float]) -> spice.Waveform:
        parts, bounced, end_s = case
        return spice.simulate(parts, bounced, end_s, Path(mkdtemp(dir=tmp_path)))

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        worst = max(apart(case, wave) for case, wave in zip(cases, pool.map(simulated, cases), strict=True))
    with capsys.disabled():
        print(f"\n{FILTERS} filters; the farthest crossing is {worst:.2f} of what is allowed off ngspice's")


def apart(case: tuple[Filter, Signal, float], wave: spice.Waveform) -> float:
    """Give how far the crossings are apart at most, as a share of what is allowed; none may be missed or invented."""
    parts, bounced, end_s = case
    seen = filtered(parts, bounced)
    ours, expected = seen.changes_s[seen.changes_s < end_s], spice.crossings(parts, bounced.first, wave)
    assert len(ours) == len(expected), f"{parts}: a crossing is missed or invented"
    # The delay since the edge that caused it is what 0.1 % is taken of.
    cause = bounced.changes_s[np.searchsorted(bounced.changes_s, ours) - 1]
    share = np.abs(ours - expected) / np.maximum(1e-6, 1e-3 * (ours - cause))
    assert np.all(share <= 1), f"{parts}: {np.abs(ours - expected).max()} s off"
    return float(share.max(initial=0.0))


def test_the_filter_is_a_thousand_times_as_fast_as_ngspice(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Simulated seconds for each second of a processor, on the same short trains, one after the other.

    The simulator walks in the longest steps that are exact enough for the comparison above. Counted against it is its
    walk alone: neither its start nor writing the voltages.
    """
    cases = [random_case(seed) for seed in range(0, FILTERS, 5)]
    theirs_s = sum(spice.cost_s(*case, tmp_path) for case in cases)
    start_s = min(spice.start_cost_s(tmp_path) for _ in range(5))
    begun_s = time.process_time()
    for _ in range(REPEATS):
        for parts, bounced, _ in cases:
            filtered(parts, bounced)
    ours_s = (time.process_time() - begun_s) / REPEATS

    walking_s = theirs_s - len(cases) * start_s
    simulated_s = sum(end_s for _, _, end_s in cases)
    with capsys.disabled():
        print(
            f"\n{simulated_s / ours_s:.0f} simulated seconds a second; {walking_s / ours_s:.0f} times ngspice"
            f" ({theirs_s / ours_s:.0f} times with its start of {start_s * 1000:.1f} ms)"
        )
    assert walking_s / ours_s >= 1000
