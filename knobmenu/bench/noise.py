"""Noise at a pin: Gaussian, of a stated bandwidth, and reproducible at each moment.

The model: stationary Gaussian noise whose power spectrum is a Gaussian curve, ``exp(-(2 pi f S)²)``; its bandwidth is
where the power has fallen to half. A bandwidth must be stated, for the rate at which noise crosses a level is finite
only where its spectrum falls steeply (S. O. Rice, *Mathematical analysis of random noise*, Bell System Technical
Journal 23 and 24, 1944/45). Here that rate, up and down together, is

    exp(-level² / (2 rms²)) / (pi sqrt(2) S).

The noise is made on a grid of a quarter of S, which misses 2.6 in 1000 of those crossings: of a smooth Gaussian process
with moments m0, m2 and m4 a grid of step h keeps ``1 - (m4 m0 / m2² - 1) m2 h² / (24 m0)``, and here ``m2 / m0`` is
``1 / (2 S²)`` and ``m4 m0 / m2²`` is 3.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.randomness import draw_fractions
from knobmenu.bench.signal import Floats

Numbers = NDArray[np.int64]
"""Numbers of grid points; point n is at n grid steps. [unitless]"""

REACH = 4.5
"""The noise is cut here; Gaussian noise is farther off 7 times in a million. [rms]"""

_PHASES = 4
"""Grid steps in one time scale; each time scale has one random number."""

_BEFORE, _AFTER = 4, 5
"""Random numbers that a point depends on: those of so many time scales before its own and after it. Farther ones would
add 4 in a million."""

_TAPS = _BEFORE + 1 + _AFTER


def _compute_kernel() -> Floats:
    """Return the weight of each random number (rows, the earliest first) at each phase (columns), for an rms of 1.

    With one random number for each time scale the rms value is even to 1 in 10000.
    """
    apart = np.arange(_BEFORE, -_AFTER - 1, -1)[:, np.newaxis] + np.arange(_PHASES) / _PHASES
    return np.asarray(np.exp(-(apart**2) / 2) / math.pi**0.25)


_KERNEL = _compute_kernel()


def compute_time_scale_s(bandwidth_hz: float) -> float:
    """Return the time scale S of noise: its correlation at S is ``exp(-1/4)``. [s]"""
    return math.sqrt(math.log(2)) / (2 * math.pi * bandwidth_hz)


def compute_step_s(bandwidth_hz: float) -> float:
    """Return the step of the grid. [s]"""
    return compute_time_scale_s(bandwidth_hz) / _PHASES


def compute_crossing_rate_hz(bandwidth_hz: float, level: float = 0.0) -> float:
    """Return how often noise crosses a level, up and down together (Rice 1944/45). [crossings/s]

    Args:
        bandwidth_hz: of the noise. [Hz]
        level: from the mean. [rms]
    """
    return math.exp(-(level**2) / 2) / (math.pi * math.sqrt(2) * compute_time_scale_s(bandwidth_hz))


def compute_ramp_crossings(noise_v: float, bandwidth_hz: float, slope_v_per_s: float) -> float:
    """Return how often an even ramp with noise crosses one threshold that it passes, on average; 1 without noise.

    The expected number of crossings for each second at a voltage is its probability density times the mean of the
    slope's absolute value; over the whole ramp the density integrates to one (Rice's formula for a moving mean;
    H. Cramér and M. R. Leadbetter, *Stationary and related stochastic processes*, 1967, chapter 13, from memory).

    Args:
        noise_v: rms value, above 0. [V]
        bandwidth_hz: of the noise. [Hz]
        slope_v_per_s: of the ramp, not 0. [V/s]
    """
    noise_slope = noise_v / (math.sqrt(2) * compute_time_scale_s(bandwidth_hz))
    ratio = abs(slope_v_per_s) / noise_slope
    return math.sqrt(2 / math.pi) * math.exp(-(ratio**2) / 2) / ratio + math.erf(ratio / math.sqrt(2))


def sample(key: np.uint64, numbers: Numbers) -> Floats:
    """Return noise of rms value 1 at points of its grid, identical to the last bit however they are grouped. [rms]

    Args:
        key: of `knobmenu.bench.randomness.make_key`.
        numbers: which points, rising.
    """
    begins = np.flatnonzero(np.diff(numbers, prepend=numbers[:1] - 2) > 1)
    return sample_stretches(key, numbers[begins], np.diff(begins, append=len(numbers)))


def sample_stretches(key: np.uint64, first: Numbers, counts: Numbers) -> Floats:
    """Return noise at stretches of its grid, one after the other; see `sample`. [rms]

    Args:
        key: of `knobmenu.bench.randomness.make_key`.
        first: the first point of each stretch.
        counts: how many points each has, 1 at least.
    """
    if not len(first):
        return np.zeros(0)
    # Neighbouring points share random numbers; those of a stretch are computed together.
    cells = first // _PHASES
    lengths = (first + counts - 1) // _PHASES - cells + _TAPS
    offsets = np.cumsum(lengths) - lengths
    drawn = _draw_gaussian(key, np.arange(lengths.sum()) + np.repeat(cells - _BEFORE - offsets, lengths))
    # Phase by phase and not as one matrix product, whose sums depend on how the rows are grouped.
    values = np.empty((len(drawn) - _TAPS + 1, _PHASES))
    for phase, weights in enumerate(_KERNEL.T):
        values[:, phase] = np.correlate(drawn, weights, "valid")
    places = np.repeat(_PHASES * (offsets - cells) + first - np.cumsum(counts) + counts, counts)
    places += np.arange(len(places))
    noise = values.ravel()[places]
    return np.asarray(np.clip(noise, -REACH, REACH, out=noise))


def _draw_gaussian(key: np.uint64, numbers: Numbers) -> Floats:
    """Return a Gaussian random number for each of some numbers (Box and Muller 1958)."""
    radius = draw_fractions(key, 2 * numbers)
    np.log1p(np.negative(radius, out=radius), out=radius)
    radius *= -2
    np.sqrt(radius, out=radius)
    angle = draw_fractions(key, 2 * numbers + 1)
    angle *= 2 * np.pi
    radius *= np.cos(angle, out=angle)
    return radius
