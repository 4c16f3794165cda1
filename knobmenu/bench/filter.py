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

import math

import attrs
import numpy as np

from knobmenu.bench.signal import Floats, Signal


@attrs.frozen(kw_only=True)
class Filter:
    """The parts between one contact and one pin."""

    supply_v: float = 5.0
    """Supply. [V]"""
    pull_up_ohm: float = 10_000.0
    """Pull-up, above 0. [ohm]"""
    series_ohm: float = 0.0
    """Series resistor between contact and capacitor; 0: there is none. [ohm]"""
    capacitor_f: float = 0.0
    """Capacitor; 0: there is none, and the pin follows the contact. [F]"""
    contact_ohm: float = 0.1
    """Resistance of the closed contact, above 0; 0.1 is a common figure (common practice). [ohm]"""
    rising_v: float = 2.5
    """Threshold of a voltage that rises. [V]"""
    falling_v: float = 2.5
    """Threshold of a voltage that falls; the same for a plain input, lower for a Schmitt trigger. [V]"""

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
    """What a filter does for one encoder, in numbers."""

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


def solve(parts: Filter, contact: Signal) -> tuple[Signal, Floats]:
    """Find what the pin sees.

    Args:
        parts: the filter; before the first edge it has settled.
        contact: the contact, 1 while closed.

    Returns:
        The contact as the pin sees it, 1 while seen as closed (so the pin is low), and the voltage at each edge of
        the contact. [V]
    """
    edges = contact.changes_s
    if not parts.capacitor_f:
        settled = np.where((np.arange(len(edges)) + contact.first) & 1, parts.closed_v, parts.supply_v)
        return contact, settled
    if not len(edges):
        return contact, edges
    # How much of the way to where the voltage goes is left at the end of the piece after each edge.
    left = np.empty(len(edges))
    left[:-1] = edges[:-1] - edges[1:]
    left[-1] = -math.inf
    left[contact.first :: 2] /= parts.closed_s
    left[1 - contact.first :: 2] /= parts.open_s
    np.exp(left, out=left)

    closed, seen = bool(contact.first), bool(contact.first)
    volts = parts.closed_v if closed else parts.supply_v
    supply_v, closed_v, falling_v, rising_v = parts.supply_v, parts.closed_v, parts.falling_v, parts.rising_v
    open_s, closed_s = parts.open_s, parts.closed_s
    at_edges_v, passes_s = [], []
    for edge_s, share in zip(edges.tolist(), left.tolist(), strict=True):
        at_edges_v.append(volts)
        closed = not closed
        if closed:
            way_v = volts - closed_v
            volts = closed_v + way_v * share
            if not seen and volts < falling_v:
                passes_s.append(edge_s + closed_s * math.log(way_v / (falling_v - closed_v)))
                seen = True
        else:
            way_v = supply_v - volts
            volts = supply_v - way_v * share
            if seen and volts > rising_v:
                passes_s.append(edge_s + open_s * math.log(way_v / (supply_v - rising_v)))
                seen = False
    return Signal(contact.first, np.array(passes_s)), np.array(at_edges_v)


def voltage(parts: Filter, contact: Signal, at_s: Floats) -> Floats:
    """Give the voltage at the pin at moments, to draw it. [V]

    Args:
        parts: the filter.
        contact: the contact, 1 while closed.
        at_s: moments, in any order. [s]
    """
    _, start_v = solve(parts, contact)
    place = np.searchsorted(contact.changes_s, at_s, side="right")
    closed = (place + contact.first) % 2 == 1
    target_v = np.where(closed, parts.closed_v, parts.supply_v)
    if not parts.capacitor_f:
        return target_v
    begin_v = np.concatenate(([parts.closed_v if contact.first else parts.supply_v], start_v))
    begin_s = np.concatenate(([-np.inf], contact.changes_s))
    start = np.where(place == 0, begin_v[0], begin_v[place])
    gone_s = at_s - begin_s[place]
    return np.asarray(target_v + (start - target_v) * np.exp(-gone_s / np.where(closed, parts.closed_s, parts.open_s)))


def opening_delay_s(parts: Filter) -> float:
    """Give the time from a contact's opening, after a long rest, until the pin is seen high. [s]"""
    return parts.open_s * math.log((parts.supply_v - parts.closed_v) / (parts.supply_v - parts.rising_v))


def closing_delay_s(parts: Filter) -> float:
    """Give the time from a contact's closing, after a long rest, until the pin is seen low. [s]"""
    return parts.closed_s * math.log((parts.supply_v - parts.closed_v) / (parts.falling_v - parts.closed_v))


def make_removed_s(parts: Filter) -> float:
    """Give the longest burst at a closing, after a long rest, that the pin sees as one edge. [s]

    To be seen twice, the voltage must fall to its threshold first, and then be brought from there up to the other one,
    before the contact has come to rest.
    """
    rise_s = parts.open_s * math.log((parts.supply_v - parts.falling_v) / (parts.supply_v - parts.rising_v))
    return closing_delay_s(parts) + rise_s


def break_removed_s(parts: Filter) -> float:
    """Give the longest burst at an opening, after a long rest, that the pin sees as one edge, likewise. [s]"""
    fall_s = parts.closed_s * math.log((parts.rising_v - parts.closed_v) / (parts.falling_v - parts.closed_v))
    return opening_delay_s(parts) + fall_s


def judge(parts: Filter, phase_error_deg: float = 0.0, dwell_tolerance_deg: float = 0.0) -> Judgement:
    """Say what a filter does to edges that follow each other evenly.

    Args:
        parts: the filter, the same in both phases.
        phase_error_deg: how far the phases of the encoder are off their places, electrically. [deg]
        dwell_tolerance_deg: how far each edge may be off besides. [deg]
    """
    opening_s, closing_s = opening_delay_s(parts), closing_delay_s(parts)
    fastest, limit = math.inf, "nothing"
    if parts.capacitor_f:
        # Far below every limit to far above: the slower delay is at least 1e-6 and at most 1e3 of a period.
        slow = 1e-6 / max(opening_s, closing_s)
        fast = 1e3 / max(opening_s, closing_s)
        for _ in range(60):
            middle = math.sqrt(slow * fast)
            failing = fault(parts, middle, phase_error_deg, dwell_tolerance_deg)
            if failing:
                fast, limit = middle, failing
            else:
                slow = middle
        fastest = slow
    return Judgement(
        opening_delay_s=opening_s,
        closing_delay_s=closing_s,
        longest_make_removed_s=make_removed_s(parts),
        longest_break_removed_s=break_removed_s(parts),
        fastest_periods_per_s=fastest,
        limit=limit,
    )


def fault(parts: Filter, periods_per_s: float, phase_error_deg: float = 0.0, dwell_tolerance_deg: float = 0.0) -> str:
    """Say what fails in an even turn, in its first period or when it has gone on for long.

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
