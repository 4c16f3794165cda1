"""Tolerances: the corners, with parts off their nominal values, at which a chain is judged.

Each phase has its own parts, so the two phases can be at different corners. Four corners of one phase are extremes of
what a filter does: the slowest, the fastest (which removes the least bounce), and the two that delay opening and
closing most unequally. Both phases at one of them, or one phase slow and the other fast, are the worst that is tried.

Both phases share the supply. The thresholds of an input with a name follow it, and so do the pull-ups: every voltage is
off in proportion, every crossing comes when it came, and the supply's tolerance cancels. Thresholds that are stated in
volts stay where they are while the supply moves (an input of another supply than the pull-ups, a comparator with a
reference, TTL levels). There a low supply delays openings, and a high one lets them pass sooner; each corner has the
one that makes it worse.
"""

from __future__ import annotations

import math
from functools import lru_cache

import attrs

from knobmenu.bench.filter import Filter
from knobmenu.bench.inputs import INPUTS, find_kind
from knobmenu.bench.noise import REACH
from knobmenu.bench.rules import Number

_LEAST_HYSTERESIS = 0.48
"""Least hysteresis of an input without a name against the typical one, as of `schmitt`: 0.4 and 0.83 V. [unitless]"""

_NEAREST_V = 0.02
"""How near a threshold comes to the closed contact and to the supply, as a fraction of the way; farther with noise that
reaches farther. [unitless]"""


@attrs.frozen(kw_only=True)
class Tolerance:
    """How far parts may be off in either direction."""

    resistor: float = attrs.field(default=0.05, validator=Number(0, 0.9))
    """Of pull-up and series resistor, as a fraction; 0.05 is a common part. [unitless]"""
    capacitor: float = attrs.field(default=0.1, validator=Number(0, 0.9))
    """Of the capacitor, as a fraction; 0.1 is a common part. [unitless]"""
    threshold: float = attrs.field(default=0.3, validator=Number(0, 0.9))
    """Of thresholds that the chain states in volts, as a fraction; those of an input with a name lie between its
    published limits. 0.3 is about that of a 74HC14-class gate. [unitless]"""
    supply: float = attrs.field(default=0.05, validator=Number(0, 0.5))
    """Of the supply, as a fraction; it matters to thresholds that are stated in volts. 0.05 is a common regulator's
    (common practice). [unitless]"""


@attrs.frozen
class Corner:
    """The parts of both phases."""

    name: str
    """What it is, in words."""
    a: Filter
    """The filter of phase A."""
    b: Filter
    """That of phase B."""


def make_nominal(parts: Filter) -> Corner:
    """Return both phases with nominal parts."""
    return Corner("nominal parts", parts, parts)


@lru_cache(maxsize=2048)
def list_worst_corners(parts: Filter, tolerance: Tolerance) -> tuple[Corner, ...]:
    """Return the corners at which a chain is judged; none without a capacitor, since tolerances do not matter then."""
    if not parts.capacitor_f:
        return ()
    low_v, high_v = _list_supplies_v(parts, tolerance)
    slow, late = _make_corner(parts, tolerance, low_v, 1, 1, -1), _make_corner(parts, tolerance, low_v, 1, 1, 1)
    fast, early = _make_corner(parts, tolerance, high_v, -1, -1, 1), _make_corner(parts, tolerance, high_v, 1, -1, -1)
    # Both phases have the same supply; a low one makes their openings differ more.
    beside = _make_corner(parts, tolerance, low_v, -1, -1, 1)
    return (
        Corner("both phases fast", fast, fast),
        Corner("both phases slow", slow, slow),
        Corner("both phases late to open", late, late),
        Corner("both phases late to close", early, early),
        Corner("A slow, B fast", slow, beside),
        Corner("A fast, B slow", beside, slow),
    )


def _list_supplies_v(parts: Filter, tolerance: Tolerance) -> tuple[float, float]:
    """Return the lowest and the highest supply that matters: its own where the thresholds follow it. [V]"""
    if find_kind(parts.supply_v, parts.rising_v, parts.falling_v) is not None:
        return parts.supply_v, parts.supply_v
    # With a supply below the threshold the pin never rises, whatever the filter.
    lowest_v = min(parts.supply_v, parts.rising_v * _LEAST_ABOVE)
    return max(parts.supply_v * (1 - tolerance.supply), lowest_v), parts.supply_v * (1 + tolerance.supply)


_LEAST_ABOVE = 1.05
"""A supply that is off stays so many times as high as the stated threshold. [unitless]"""


def _make_corner(
    parts: Filter, tolerance: Tolerance, supply_v: float, slower: int, rising: int, falling: int
) -> Filter:
    """Return a filter at a supply, with larger or smaller time constants and thresholds."""
    resistor, capacitor = 1 + slower * tolerance.resistor, 1 + slower * tolerance.capacitor
    pull_up_ohm, series_ohm = parts.pull_up_ohm * resistor, parts.series_ohm * resistor
    closed_v = supply_v * parts.contact_ohm / (pull_up_ohm + parts.contact_ohm)
    way_v = supply_v - closed_v
    nearest_v = max(_NEAREST_V * way_v, 1.2 * REACH * parts.noise_v)
    lowest_v, highest_v = closed_v + nearest_v, supply_v - nearest_v
    rising_v, falling_v, hysteresis_v = _list_thresholds_v(parts, tolerance, rising, falling)
    rising_v = min(max(rising_v, lowest_v + hysteresis_v), highest_v)
    falling_v = min(max(falling_v, lowest_v), rising_v - hysteresis_v)
    if parts.rising_v == parts.falling_v:
        # A plain input has one threshold.
        falling_v = rising_v
    else:
        # Rounding must not merge thresholds that nearly meet.
        falling_v = min(falling_v, math.nextafter(rising_v, 0))
    return attrs.evolve(
        parts,
        supply_v=supply_v,
        pull_up_ohm=pull_up_ohm,
        series_ohm=series_ohm,
        capacitor_f=parts.capacitor_f * capacitor,
        rising_v=rising_v,
        falling_v=falling_v,
    )


def _list_thresholds_v(parts: Filter, tolerance: Tolerance, rising: int, falling: int) -> tuple[float, float, float]:
    """Return the highest (1) or lowest (-1) thresholds of a part, and how far apart they are at least. [V]"""
    kind = find_kind(parts.supply_v, parts.rising_v, parts.falling_v)
    if kind is None:
        return (
            parts.rising_v * (1 + rising * tolerance.threshold),
            parts.falling_v * (1 + falling * tolerance.threshold),
            _LEAST_HYSTERESIS * (parts.rising_v - parts.falling_v),
        )
    published = INPUTS[kind]
    fractions = published.rising[1 + rising], published.falling[1 + falling], published.least_hysteresis
    rising_v, falling_v, hysteresis_v = (fraction * parts.supply_v for fraction in fractions)
    return rising_v, falling_v, hysteresis_v
