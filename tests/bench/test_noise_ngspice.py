"""Crossings of slow edges with noise against ngspice, a circuit simulator with a noise source of its own."""

from __future__ import annotations

import math
import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import mkdtemp

import attrs
import numpy as np
import pytest
from numpy.typing import NDArray

from knobmenu.bench import noise
from knobmenu.bench.filter import Filter
from knobmenu.bench.pin import NoisyPin
from knobmenu.bench.randomness import Source
from knobmenu.bench.signal import Floats, Signal
from tests.bench import spice
from tests.bench.test_noise import integrated
from tests.sampling import sampled

pytestmark = pytest.mark.skipif(spice.NGSPICE is None, reason="ngspice is not installed (package ngspice)")

DECKS = sampled(20, 6)
OPENINGS = 50
"""Slow edges of one deck in the circuit simulator; it steps through each in some thousand points."""


@attrs.frozen(eq=False)
class Deck:
    """One filter, and a contact that opens and closes."""

    parts: Filter
    edges_s: Floats
    """Openings and closings in turn; the contact is closed at first. [s]"""

    @property
    def end_s(self) -> float:
        return float(self.edges_s[-1]) + self.parts.open_s / 10

    def count(self, pin_s: Floats) -> NDArray[np.int64]:
        """Count how often a pin changes from each opening to its closing."""
        place = np.searchsorted(self.edges_s, pin_s, side="right") - 1
        return np.bincount(place, minlength=len(self.edges_s))[::2]


def random_deck(seed: int, openings: int = OPENINGS) -> Deck:
    """Draw a deck whose noise makes between one and some four crossings of an opening, in the mean."""
    generator = np.random.default_rng(seed)
    supply_v = float(generator.choice([1.8, 3.3, 5.0]))
    threshold_v = supply_v * float(generator.uniform(0.3, 0.7))
    parts = Filter(
        supply_v=supply_v,
        series_ohm=100.0,
        capacitor_f=float(10 ** generator.uniform(-8.5, -7)),
        rising_v=threshold_v,
        falling_v=threshold_v,
        noise_v=supply_v * float(generator.uniform(0.02, 0.05)),
    )
    slope_v_per_s = (supply_v - threshold_v) / parts.open_s
    # The slope of the edge against that of the noise settles how many crossings there are.
    ratio = float(generator.uniform(0.2, 0.9))
    scale_s = ratio * parts.noise_v / (math.sqrt(2) * slope_v_per_s)
    bandwidth_hz = noise.compute_time_scale_s(1.0) / scale_s
    # Until the noise cannot reach the threshold any more, and until the capacitor is empty.
    over_s = parts.open_s * math.log(supply_v / (supply_v - threshold_v - 1.05 * noise.REACH * parts.noise_v))
    lasts_s = np.tile([over_s, 0.1 * parts.open_s], openings)
    edges_s = 0.1 * parts.open_s + np.concatenate(([0.0], np.cumsum(lasts_s)[:-1]))
    return Deck(attrs.evolve(parts, noise_bandwidth_hz=bandwidth_hz), edges_s)


def simulate(deck: Deck, seed: int, folder: Path) -> NDArray[np.int64]:
    wave = spice.simulate_noise(deck.parts, Signal(1, deck.edges_s), deck.end_s, seed, folder)
    return deck.count(spice.crossings(deck.parts, 1, wave))


@pytest.fixture(scope="module")
def simulated(tmp_path_factory: pytest.TempPathFactory) -> list[NDArray[np.int64]]:
    folder = tmp_path_factory.mktemp("noise")
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        seeds = range(1, DECKS + 1)
        return list(pool.map(lambda seed: simulate(random_deck(seed), seed, Path(mkdtemp(dir=folder))), seeds))


@pytest.mark.parametrize("seed", range(1, DECKS + 1))
def test_noise_crosses_the_threshold_as_often_as_in_ngspice(seed: int, simulated: list[NDArray[np.int64]]) -> None:
    """In the mean over the openings of a deck, within three standard errors of the difference."""
    theirs, deck = simulated[seed - 1], random_deck(seed, 2000)
    ours = deck.count(NoisyPin(deck.parts, 1, seed, Source.NOISE_A).feed(deck.edges_s, math.inf))

    assert theirs.min() >= 1
    error = math.sqrt(ours.var() / len(ours) + theirs.var() / len(theirs))
    assert abs(ours.mean() - theirs.mean()) <= 3 * error


def test_over_all_decks_ngspice_agrees_with_the_formula(
    simulated: list[NDArray[np.int64]], capsys: pytest.CaptureFixture[str]
) -> None:
    """The sum over all openings, within three standard errors of what the formula for a moving mean gives."""
    decks = [random_deck(seed).parts for seed in range(1, DECKS + 1)]
    expected = sum(OPENINGS * integrated(parts, parts.supply_v, parts.open_s) for parts in decks)
    found = sum(int(counts.sum()) for counts in simulated)
    error = math.sqrt(sum(OPENINGS * float(counts.var()) for counts in simulated))

    with capsys.disabled():
        print(f"\n{DECKS} decks: {found} crossings in ngspice, {expected:.0f} by the formula, error {error:.0f}")
    assert abs(found - expected) <= 3 * error
