"""A resistor, a capacitor and a threshold between a contact and a pin, solved exactly.

The circuit: the supply feeds the contact through the pull-up; the contact joins that node to ground; from the node a
series resistor leads to the pin, where the capacitor lies against ground. Between two edges of the contact the voltage
at the pin follows one exponential, whose source and resistance are those of Thevenin's equivalent:

* open: the supply through pull-up plus series resistor;
* closed: nearly ground, through the series resistor plus the contact in parallel with the pull-up.

So the voltage is known in closed form at every edge, and so is the moment at which it passes a threshold; there is no
time step. The pin itself draws no current and adds no delay; both are assumptions.
"""

from __future__ import annotations

import itertools
import math

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.errors import BenchError
from knobmenu.bench.figures import format_number
from knobmenu.bench.noise import REACH, compute_ramp_crossings
from knobmenu.bench.rules import Number
from knobmenu.bench.signal import NO_MOMENTS, Floats, Signal
from knobmenu.errors import Problem

_CLEAR = 0.8
"""Noise may reach so much of the way from a pin at rest to its threshold. [unitless]"""


@attrs.frozen(kw_only=True)
class Filter:
    """The parts between one contact and one pin."""

    supply_v: float = attrs.field(default=5.0, validator=Number(0, 60, "V", above=True))
    """Supply. [V]"""
    pull_up_ohm: float = attrs.field(default=10_000.0, validator=Number(0, 1e9, "ohm", above=True))
    """Pull-up, above 0. [ohm]"""
    series_ohm: float = attrs.field(default=0.0, validator=Number(0, 1e9, "ohm"))
    """Series resistor between contact and capacitor; 0: there is none. [ohm]"""
    capacitor_f: float = attrs.field(default=0.0, validator=Number(0, 1, "F", advice="100 nF is 100e-9"))
    """Capacitor; 0: there is none, and the pin follows the contact. [F]"""
    contact_ohm: float = attrs.field(default=0.1, validator=Number(0, 1e6, "ohm", above=True))
    """Resistance of the closed contact, above 0; 0.1 is a common figure (common practice). [ohm]"""
    rising_v: float = attrs.field(default=2.5, validator=Number(0, 60, "V", above=True))
    """Threshold of a voltage that rises. [V]"""
    falling_v: float = attrs.field(default=2.5, validator=Number(0, 60, "V", above=True))
    """Threshold of a voltage that falls; the same for a plain input, lower for a Schmitt trigger. [V]"""
    noise_v: float = attrs.field(default=0.01, validator=Number(0, 1, "V", advice="10 mV is 0.01"))
    """Noise between pin and threshold, rms; 0: there is none. 0.01, some 66 mV from peak to peak, is assumed. [V]"""
    noise_bandwidth_hz: float = attrs.field(default=100_000.0, validator=Number(1e3, 1e8, "Hz"))
    """Where the power of the noise has fallen to half, assumed; wider noise crosses a threshold more often. [Hz]"""

    def __attrs_post_init__(self) -> None:
        between = f"a threshold between {self.closed_v:.3g} V (contact closed) and {self.supply_v:g} V (supply)"
        problems = [
            Problem(key, f"{volts:g} V", between)
            for key, volts in (("rising_v", self.rising_v), ("falling_v", self.falling_v))
            if not self.closed_v < volts < self.supply_v
        ]
        if self.falling_v > self.rising_v:
            problems.append(Problem("falling_v", f"{self.falling_v:g} V", f"at most rising_v, {self.rising_v:g} V"))
        BenchError.raise_any(problems or self._check_noise())

    def _check_noise(self) -> list[Problem]:
        """Refuse noise by which a pin at rest would change."""
        room_v = min(self.falling_v - self.closed_v, self.supply_v - self.rising_v)
        if not self.is_noisy or self.noise_v * REACH < _CLEAR * room_v:
            return []
        expected = (
            f"below {format_number(_CLEAR * room_v / REACH)} V, at which a pin at rest stays clear of its threshold"
        )
        return [Problem("noise_v", f"{self.noise_v:g} V", expected, "0 turns the noise off")]

    @property
    def is_noisy(self) -> bool:
        """Whether noise can cross the thresholds more than once at one edge.

        It cannot without a capacitor, where an edge is far faster than the noise, nor where the thresholds are farther
        apart than it reaches from peak to peak; there it moves an edge a little, and is left out.
        """
        return bool(self.capacitor_f) and self.rising_v - self.falling_v < 2 * REACH * self.noise_v

    @property
    def open_s(self) -> float:
        """Time constant while the contact is open. [s]"""
        return (self.pull_up_ohm + self.series_ohm) * self.capacitor_f

    @property
    def closed_s(self) -> float:
        """Time constant while the contact is closed. [s]"""
        both = self.pull_up_ohm * self.contact_ohm / (self.pull_up_ohm + self.contact_ohm)
        return (self.series_ohm + both) * self.capacitor_f

    @property
    def closed_v(self) -> float:
        """Voltage at the pin when the contact has long been closed. [V]"""
        return self.supply_v * self.contact_ohm / (self.pull_up_ohm + self.contact_ohm)


@attrs.frozen(kw_only=True)
class Judgement:
    """The effect of a filter on one encoder, in numbers."""

    opening_delay_s: float
    """From a contact's opening, after a long rest, until the pin sees it. [s]"""
    closing_delay_s: float
    """From a contact's closing, after a long rest, until the pin sees it. [s]"""
    longest_make_removed_s: float
    """The longest burst at a closing, however its contact parts and meets, that the pin sees as one edge. [s]"""
    longest_break_removed_s: float
    """The longest burst at an opening, likewise. [s]"""
    fastest_periods_per_s: float
    """The fastest even turn whose edges all arrive, and in order, from the first edge after a rest on. [periods/s]"""
    limit: str
    """What fails first above it: ``order of the phases`` or ``lost pulses``; ``nothing`` without a capacitor."""

    @property
    def longest_bounce_removed_s(self) -> float:
        """The shorter of both: a burst that is no longer than this is removed at every edge. [s]"""
        return min(self.longest_make_removed_s, self.longest_break_removed_s)


@attrs.frozen(eq=False)
class Course:
    """The voltage at a pin, without noise: one exponential after the other."""

    parts: Filter
    """The filter."""
    begins_s: Floats
    """When each exponential begins. [s]"""
    begins_v: Floats
    """Where. [V]"""
    closed: NDArray[np.bool_]
    """Whether the contact is closed during it."""

    def find_passes_s(self, at_v: Floats) -> Floats:
        """Return when each passes a voltage, or its start if it begins past the voltage. [s]"""
        targets_v = self._get_targets_v()
        way = np.maximum((targets_v - self.begins_v) / (targets_v - at_v), 1.0)
        return np.asarray(self.begins_s + self._get_constants_s() * np.log(way))

    def compute_volts(self, at_s: Floats, counts: NDArray[np.int64]) -> Floats:
        """Return the voltage at moments, given how many lie on each exponential, in order. [V]"""
        targets_v = self._get_targets_v()
        volts = at_s - np.repeat(self.begins_s, counts)
        volts *= np.repeat(-1 / self._get_constants_s(), counts)
        np.exp(volts, out=volts)
        volts *= np.repeat(self.begins_v - targets_v, counts)
        volts += np.repeat(targets_v, counts)
        return volts

    def take(self, which: NDArray[np.int64]) -> Course:
        """Return some of the exponentials."""
        return Course(self.parts, self.begins_s[which], self.begins_v[which], self.closed[which])

    def _get_targets_v(self) -> Floats:
        return np.where(self.closed, self.parts.closed_v, self.parts.supply_v)

    def _get_constants_s(self) -> Floats:
        return np.where(self.closed, self.parts.closed_s, self.parts.open_s)


def follow(parts: Filter, closed: bool, begin_s: float, begin_v: float, contact_s: Floats) -> Course:
    """Follow the voltage from the first exponential of the course, from edge to edge of the contact.

    Args:
        parts: the filter.
        closed: whether the contact is closed during the first exponential.
        begin_s: when that begins. [s]
        begin_v: where. [V]
        contact_s: the edges of the contact after that, in order. [s]
    """
    # The fraction of the way to the final voltage that is left at each edge.
    left = -np.diff(contact_s, prepend=begin_s)
    left[int(closed) :: 2] /= parts.open_s
    left[int(not closed) :: 2] /= parts.closed_s
    np.exp(left, out=left)
    targets_v = (parts.closed_v, parts.supply_v) if closed else (parts.supply_v, parts.closed_v)
    volts, begins_v = begin_v, [begin_v]
    for target_v, remaining in zip(itertools.cycle(targets_v), left.tolist(), strict=False):
        volts = target_v + (volts - target_v) * remaining
        begins_v.append(volts)
    return Course(
        parts,
        np.concatenate(([begin_s], contact_s)),
        np.array(begins_v),
        (np.arange(len(begins_v)) + int(closed)) % 2 == 1,
    )


def settle(parts: Filter, level: int) -> float:
    """Return the voltage of a contact that has long been at a level, 1 while closed. [V]"""
    return parts.closed_v if level else parts.supply_v


class Pin:
    """A pin behind a filter: between two edges of the contact its voltage follows one exponential."""

    def __init__(self, parts: Filter, level: int) -> None:
        """Begin settled.

        Args:
            parts: the filter.
            level: of the contact, 1 while closed, else 0.
        """
        self._parts = parts
        self._closed = self._seen = bool(level)
        self._begin_s = 0.0
        self._begin_v = settle(parts, level)
        self._passes_s = math.inf

    @property
    def settled(self) -> bool:
        """Whether no threshold will be passed any more."""
        return math.isinf(self._passes_s)

    def feed(self, contact_s: Floats, until_s: float) -> Floats:
        """Let time pass.

        Args:
            contact_s: the edges of the contact since the call before, in order, none after `until_s`. [s]
            until_s: up to when, inclusive; not before the call before. [s]

        Returns:
            The edges of the pin since then, in order; a pin without a capacitor follows its contact. [s]
        """
        if not self._parts.capacitor_f:
            return contact_s
        passes_s = self._walk(contact_s) if len(contact_s) else NO_MOMENTS
        if not self.settled and self._passes_s <= until_s:
            passes_s = np.append(passes_s, self._passes_s)
            self._seen = not self._seen
            self._passes_s = math.inf
        return passes_s

    def _walk(self, contact_s: Floats) -> Floats:
        """Return the edges of the pin up to the last edge of the contact; the next one is left for later. [s]"""
        parts = self._parts
        course = follow(parts, self._closed, self._begin_s, self._begin_v, contact_s)
        closed, ends_v = course.closed, course.begins_v[1:]
        reached = np.where(closed[:-1], ends_v <= parts.falling_v, ends_v >= parts.rising_v)
        # The last exponential always reaches its threshold.
        deciding = np.append(np.flatnonzero(reached), len(closed) - 1)
        levels = closed[deciding]
        changing = deciding[levels != np.append(self._seen, levels[:-1])]
        passing = course.take(changing)
        passes_s = passing.find_passes_s(np.where(passing.closed, parts.falling_v, parts.rising_v))
        # Rounding may put a threshold that is reached just at an edge after it.
        passes_s = np.asarray(np.minimum(passes_s, np.append(contact_s, np.inf)[changing]))
        self._closed, self._begin_s, self._begin_v = bool(closed[-1]), float(contact_s[-1]), float(ends_v[-1])
        self._passes_s = math.inf
        if len(changing) and changing[-1] == len(closed) - 1:
            self._passes_s = float(passes_s[-1])
            passes_s = passes_s[:-1]
        self._seen ^= bool(len(passes_s) & 1)
        return passes_s


def compute_voltage(parts: Filter, contact: Signal, at_s: Floats) -> Floats:
    """Return the voltage at the pin at moments, to draw it. [V]

    Args:
        parts: the filter.
        contact: the contact, 1 while closed.
        at_s: moments, in any order. [s]
    """
    place = np.searchsorted(contact.changes_s, at_s, side="right")
    if not parts.capacitor_f:
        return np.where((place + contact.first) % 2 == 1, parts.closed_v, parts.supply_v)
    # Settled from the start: the first exponential is constant.
    course = follow(parts, bool(contact.first), -math.inf, settle(parts, contact.first), contact.changes_s)
    return course.take(place).compute_volts(at_s, np.ones_like(place))


def compute_opening_delay_s(parts: Filter) -> float:
    """Return the time from a contact's opening, after a long rest, until the pin is seen high. [s]"""
    return parts.open_s * math.log((parts.supply_v - parts.closed_v) / (parts.supply_v - parts.rising_v))


def compute_closing_delay_s(parts: Filter) -> float:
    """Return the time from a contact's closing, after a long rest, until the pin is seen low. [s]"""
    return parts.closed_s * math.log((parts.supply_v - parts.closed_v) / (parts.falling_v - parts.closed_v))


def compute_make_removed_s(parts: Filter) -> float:
    """Return the longest burst at a closing, after a long rest, that the pin sees as one edge. [s]

    To be seen twice, the voltage must fall to its threshold first, and then be brought from there up to the other one,
    before the contact has come to rest.
    """
    rise_s = parts.open_s * math.log((parts.supply_v - parts.falling_v) / (parts.supply_v - parts.rising_v))
    return compute_closing_delay_s(parts) + rise_s


def compute_break_removed_s(parts: Filter) -> float:
    """Return the longest burst at an opening, after a long rest, that the pin sees as one edge, likewise. [s]"""
    fall_s = parts.closed_s * math.log((parts.rising_v - parts.closed_v) / (parts.falling_v - parts.closed_v))
    return compute_opening_delay_s(parts) + fall_s


def estimate_crossings(parts: Filter) -> tuple[float, float]:
    """Return how often, on average, an opening and a closing cross one threshold with noise, after a long rest.

    Of an input with two thresholds it is what one alone would meet; far enough apart they are each crossed once.
    The slope at the threshold is taken for that of the whole reach of the noise.
    """
    if not parts.is_noisy:
        return 1.0, 1.0
    opening, closing = (
        compute_ramp_crossings(parts.noise_v, parts.noise_bandwidth_hz, slope_v_per_s)
        for slope_v_per_s in (
            (parts.supply_v - parts.rising_v) / parts.open_s,
            (parts.falling_v - parts.closed_v) / parts.closed_s,
        )
    )
    return opening, closing


def judge(parts: Filter, phase_error_deg: float = 0.0, dwell_tolerance_deg: float = 0.0) -> Judgement:
    """Compute what a filter does to evenly spaced edges.

    Args:
        parts: the filter, the same in both phases.
        phase_error_deg: how far the phases of the encoder are off their places, electrically. [deg]
        dwell_tolerance_deg: how far each edge may be off besides. [deg]
    """
    opening_s, closing_s = compute_opening_delay_s(parts), compute_closing_delay_s(parts)
    fastest, limit = math.inf, "nothing"
    if parts.capacitor_f:
        # Far below every limit to far above: the slower delay is at least 1e-6 and at most 1e3 of a period.
        slow = 1e-6 / max(opening_s, closing_s)
        fast = 1e3 / max(opening_s, closing_s)
        for _ in range(60):
            middle = math.sqrt(slow * fast)
            failing = find_fault(parts, middle, phase_error_deg, dwell_tolerance_deg)
            if failing:
                fast, limit = middle, failing
            else:
                slow = middle
        fastest = slow
    return Judgement(
        opening_delay_s=opening_s,
        closing_delay_s=closing_s,
        longest_make_removed_s=compute_make_removed_s(parts),
        longest_break_removed_s=compute_break_removed_s(parts),
        fastest_periods_per_s=fastest,
        limit=limit,
    )


def find_fault(
    parts: Filter, periods_per_s: float, phase_error_deg: float = 0.0, dwell_tolerance_deg: float = 0.0
) -> str:
    """Describe what fails in an even turn, in its first period or after many.

    Args:
        parts: the filter, the same in both phases, with a capacitor.
        periods_per_s: how fast, above 0. [periods/s]
        phase_error_deg: see `judge`. [deg]
        dwell_tolerance_deg: see `judge`. [deg]

    Returns:
        ``order of the phases`` or ``lost pulses``; empty where all edges arrive, and in order.
    """
    shorter_s = (0.5 - 2 * dwell_tolerance_deg / 360) / periods_per_s
    quarter_s = (0.25 - (abs(phase_error_deg) + 2 * dwell_tolerance_deg) / 360) / periods_per_s
    if shorter_s <= 0 or quarter_s <= 0:
        return "order of the phases"
    half_s = 0.5 / periods_per_s
    kept_open, kept_closed = math.exp(-half_s / parts.open_s), math.exp(-half_s / parts.closed_s)
    swing_v = parts.supply_v - parts.closed_v
    # In the long run each half of the period begins where the other one ends.
    high_v = parts.closed_v + swing_v * (1 - kept_open) / (1 - kept_open * kept_closed)
    low_v = parts.closed_v + (high_v - parts.closed_v) * kept_closed
    # A turn begins at rest, open or closed; from there to the long run the voltages move one way, so that the ends of
    # that way are the worst of it.
    ends_v = (
        (parts.supply_v, parts.closed_v + swing_v * kept_closed),
        (parts.supply_v - swing_v * kept_open, parts.closed_v),
        (high_v, low_v),
    )
    disorder = ""
    for high_v, low_v in ends_v:
        if high_v <= parts.rising_v or low_v >= parts.falling_v:
            return "lost pulses"
        opening_s = parts.open_s * math.log((parts.supply_v - low_v) / (parts.supply_v - parts.rising_v))
        closing_s = parts.closed_s * math.log((high_v - parts.closed_v) / (parts.falling_v - parts.closed_v))
        if max(opening_s, closing_s) >= shorter_s:
            return "lost pulses"
        if abs(opening_s - closing_s) >= quarter_s:
            disorder = "order of the phases"
    return disorder
