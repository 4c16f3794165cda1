"""Noise on slow edges: the rates of level crossings that Rice gave, and the same edges however time is cut.

S. O. Rice, *Mathematical analysis of random noise*, Bell System Technical Journal 23 and 24, 1944/45: a stationary
Gaussian process of moments m0 and m2 crosses a level ``(1 / pi) sqrt(m2 / m0) exp(-level² / (2 m0))`` times a second.
For a mean that moves, H. Cramér and M. R. Leadbetter, 1967, chapter 13 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import attrs
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.special import erfc

from knobmenu.bench import noise
from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.engine import Engine
from knobmenu.bench.errors import BenchError
from knobmenu.bench.filter import Filter, Pin, estimate_crossings, follow, settle
from knobmenu.bench.motion import Motion
from knobmenu.bench.pin import NoisyPin, compute_step_s, make_pin
from knobmenu.bench.randomness import Source, make_key
from knobmenu.bench.signal import Floats
from tests.bench.splits import feed, split_s
from tests.bench.strategies import chains, motions, numbers, seeds
from tests.sampling import sampled

BANDWIDTH_HZ = 50_000.0
PLAIN = Filter(capacitor_f=1e-7, noise_v=0.02, noise_bandwidth_hz=BANDWIDTH_HZ)
SCHMITT = attrs.evolve(PLAIN, rising_v=2.62, falling_v=1.7)
POINTS = 40_000
"""Points of one piece of noise, 10000 time scales; pieces are independent."""

SEEDS = range(sampled(1000, 100))


def grid(seed: int) -> Floats:
    return noise.sample(make_key(seed, Source.NOISE_A), np.arange(POINTS))


def is_within_three_errors(found: Sequence[float], expected: float) -> bool:
    """Compare a mean with what is expected, by the spread of independent pieces."""
    return bool(abs(np.mean(found) - expected) <= 3 * np.std(found, ddof=1) / math.sqrt(len(found)))


@pytest.mark.parametrize("level", [0.0, 0.5, 1.0, 2.0])
def test_noise_crosses_a_level_as_often_as_rice_says(level: float) -> None:
    """Less what happens between two points of the grid, at most 1 % of it."""
    seconds = (POINTS - 1) * noise.compute_step_s(BANDWIDTH_HZ)
    rates = [np.count_nonzero(np.diff(grid(seed) > level)) / seconds for seed in SEEDS]
    rice_hz = noise.compute_crossing_rate_hz(BANDWIDTH_HZ, level)
    grid_hz = seen_from_point_to_point(level) / noise.compute_step_s(BANDWIDTH_HZ)

    assert 0.99 * rice_hz < grid_hz < rice_hz
    assert is_within_three_errors(rates, grid_hz)
    if not level:
        assert grid_hz == pytest.approx(rice_hz * (1 - 0.0026), rel=1e-4)


def seen_from_point_to_point(level: float) -> float:
    """Return how probable it is that two neighbouring points lie on both sides of a level, by their joint density."""
    correlation = math.exp(-((1 / 4) ** 2) / 4)
    below = np.linspace(level - 12, level, 400_001)
    density = np.exp(-(below**2) / 2) / math.sqrt(2 * math.pi)
    other = (level - correlation * below) / math.sqrt(1 - correlation**2)
    return float(2 * np.trapezoid(density * erfc(other / math.sqrt(2)) / 2, below))


def test_the_moments_of_the_noise_are_those_of_its_spectrum() -> None:
    """m2 / m0 by integrating the spectrum numerically, the half-power bandwidth, and two lags of the noise itself.

    The correlation at n time scales is ``exp(-n² / 4)``, the transform of that spectrum.
    """
    scale_s = noise.compute_time_scale_s(BANDWIDTH_HZ)
    angular = (np.arange(10_000) + 0.5) / (1000 * scale_s)
    spectrum = np.exp(-((angular * scale_s) ** 2))
    by_spectrum = math.sqrt((angular**2 * spectrum).sum() / spectrum.sum()) / math.pi

    assert noise.compute_crossing_rate_hz(BANDWIDTH_HZ) == pytest.approx(by_spectrum, rel=1e-4)
    assert math.exp(-((2 * math.pi * BANDWIDTH_HZ * scale_s) ** 2)) == pytest.approx(0.5)
    assert is_within_three_errors([float(np.mean(grid(seed) ** 2)) for seed in SEEDS], 1.0)
    for lag in (4, 8):
        correlations = [float(np.mean(grid(seed)[lag:] * grid(seed)[:-lag])) for seed in SEEDS]
        assert is_within_three_errors(correlations, math.exp(-((lag / 4) ** 2) / 4))


@given(seeds, st.lists(st.integers(-(10**12), 10**12), min_size=1, max_size=30, unique=True))
def test_noise_at_a_point_does_not_depend_on_which_others_are_asked_for(seed: int, asked: list[int]) -> None:
    source = make_key(seed, Source.NOISE_B)
    points = np.array(sorted({near for one in asked for near in range(one, one + 6)}))
    together = noise.sample(source, points)

    assert [noise.sample(source, points[nth : nth + 1])[0] for nth in range(len(points))] == together.tolist()
    assert np.abs(together).max() <= noise.REACH


def opening_counts(parts: Filter, seed: int, openings: int) -> NDArray[np.int64]:
    """Count how often the pin changes at each opening and at each closing, far apart."""
    apart_s = 20 * parts.open_s
    contact_s = np.arange(1.0, 2.0 * openings + 1) * apart_s
    edges_s = NoisyPin(parts, 1, seed, Source.NOISE_A).feed(contact_s, math.inf)
    return np.bincount(np.searchsorted(contact_s, edges_s, side="right") - 1, minlength=2 * openings)


@pytest.mark.parametrize("noise_v", [0.005, 0.02, 0.05])
@pytest.mark.parametrize("series_ohm", [0.0, 10_000.0])
def test_a_slow_edge_crosses_one_threshold_as_often_as_the_formula_for_a_moving_mean_says(
    noise_v: float, series_ohm: float
) -> None:
    """The formula is integrated over the exponential here, numerically; the bench's own takes an even slope."""
    parts = attrs.evolve(PLAIN, noise_v=noise_v, series_ohm=series_ohm)
    counts = opening_counts(parts, 1, sampled(20_000, 2000))

    assert is_within_three_errors(counts[::2].tolist(), integrated(parts, parts.supply_v, parts.open_s))
    if series_ohm:
        assert is_within_three_errors(counts[1::2].tolist(), integrated(parts, parts.closed_v, parts.closed_s))
        assert estimate_crossings(parts)[1] == pytest.approx(
            integrated(parts, parts.closed_v, parts.closed_s), rel=0.02
        )
    else:
        assert np.all(counts[1::2] == 1)
    assert estimate_crossings(parts)[0] == pytest.approx(integrated(parts, parts.supply_v, parts.open_s), rel=0.02)


def integrated(parts: Filter, target_v: float, constant_s: float) -> float:
    """Integrate the expected crossings of the threshold over the voltage of an edge."""
    off_v = np.linspace(-6 * parts.noise_v, 6 * parts.noise_v, 4001)
    slopes = np.abs(target_v - parts.rising_v - off_v) / constant_s
    noise_slope = parts.noise_v * noise.compute_crossing_rate_hz(parts.noise_bandwidth_hz) * math.pi
    density = np.exp(-((off_v / parts.noise_v) ** 2) / 2) / (parts.noise_v * math.sqrt(2 * math.pi))
    # The mean of the absolute value of a Gaussian slope, by its own integral.
    normal = np.linspace(-8, 8, 2001)
    weights = np.exp(-(normal**2) / 2) / np.exp(-(normal**2) / 2).sum()
    mean_slope = np.array([(np.abs(slope + noise_slope * normal) * weights).sum() for slope in slopes])
    return float((density * mean_slope / slopes).sum() * (off_v[1] - off_v[0]))


def test_two_thresholds_farther_apart_than_the_noise_are_crossed_once() -> None:
    """Gingrich, PHYS 395 notes, node131: noise of less than the hysteresis from peak to peak changes nothing."""
    assert opening_counts(PLAIN, 1, 200)[::2].mean() > 1.5
    assert np.all(opening_counts(SCHMITT, 1, 200) == 1)


def test_hysteresis_of_a_few_rms_leaves_some_crossings() -> None:
    """So that it is the hysteresis that cures, by as much as there is of it."""
    means = [
        opening_counts(attrs.evolve(PLAIN, rising_v=2.5 + half_v, falling_v=2.5 - half_v), 1, 500)[::2].mean()
        for half_v in (0.0, 0.01, 0.03, 0.1)
    ]

    assert means == sorted(means, reverse=True)
    assert means[-1] == 1


def test_edges_with_noise_scatter_about_those_without() -> None:
    contact_s = np.arange(1.0, 401.0) * 0.02
    bare = Pin(SCHMITT, 1).feed(contact_s, math.inf)
    late_s = NoisyPin(SCHMITT, 1, 1, Source.NOISE_A).feed(contact_s, math.inf) - bare

    # Between when the voltage is as far below the threshold as the noise reaches, and as far above.
    off_v = noise.REACH * SCHMITT.noise_v
    way_v = SCHMITT.supply_v - SCHMITT.rising_v
    early_s, latest_s = (SCHMITT.open_s * math.log(way_v / (way_v - off)) for off in (-off_v, off_v))
    assert early_s < late_s[::2].min() < 0 < late_s[::2].max() < latest_s
    assert np.all((late_s[1::2] >= 0) & (late_s[1::2] <= compute_step_s(SCHMITT)))


@st.composite
def noisy_chains(draw: st.DrawFn) -> Chain:
    """Chains with a capacitor and as much noise as their thresholds bear, of a bandwidth that suits their filter."""
    chain = draw(chains(debounce=("none", "lockout", "equal")).filter(lambda one: one.filter.capacitor_f >= 1e-9))
    parts = chain.filter
    room_v = min(parts.falling_v - parts.closed_v, parts.supply_v - parts.rising_v) / noise.REACH
    noise_v = room_v * draw(numbers(0.001, 0.7))
    bandwidth_hz = min(max(draw(numbers(0.5, 20)) / max(parts.open_s, parts.closed_s), 1e3), 1e8)
    apart_v = min(parts.rising_v - parts.falling_v, draw(numbers(0, 1.9)) * noise.REACH * noise_v)
    noisy = attrs.evolve(parts, noise_v=noise_v, noise_bandwidth_hz=bandwidth_hz, falling_v=parts.rising_v - apart_v)
    return attrs.evolve(chain, filter=noisy)


@given(noisy_chains(), motions(), seeds, st.lists(numbers(0, 1), max_size=6))
def test_any_split_of_a_run_with_noise_gives_the_same_run(
    chain: Chain, moved: Motion, seed: int, cuts: list[float]
) -> None:
    assert feed(chain, moved, seed, split_s(moved, cuts)) == feed(chain, moved, seed, split_s(moved, []))


@given(noisy_chains(), seeds, st.lists(numbers(0, 0.2), max_size=12), st.integers(0, 1), numbers(0, 0.2))
def test_leaving_points_out_changes_nothing(
    chain: Chain, seed: int, edges: list[float], level: int, until_s: float
) -> None:
    """Against the comparison at every single point of the grid."""
    parts, source = chain.filter, Source.NOISE_A
    contact_s = np.array(sorted(edges))
    contact_s = contact_s[contact_s <= until_s]
    grid_s = compute_step_s(parts)
    points = np.arange(1, int(until_s / grid_s) + 2)
    points = points[points * grid_s <= until_s]
    assume(0 < len(points) < 100_000)
    place = np.searchsorted(contact_s, points * grid_s, side="left")
    begin_s = np.concatenate(([0.0], contact_s))[place]
    begin_v = follow(parts, bool(level), 0.0, settle(parts, level), contact_s).begins_v[place]
    closed = (place + level) % 2 == 1
    target_v = np.where(closed, parts.closed_v, parts.supply_v)
    constant_s = np.where(closed, parts.closed_s, parts.open_s)
    volts = target_v + (begin_v - target_v) * np.exp(-(points * grid_s - begin_s) / constant_s)
    volts += parts.noise_v * noise.sample(make_key(seed, source), points)
    seen, expected = level, []
    for number, volt in zip(points.tolist(), volts.tolist(), strict=True):
        if (volt > parts.rising_v) if seen else (volt < parts.falling_v):
            seen = 1 - seen
            expected.append(number * grid_s)

    assert NoisyPin(parts, level, seed, source).feed(contact_s, until_s).tolist() == expected


def test_a_pin_that_noise_cannot_change_again_is_the_exact_one() -> None:
    for parts in (attrs.evolve(PLAIN, noise_v=0.0), attrs.evolve(PLAIN, capacitor_f=0.0), SCHMITT):
        assert isinstance(make_pin(parts, 0, 1, Source.NOISE_A), Pin)


def test_noise_by_which_a_pin_at_rest_would_change_is_refused() -> None:
    with pytest.raises(BenchError, match=r"noise_v: expected below 0\.444 V, .*got 0\.5 V"):
        attrs.evolve(PLAIN, noise_v=0.5)


def test_a_very_slow_edge_is_crossed_some_ten_times_and_not_thousands_of_times() -> None:
    slow = attrs.evolve(PLAIN, capacitor_f=1e-4, noise_bandwidth_hz=1e7)
    counts = opening_counts(slow, 1, 100)

    assert estimate_crossings(slow)[0] > 10_000
    assert 7 < counts[::2].mean() < 12


def test_both_phases_and_another_seed_have_noise_of_their_own() -> None:
    found = [
        make_pin(PLAIN, 1, seed, source).feed(np.array([0.01]), math.inf).tolist()
        for seed, source in ((1, Source.NOISE_A), (1, Source.NOISE_B), (2, Source.NOISE_A))
    ]

    assert len({tuple(one) for one in found}) == 3


def test_noise_leaves_hand_and_contacts_as_they_are() -> None:
    """Two chains with one seed share what lies before the noise, so that they can be compared in pairs."""
    chain = Chain(contact=PRESETS["encoder-2ms"], filter=attrs.evolve(PLAIN, noise_v=0.0))
    at_s, detents = np.array([0.0, 0.1, 0.4, 1.0]), np.array([0.0, 0.0, 3.0, 3.0])
    bare, noisy = (
        Engine(attrs.evolve(chain, filter=parts), 1).feed(2.0, at_s, detents) for parts in (chain.filter, PLAIN)
    )

    assert all(np.array_equal(one, other) for one, other in zip(bare.contacts, noisy.contacts, strict=True))
    assert len(noisy.pins[0]) > len(bare.pins[0])
