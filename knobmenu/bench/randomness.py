"""Repeatable randomness: every source has a stream of its own, so that one does not disturb another.

A run is settled by one seed. Two chains run with the same seed share the hand, the part and the bursts of the
contacts, whatever lies behind them; so their results can be compared pair by pair.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.signal import Floats


class Source(IntEnum):
    """What a stream of random numbers is for."""

    PART = 0
    """Where each edge of the encoder lies."""
    PHASE_A = 1
    """Bursts of phase A."""
    PHASE_B = 2
    """Bursts of phase B."""
    READER = 3
    """Where in its period the firmware begins."""
    SWITCH = 4
    """Bursts of the push switch."""
    HAND = 5
    """Flicks, reversals, presses."""
    JITTER = 6
    """How late each sample is."""
    NOISE_A = 7
    """Noise at the pin of phase A."""
    NOISE_B = 8
    """Noise at the pin of phase B."""
    NOISE_SWITCH = 9
    """Noise at the pin of the push switch."""


def make_stream(seed: int, *source: int) -> np.random.Generator:
    """Return the stream of one source in a run.

    Args:
        seed: of the run.
        source: a `Source`, and the number of a stream within it.
    """
    return np.random.default_rng([seed, *source])


_GOLDEN = np.uint64(0x9E3779B97F4A7C15)
_MIX_1 = np.uint64(0xBF58476D1CE4E5B9)
_MIX_2 = np.uint64(0x94D049BB133111EB)


def make_key(seed: int, source: Source) -> np.uint64:
    """Return the key of `fractions` for one source in a run."""
    return np.uint64(np.random.SeedSequence([seed, source]).generate_state(1, np.uint64)[0])


def draw_fractions(key: np.uint64, numbers: NDArray[np.int64]) -> Floats:
    """Return a random fraction for each of some numbers, from 0 to below 1, the same whenever it is asked for.

    It is the output function of SplitMix64 at a counter (G. L. Steele, D. Lea and C. H. Flood, *Fast splittable
    pseudorandom number generators*, OOPSLA 2014; the constants from memory), so that any sample's jitter is known
    without that of the samples before it.
    """
    # In place, for there may be millions.
    mixed = numbers.astype(np.uint64)
    mixed += np.uint64(1)
    mixed *= _GOLDEN
    mixed += key
    shifted = mixed >> np.uint64(30)
    mixed ^= shifted
    mixed *= _MIX_1
    mixed ^= np.right_shift(mixed, np.uint64(27), out=shifted)
    mixed *= _MIX_2
    mixed ^= np.right_shift(mixed, np.uint64(31), out=shifted)
    mixed >>= np.uint64(11)
    return np.asarray(mixed * 2.0**-53, dtype=np.float64)
