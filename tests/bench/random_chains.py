"""Random chains as people build them."""

from __future__ import annotations

import numpy as np

from knobmenu.bench.chain import Chain, change
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.decoder import DECODERS
from knobmenu.bench.errors import BenchError
from knobmenu.bench.preferred import list_values


def random_chain(seed: int) -> Chain:
    """Draw a chain as people build them."""
    generator = np.random.default_rng(seed)

    def one_of(*choices: float | str) -> float | str:
        return choices[int(generator.integers(len(choices)))]

    while True:
        filtered = generator.random() < 0.5
        low = float(one_of(1.7, 2.62))
        kind = str(one_of("polled", "timer", "interrupt"))
        changes = {
            "judging.seeds": 8,
            "turning.detents": 60,
            "judging.target_turns_per_s": one_of(0.5, 1.0, 2.0),
            "encoder.pulses_per_turn": one_of(12, 20, 24),
            "contact.preset": one_of(*PRESETS),
            "filter.series_ohm": one_of(0.0, 10_000.0, 22_000.0, 47_000.0),
            "filter.capacitor_f": one_of(*list_values("E6", 1e-8, 1e-6)) if filtered else 0.0,
            "filter.rising_v": 2.62,
            "filter.falling_v": low,
            "reader.kind": kind,
            "reader.period_ms": one_of(0.1, 1.0, 5.0, 20.0),
            "reader.debounce": one_of("none", "lockout") if kind == "interrupt" else one_of("none", "lockout", "equal"),
            "reader.lockout_ms": one_of(1.0, 5.0, 20.0),
            "decoder.kind": one_of(*DECODERS),
        }
        if generator.random() < 0.3:
            changes |= {"reader.blocked_for_ms": 50.0, "reader.blocked_every_ms": 300.0}
        if generator.random() < 0.3:
            changes |= {"reader.masked_for_ms": 5.0, "reader.masked_every_ms": 50.0}
        try:
            return change(Chain(), changes)
        except BenchError:
            continue
