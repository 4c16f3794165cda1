"""A pin with noise: on a slow edge it crosses one threshold many times.

The voltage is that of `knobmenu.bench.filter`, exact at any moment, plus noise. The pin compares the sum with its
thresholds at each point of the noise's grid (`knobmenu.bench.noise`), so its edges lie on that grid. Points at which
the noise cannot reach a threshold are left out, which changes nothing, since the noise is cut.
"""

from __future__ import annotations

import itertools
import math
from typing import Protocol

import numpy as np

from knobmenu.bench import filter, noise
from knobmenu.bench.filter import Course, Filter, Pin, follow, settle
from knobmenu.bench.noise import Numbers
from knobmenu.bench.randomness import Source, make_key
from knobmenu.bench.signal import NO_MOMENTS, Floats, Signal

MOST_POINTS = 600
"""Most points of the noise's grid at one slow edge. A slower edge meets noise of less bandwidth, for the sake of time:
it is crossed some ten times, and not hundreds of times. [points]"""

_BATCH = 10_000
"""Points of the grid that are worked out in one piece, about, so that they stay near the processor."""


class AnyPin(Protocol):
    """A pin behind a filter, with or without noise."""

    @property
    def settled(self) -> bool:
        """Whether no threshold will be passed any more."""

    def feed(self, contact_s: Floats, until_s: float) -> Floats:
        """Let time pass; see `knobmenu.bench.filter.Pin.feed`."""


def make_pin(parts: Filter, level: int, seed: int, source: Source) -> AnyPin:
    """Make the pin of a filter, settled.

    Args:
        parts: the filter.
        level: of the contact, 1 while closed, else 0.
        seed: settles the noise.
        source: which pin it is: the `Source` of its noise.
    """
    return NoisyPin(parts, level, seed, source) if parts.is_noisy else Pin(parts, level)


def compute_voltage(parts: Filter, contact: Signal, at_s: Floats, seed: int, source: Source) -> Floats:
    """Return the voltage that a pin compares with its thresholds at moments, including noise, to draw it. [V]

    Args:
        parts: the filter.
        contact: the contact, 1 while closed.
        at_s: moments, rising. [s]
        seed: settles the noise.
        source: which pin it is, see `make_pin`.
    """
    volts = filter.compute_voltage(parts, contact, at_s)
    if parts.is_noisy:
        numbers = np.floor(at_s / compute_step_s(parts)).astype(np.int64)
        volts = volts + parts.noise_v * noise.sample(make_key(seed, source), numbers)
    return volts


def compute_step_s(parts: Filter) -> float:
    """Return the step of the grid on which a filter's noise is made. [s]"""
    return max(noise.compute_step_s(parts.noise_bandwidth_hz), _find_longest_s(parts) / MOST_POINTS)


def _find_longest_s(parts: Filter) -> float:
    """Return how long the noise reaches the threshold at the slower of an opening and a closing. [s]"""
    reach_v = noise.REACH * parts.noise_v
    up_v, down_v = parts.supply_v - parts.rising_v, parts.falling_v - parts.closed_v
    return max(
        parts.open_s * math.log((up_v + reach_v) / (up_v - reach_v)),
        parts.closed_s * math.log((down_v + reach_v) / (down_v - reach_v)),
    )


class NoisyPin:
    """A pin behind a filter with a capacitor, with noise."""

    def __init__(self, parts: Filter, level: int, seed: int, source: Source) -> None:
        """Begin settled; see `make_pin`."""
        self._parts = parts
        self._key = make_key(seed, source)
        self._step_s = compute_step_s(parts)
        self._closed = bool(level)
        self._is_high = not level
        self._begin_s = 0.0
        self._begin_v = settle(parts, level)
        self._done = np.int64(0)
        self._last = np.int64(0)

    @property
    def settled(self) -> bool:
        """Whether no threshold will be passed any more."""
        return bool(self._done >= self._last)

    def feed(self, contact_s: Floats, until_s: float) -> Floats:
        """Let time pass.

        Args:
            contact_s: the edges of the contact since the call before, in order, none after `until_s`. [s]
            until_s: up to when, inclusive; not before the call before. [s]

        Returns:
            The edges of the pin since then, in order. [s]
        """
        if not len(contact_s) and self.settled:
            return NO_MOMENTS
        course = follow(self._parts, self._closed, self._begin_s, self._begin_v, contact_s)
        piece, first, counts = self._find_stretches(course, until_s)
        self._begin_s, self._begin_v = float(course.begins_s[-1]), float(course.begins_v[-1])
        self._closed = bool(course.closed[-1])
        ends = np.cumsum(counts)
        cuts = np.searchsorted(ends, np.arange(_BATCH, ends[-1] if len(ends) else 0, _BATCH))
        found = [
            self._cross(course.take(piece[begin:end]), first[begin:end], counts[begin:end])
            for begin, end in itertools.pairwise([0, *cuts.tolist(), len(ends)])
        ]
        return np.concatenate(found)

    def _find_stretches(self, course: Course, until_s: float) -> tuple[Numbers, Numbers, Numbers]:
        """Return the stretches of the grid that matter since the call before.

        Of each exponential these are its first point, the points at which the noise can reach a threshold, and one
        after each stretch of them.

        Returns:
            The exponential that each stretch lies on, its first point, and how many points it has, 1 at least.
        """
        parts = self._parts
        reach_v = noise.REACH * parts.noise_v
        toward = np.where(course.closed, -1, 1)
        begins = self._number_moments(course.begins_s)
        begins[0] = max(begins[0], self._done)
        firsts, lasts = [begins + 1], [begins + 1]
        # A plain input has one threshold.
        low_v, high_v = parts.falling_v, parts.rising_v
        passed_v = [(high_v, low_v), (low_v, high_v)] if low_v < high_v else [(high_v, high_v)]
        for closed_v, open_v in passed_v:
            threshold_v = np.where(course.closed, closed_v, open_v)
            enters_s = course.find_passes_s(threshold_v - toward * reach_v)
            leaves_s = course.find_passes_s(threshold_v + toward * reach_v)
            firsts.append(np.maximum(self._number_moments(enters_s), lasts[-1]) + 1)
            lasts.append(np.maximum(self._number_moments(leaves_s) + 1, lasts[-1]))
        first, last = np.stack(firsts, axis=1), np.stack(lasts, axis=1)
        self._last = last[-1].max()
        self._done = self._last if math.isinf(until_s) else self._number_moments(np.array([until_s]))[0]
        ends = np.append(begins[1:], min(self._done, self._last))
        counts = np.minimum(last, ends[:, np.newaxis]) - first + 1
        piece, stretch = np.nonzero(counts > 0)
        return piece, first[piece, stretch], counts[piece, stretch]

    def _cross(self, course: Course, first: Numbers, counts: Numbers) -> Floats:
        """Compare the voltage with the thresholds, point by point; return the edges. [s]

        Args:
            course: the exponential that each stretch lies on.
            first: the first point of each stretch.
            counts: how many points each has.
        """
        parts = self._parts
        numbers = np.repeat(first - np.cumsum(counts) + counts, counts)
        numbers += np.arange(len(numbers))
        volts = course.compute_volts(numbers * self._step_s, counts)
        half_v = (parts.rising_v - parts.falling_v) / 2
        # What is between the thresholds is near one of them, since they are less than twice the reach apart. Noise that
        # cannot reach a threshold changes nothing: it is left out where a stretch is one such point.
        alone_v = volts[np.cumsum(counts) - 1] - (parts.falling_v + half_v)
        near = (counts > 1) | (np.abs(alone_v) <= half_v + noise.REACH * parts.noise_v)
        volts[np.repeat(near, counts)] += parts.noise_v * noise.sample_stretches(self._key, first[near], counts[near])
        is_high = volts > parts.rising_v
        decided = is_high | (volts < parts.falling_v)
        if not decided.all():
            numbers, is_high = numbers[decided], is_high[decided]
        changed = is_high != np.append(self._is_high, is_high)[:-1]
        edges_s = numbers[changed] * self._step_s
        self._is_high ^= bool(len(edges_s) & 1)
        return np.asarray(edges_s, dtype=np.float64)

    def _number_moments(self, at_s: Floats) -> Numbers:
        """Return the last point of the grid that is not after each moment."""
        numbers = np.floor(at_s / self._step_s).astype(np.int64)
        return numbers - (numbers * self._step_s > at_s)
