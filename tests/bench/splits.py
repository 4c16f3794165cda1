"""A motion through an engine in one piece or in several, and everything that comes of it."""

from __future__ import annotations

import numpy as np

from knobmenu.bench.chain import Chain
from knobmenu.bench.engine import Engine, Traces
from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import Floats

TAIL_S = 1.0
"""How long after the motion's end time goes on, so that what is late arrives. [s]"""

Everything = dict[str, list[float]]
"""Every edge, sample and count, by its stage."""


def everything(traces: list[Traces]) -> Everything:
    """Join what each feed returned."""
    stages: dict[str, list[Floats]] = {}
    for one in traces:
        count = one.counting
        for name, values in (
            ("contact A", one.contacts[0]),
            ("contact B", one.contacts[1]),
            ("pin A", one.pins[0]),
            ("pin B", one.pins[1]),
            ("samples", count.samples_s),
            ("codes", count.codes.astype(np.float64)),
            ("counted at", count.counted_s),
            ("counted", count.counted.astype(np.float64)),
        ):
            stages.setdefault(name, []).append(values)
    return {name: np.concatenate(pieces).tolist() for name, pieces in stages.items()}


def split_s(moved: Motion, cuts: list[float]) -> list[float]:
    """Return the ends of the pieces of a run, from cuts between 0 and 1. [s]"""
    end_s = moved.end_s + TAIL_S
    return [*sorted(cut * end_s for cut in cuts), end_s]


def feed(chain: Chain, moved: Motion, seed: int, until_s: list[float]) -> Everything:
    """Feed the whole motion with the first piece, and then time alone.

    Args:
        chain: the chain.
        moved: the motion.
        seed: of the run.
        until_s: the ends of the pieces. [s]
    """
    engine = Engine(chain, seed, float(moved.detents[0]))
    first_s, *later_s = until_s
    return everything([engine.feed(first_s, moved.at_s, moved.detents), *(engine.feed(end_s) for end_s in later_s)])
