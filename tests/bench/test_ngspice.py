"""The filter against ngspice, a circuit simulator that steps through time (Debian package ngspice, in batch mode)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from knobmenu.bench import contact, encoder, filter, motion
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.filter import Filter
from knobmenu.bench.signal import Signal
from tests.bench import spice

pytestmark = pytest.mark.skipif(spice.NGSPICE is None, reason="ngspice is not installed (package ngspice)")

FILTERS = 200
"""As many random filters and trains are compared."""

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
        moved = motion.steady(2, float(generator.uniform(5, 60)))
        phase, _ = encoder.contacts(Encoder(), moved, generator)
        preset = PRESETS[str(generator.choice(["encoder-2ms", "encoder-3ms", "encoder-10ms", "switch"]))]
        # The long rests before and after take ngspice time and show nothing.
        bounced = contact.bouncing(preset, phase, generator)
        bounced = Signal(bounced.first, bounced.changes_s - bounced.changes_s[0] + 1e-3)
        _, volts = filter.solve(parts, bounced)
        nearest = min(np.abs(volts - parts.rising_v).min(), np.abs(volts - parts.falling_v).min())
        if np.diff(bounced.changes_s).min() > 1e-6 and nearest > GRAZING_V:
            return parts, bounced, float(bounced.changes_s[-1]) + 5 * parts.open_s


def test_threshold_crossings_are_those_of_ngspice(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    worst = 0.0
    for seed in range(FILTERS):
        parts, bounced, end_s = random_case(seed)
        wave = spice.simulate(parts, bounced, end_s, tmp_path)
        seen, _ = filter.solve(parts, bounced)

        expected = spice.crossings(parts, bounced.first, wave)
        ours = seen.changes_s[seen.changes_s < end_s]
        assert len(ours) == len(expected), f"seed {seed}: a crossing is missed or invented"
        # The delay since the edge that caused it is what 0.1 % is taken of.
        cause = bounced.changes_s[np.searchsorted(bounced.changes_s, ours) - 1]
        allowed = np.maximum(1e-6, 1e-3 * (ours - cause))
        assert np.all(np.abs(ours - expected) <= allowed), f"seed {seed}: {np.abs(ours - expected).max()} s off"
        worst = max(worst, float((np.abs(ours - expected)).max(initial=0.0)))
    with capsys.disabled():
        print(f"\n{FILTERS} filters; the farthest crossing is {worst * 1e6:.2f} us off ngspice's")
