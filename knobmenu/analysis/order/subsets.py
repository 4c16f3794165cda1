"""Orders of least cost by dynamic programming over subsets (M. Held and R. M. Karp, 1962).

What an entry costs where it stands is the use of all trips that pass over it, and that depends only on which entries
stand before it. So the least cost of a beginning follows from those of the beginnings that are one entry shorter.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from knobmenu.analysis.order.trips import Constraints, Order, Trips

Numbers = NDArray[np.float64]


def order_by_subsets(trips: Trips, constraints: Constraints) -> Order:
    """Find the order of least cost: go through all subsets as beginnings of the list, the smaller ones first.

    Raises:
        ValueError: No order keeps the constraints.
    """
    count = trips.count
    prices = _Shared(trips) if trips.all_shown else _Hidden(trips)
    allowed = ConstraintMasks(count, constraints)
    sets = np.arange(1 << count, dtype=np.int32)
    sizes = np.zeros(1 << count, dtype=np.uint8)
    for entry in range(count):
        sizes[1 << entry : 2 << entry] = sizes[: 1 << entry] + 1
    by_size = np.argsort(sizes, kind="stable").astype(np.int32)
    starts = np.searchsorted(sizes[by_size], np.arange(count + 2))
    least = np.full(1 << count, np.inf)
    least[0] = 0.0
    for size in range(1, count + 1):
        here = sets[by_size[starts[size] : starts[size + 1]]]
        best = np.full(len(here), np.inf)
        for entry in range(count):
            # Where the entry is not in the set, this is the set itself, which has no price yet.
            before = here & ~np.int32(1 << entry)
            offered = least[before] + prices.price_adding(entry, before)
            offered[~allowed.allow_adding(entry, before, size - 1)] = np.inf
            np.minimum(best, offered, out=best)
        least[here] = best
    if not np.isfinite(least[-1]):
        raise ValueError("no order keeps the constraints")
    return _read_back(count, least, prices, allowed)


def _read_back(count: int, least: Numbers, prices: _Shared | _Hidden, allowed: ConstraintMasks) -> Order:
    order: list[int] = []
    here = (1 << count) - 1
    while here:
        offers = []
        for entry in range(count):
            if here >> entry & 1:
                before = np.array([here & ~(1 << entry)], dtype=np.int32)
                if allowed.allow_adding(entry, before, count - len(order) - 1)[0]:
                    offers.append((float(least[before[0]] + prices.price_adding(entry, before)[0]), entry))
        entry = min(offers)[1]
        order.append(entry)
        here &= ~(1 << entry)
    return tuple(reversed(order))


def _sum_subsets(weights: Sequence[float]) -> Numbers:
    """Sum the weights of every subset, numbered by its bits."""
    sums = np.zeros(1 << len(weights))
    for bit, weight in enumerate(weights):
        sums[1 << bit : 2 << bit] = sums[: 1 << bit] + weight
    return sums


def sum_cuts(between: Numbers) -> Numbers:
    """Sum, for every subset, the weights between it and the rest; `between` is symmetric, with an empty diagonal."""
    count = len(between)
    cuts = np.zeros(1 << count)
    for bit in range(count):
        inside = _sum_subsets(between[bit, :bit].tolist())
        cuts[1 << bit : 2 << bit] = cuts[: 1 << bit] + between[bit].sum() - 2 * inside
    return cuts


def sum_uses(trips: Trips, over: int | None) -> tuple[Numbers, Numbers]:
    """Sum the uses between two entries, and from the first one; weighted by how often `over` is shown on them."""
    between, first = np.zeros((trips.count, trips.count)), np.zeros(trips.count)
    for trip in trips.trips:
        if over is not None and over in (trip.start, trip.end):
            continue
        often = trip.often * (1.0 if over is None else trip.shown[over])
        if trip.start is None:
            first[trip.end] += often
        elif trip.start != trip.end:
            between[trip.start, trip.end] += often
            between[trip.end, trip.start] += often
    return between, first


class _Shared:
    """Prices if nothing is hidden: the uses that cross the gap behind a beginning, whatever its last entry."""

    def __init__(self, trips: Trips) -> None:
        between, first = sum_uses(trips, None)
        self.gaps = sum_cuts(between) + first.sum() - _sum_subsets(list(first))

    def price_adding(self, entry: int, before: NDArray[np.int32]) -> Numbers:
        found: Numbers = self.gaps[before | np.int32(1 << entry)]
        return found


class _Hidden:
    """Prices if entries may be hidden: the uses that cross each entry, weighted by how often it is shown then."""

    def __init__(self, trips: Trips) -> None:
        self.over: list[Numbers] = []
        for entry in range(trips.count):
            between, first = sum_uses(trips, entry)
            self.over.append(sum_cuts(between) + first.sum() - _sum_subsets(list(first)))

    def price_adding(self, entry: int, before: NDArray[np.int32]) -> Numbers:
        found: Numbers = self.over[entry][before]
        return found


class ConstraintMasks:
    """The constraints, evaluated for many beginnings together."""

    def __init__(self, count: int, constraints: Constraints) -> None:
        self.pinned = dict(constraints.pinned)
        self.at = {place: entry for entry, place in self.pinned.items()}
        if len(self.at) < len(self.pinned):
            raise ValueError("no order keeps the constraints: two entries are pinned to one place")
        self.groups = [(group, sum(1 << entry for entry in group)) for group in constraints.together]
        self.before = [0] * count
        for first, second in constraints.walk_before():
            self.before[second] |= 1 << first

    def allow_adding(self, entry: int, before: NDArray[np.int32], place: int) -> NDArray[np.bool_]:
        """Return for which beginnings of `place` entries this one may come next."""
        fits = self.pinned.get(entry, place) == place and self.at.get(place, entry) == entry
        allowed = np.full(len(before), fits)
        if not fits:
            return allowed
        if self.before[entry]:
            allowed &= (before & self.before[entry]) == self.before[entry]
        for group, bits in self.groups:
            if entry not in group:
                inside = before & bits
                allowed &= (inside == 0) | (inside == bits)
        return allowed
