"""Which resistor and capacitor to buy: values of the E series that remove the bounce and pass the turning.

Values after IEC 60063. The digits are given, not computed: eight members of E24 are not what the formula gives.
"""

from __future__ import annotations

import itertools
import math
from functools import lru_cache

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.corners import Tolerance, list_worst_corners
from knobmenu.bench.errors import BenchError
from knobmenu.bench.filter import (
    Filter,
    compute_break_removed_s,
    compute_closing_delay_s,
    compute_make_removed_s,
    compute_opening_delay_s,
)
from knobmenu.bench.inputs import get_thresholds_v

E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
"""IEC 60063, E24, in tenths."""

SERIES: dict[str, tuple[int, ...]] = {"E3": (10, 22, 47), "E6": E24[::4], "E12": E24[::2], "E24": E24}
"""Digits of a decade, in tenths, by series."""


def list_values(series: str, lowest: float, highest: float) -> list[float]:
    """Return the preferred values from one to another, inclusive.

    Args:
        series: ``E3``, ``E6``, ``E12`` or ``E24``.
        lowest: above 0, in any unit.
        highest: in the same unit.
    """
    found = []
    for decade in range(math.floor(math.log10(lowest)), math.floor(math.log10(highest)) + 1):
        found += [float(f"{digits}e{decade - 1}") for digits in SERIES[series]]
    return [value for value in found if lowest * (1 - 1e-9) <= value <= highest * (1 + 1e-9)]


def list_candidates(chain: Chain, most: int) -> list[tuple[float, float]]:
    """Choose filters worth judging: pairs of series resistor and capacitor for a Schmitt trigger.

    Args:
        chain: its supply, pull-up, contacts, encoder, tolerances and target.
        most: how many. [filters]

    Returns:
        Series resistor and capacitor of each: of those that remove as much of the bounce, the one that delays least.
        [ohm, F]
    """
    return [alike[0] for alike in group_candidates(chain)][:most]


def group_candidates(chain: Chain) -> list[list[tuple[float, float]]]:
    """Group the pairs of preferred values by how much of the chain's longest bounce they remove at every corner.

    What they do with a real motion only a verdict tells.

    Returns:
        Groups, those worth judging first in front; in each, series resistor and capacitor of the pairs that delay
        hardly more than the first one. [ohm, F]
    """
    bursts = (chain.contact.on_make, chain.contact.on_break)
    bounce_s = max((burst.longest_ms for burst in bursts if burst is not None), default=0.0) / 1000
    rising_v, falling_v = get_thresholds_v("schmitt", chain.filter.supply_v)
    try:
        without = attrs.evolve(chain.filter, series_ohm=0.0, capacitor_f=0.0, rising_v=rising_v, falling_v=falling_v)
        measured = _measure(without, chain.tolerance)
    except BenchError:  # the closed contact is above the thresholds, or noise reaches them
        return []
    groups: dict[float, list[tuple[float, tuple[float, float]]]] = {step: [] for step in _FRACTIONS}
    for removed_s, slowest_s, pair in measured:
        step = max((one for one in _FRACTIONS if removed_s >= one * bounce_s), default=None)
        if step is not None:
            groups[step].append((slowest_s, pair))
    found = []
    for group in groups.values():
        group.sort()
        found.append([pair for slowest_s, pair in group if slowest_s <= _HARDLY_MORE * group[0][0]])
    return [alike for alike in found if alike]


@lru_cache(maxsize=64)
def _measure(without: Filter, tolerance: Tolerance) -> tuple[tuple[float, float, tuple[float, float]], ...]:
    """Measure every pair of preferred values at its corners; remedies ask for the same pairs again and again.

    Args:
        without: the pin without a filter, at a Schmitt trigger.
        tolerance: of the parts.

    Returns:
        The longest burst that each pair removes, its slowest delay, and its series resistor and capacitor.
        [s, s, (ohm, F)]

    Raises:
        BenchError: one of the filters cannot be.
    """
    found = []
    for series_ohm, capacitor_f in itertools.product(list_values("E12", 1e3, 100e3), list_values("E6", 1e-9, 10e-6)):
        tried = attrs.evolve(without, series_ohm=series_ohm, capacitor_f=capacitor_f)
        corners = [corner.a for corner in list_worst_corners(tried, tolerance)]
        removed_s = min(min(compute_make_removed_s(corner), compute_break_removed_s(corner)) for corner in corners)
        slowest_s = max(max(compute_opening_delay_s(corner), compute_closing_delay_s(corner)) for corner in corners)
        found.append((removed_s, slowest_s, (series_ohm, capacitor_f)))
    return tuple(found)


_HARDLY_MORE = 1.25
"""What delays so many times as long delays hardly more. [unitless]"""

_FRACTIONS = (1.3, 1.0, 0.7, 0.45, 0.3, 0.85, 0.55, 1.15, 0.2)
"""Fractions of the longest bounce that filters are chosen to remove, those worth judging first in front; most
bursts are far shorter. [unitless]"""
