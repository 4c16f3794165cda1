"""A pin that meets noise: on a slow edge it crosses one threshold many times.

The voltage is that of `knobmenu.bench.filter`, exact at any moment, plus noise. The pin compares the sum with its
thresholds at each point of the noise's grid (`knobmenu.bench.noise`), so its edges lie on that grid. Points at which
the noise cannot reach a threshold are left out, which changes nothing, since the noise is cut.
"""

from __future__ import annotations

import math
from typing import Protocol

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench import filter, noise
from knobmenu.bench.filter import Filter, Pin
from knobmenu.bench.noise import Numbers
from knobmenu.bench.randomness import Source, key
from knobmenu.bench.signal import NO_MOMENTS, Floats, Signal

MOST_POINTS = 600
"""Most points of the noise's grid at one slow edge. A slower edge meets noise of less bandwidth, for the sake of time:
it is crossed some ten times, and not hundreds of times. [points]"""

_BATCH = 100_000
"""Points of the grid that are worked out in one piece, about."""


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


def voltage(parts: Filter, contact: Signal, at_s: Floats, seed: int, source: Source) -> Floats:
    """Return what a pin compares with its thresholds at moments, noise and all, to draw it. [V]

    Args:
        parts: the filter.
        contact: the contact, 1 while closed.
        at_s: moments, rising. [s]
        seed: settles the noise.
        source: which pin it is, see `make_pin`.
    """
    volts = filter.voltage(parts, contact, at_s)
    if parts.is_noisy:
        numbers = np.floor(at_s / step_s(parts)).astype(np.int64)
        volts = volts + parts.noise_v * noise.sample(key(seed, source), numbers)
    return volts


def step_s(parts: Filter) -> float:
    """Return the step of the grid on which a filter's noise is made. [s]"""
    return max(noise.step_s(parts.noise_bandwidth_hz), _longest_s(parts) / MOST_POINTS)


def _longest_s(parts: Filter) -> float:
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
        self._key = key(seed, source)
        self._step_s = step_s(parts)
        self._per_edge = math.ceil(_longest_s(parts) / self._step_s) + 1
        self._mean = Pin(parts, level)
        self._closed = bool(level)
        self._side = -1 if level else 1
        self._begin_s = 0.0
        self._begin_v = parts.closed_v if level else parts.supply_v
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
        size = _BATCH // self._per_edge
        found = [
            self._feed_batch(contact_s[begin : begin + size], contact_s[begin + size])
            for begin in range(0, len(contact_s) - size, size)
        ]
        rest = len(found) * size
        found.append(self._feed_batch(contact_s[rest:], until_s))
        return np.concatenate(found)

    def _feed_batch(self, contact_s: Floats, until_s: float) -> Floats:
        if not len(contact_s) and self.settled:
            return NO_MOMENTS
        _, at_edges_v = self._mean.walk(contact_s)
        course = _Course(
            np.concatenate(([self._begin_s], contact_s)),
            np.concatenate(([self._begin_v], at_edges_v)),
            (np.arange(len(contact_s) + 1) + self._closed) % 2 == 1,
        )
        numbers, piece = self._points(course, until_s)
        self._begin_s, self._begin_v = float(course.begins_s[-1]), float(course.begins_v[-1])
        self._closed = bool(course.closed[-1])
        return self._cross(course, numbers, piece)

    def _points(self, course: _Course, until_s: float) -> tuple[Numbers, Numbers]:
        """Return the points of the grid that matter since the call before, and the exponential that each lies on.

        Of each exponential these are its first point, those at which the noise can reach a threshold, and one after
        each stretch of them.
        """
        parts = self._parts
        reach_v = noise.REACH * parts.noise_v
        toward = np.where(course.closed, -1, 1)
        begins = self._number(course.begins_s)
        begins[0] = max(begins[0], self._done)
        firsts, lasts = [begins + 1], [begins + 1]
        for threshold_v in (
            np.where(course.closed, parts.rising_v, parts.falling_v),
            np.where(course.closed, parts.falling_v, parts.rising_v),
        ):
            enters_s = course.passes_s(parts, threshold_v - toward * reach_v)
            leaves_s = course.passes_s(parts, threshold_v + toward * reach_v)
            firsts.append(np.maximum(self._number(enters_s), np.maximum(lasts[-1], begins + 1)) + 1)
            lasts.append(self._number(leaves_s) + 1)
            firsts[-1] = np.maximum(firsts[-1], lasts[-2] + 1)
        first, last = np.stack(firsts, axis=1), np.stack(lasts, axis=1)
        self._last = last[-1].max()
        self._done = self._last if math.isinf(until_s) else self._number(np.array([until_s]))[0]
        ends = np.append(begins[1:], min(self._done, self._last))
        counts = np.maximum(np.minimum(last, ends[:, np.newaxis]) - first + 1, 0).ravel()
        offsets = np.cumsum(counts) - counts
        numbers = np.arange(counts.sum()) + np.repeat(first.ravel() - offsets, counts)
        return numbers, np.repeat(np.arange(counts.size) // first.shape[1], counts)

    def _cross(self, course: _Course, numbers: Numbers, piece: Numbers) -> Floats:
        """Compare the voltage with the thresholds, point by point; return the edges. [s]"""
        parts = self._parts
        at_s = np.asarray(numbers * self._step_s, dtype=np.float64)
        volts = course.volts(parts, piece, at_s)
        reach_v = noise.REACH * parts.noise_v
        near = np.minimum(np.abs(volts - parts.rising_v), np.abs(volts - parts.falling_v)) <= reach_v
        volts[near] += parts.noise_v * noise.sample(self._key, numbers[near])
        beyond = (volts > parts.rising_v).astype(np.int8) - (volts < parts.falling_v)
        decided = np.flatnonzero(beyond)
        sides = beyond[decided]
        if not len(sides):
            return NO_MOMENTS
        changed = np.concatenate(([sides[0] != self._side], sides[1:] != sides[:-1]))
        self._side = int(sides[-1])
        return np.asarray(at_s[decided[changed]])

    def _number(self, at_s: Floats) -> Numbers:
        """Return the last point of the grid that is not after each moment."""
        numbers = np.floor(at_s / self._step_s).astype(np.int64)
        return numbers - (numbers * self._step_s > at_s)


@attrs.frozen(eq=False)
class _Course:
    """The voltage without noise: one exponential after the other."""

    begins_s: Floats
    """When each begins. [s]"""
    begins_v: Floats
    """Where. [V]"""
    closed: NDArray[np.bool_]
    """Whether the contact is closed during it."""

    def _targets_v(self, parts: Filter) -> Floats:
        return np.where(self.closed, parts.closed_v, parts.supply_v)

    def _constants_s(self, parts: Filter) -> Floats:
        return np.where(self.closed, parts.closed_s, parts.open_s)

    def passes_s(self, parts: Filter, at_v: Floats) -> Floats:
        """Return when each passes a voltage, or its beginning where that is past it. [s]"""
        targets_v = self._targets_v(parts)
        way = np.maximum((targets_v - self.begins_v) / (targets_v - at_v), 1.0)
        return np.asarray(self.begins_s + self._constants_s(parts) * np.log(way))

    def volts(self, parts: Filter, piece: Numbers, at_s: Floats) -> Floats:
        """Return the voltage at moments, each on its piece. [V]"""
        targets_v = self._targets_v(parts)
        volts = at_s - self.begins_s[piece]
        volts *= (-1 / self._constants_s(parts))[piece]
        np.exp(volts, out=volts)
        volts *= (self.begins_v - targets_v)[piece]
        volts += targets_v[piece]
        return volts
