"""Orders of least cost: by sorting where that is proved to be optimal, over subsets, or searched with a bound.

Which one is right follows from the trips:

- Every trip begins at the first entry, the list stops at its ends: the cost is the sum of what stands before each entry
  in use, which is a schedule of least weighted completion time. Sorting by use over probability of being shown is
  optimal (W. E. Smith, "Various optimizers for single-stage production", Naval Research Logistics Quarterly 3, 1956).
- Nothing is hidden and every trip begins at the first entry or touches one hub, such as the back entry: for each place
  of the hub, the most used entry gets the cheapest place (rearrangement inequality).
- Otherwise the order is a linear arrangement: dynamic programming over subsets (M. Held and R. M. Karp, 1962).
- A list that goes on from its other end, of an even number of entries that are all shown: a shortest way through its
  half-rings (see `knobmenu.analysis.order.rings`).
- Otherwise: all orders of a short list, else the best order that a search finds, with a bound below which none can be.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from itertools import permutations
from typing import Literal

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.analysis.order.rings import best_ring
from knobmenu.analysis.order.trips import Constraints, Order, Trips

Method = Literal["sorted", "places", "subsets", "half-rings", "all orders", "searched"]
Numbers = NDArray[np.float64]

MOST_SUBSETS = 22
"""Entries up to which subsets are gone through, where nothing is hidden."""
MOST_HIDDEN_SUBSETS = 18
"""The same where entries may be hidden, which takes a table for each entry."""
MOST_RING = 16
"""Entries up to which the half-rings of a list that wraps are gone through."""
MOST_ORDERS = 8
"""Entries up to which all orders are tried."""


@attrs.frozen
class Solution:
    """An order and how good it is."""

    order: Order
    cost: float
    """Detents of a use on average."""
    bound: float
    """No order costs less than this."""
    method: Method

    @property
    def proved(self) -> bool:
        """Whether no order can be better."""
        return self.method != "searched" or self.cost <= self.bound * (1 + 1e-9) + 1e-12


def least_order(trips: Trips, constraints: Constraints | None = None) -> Solution:
    """Find the order of least cost.

    Raises:
        ValueError: No order keeps the constraints.
    """
    constraints = constraints or Constraints()
    count = trips.count
    if not constraints and not trips.wraps and trips.from_first and (found := _by_sorting(trips)) is not None:
        return _solution(trips, found, "sorted")
    if trips.all_shown and not constraints.together and not constraints.sequence:
        hub = _hub(trips)
        if hub is not None:
            return _solution(trips, _by_places(trips, constraints, hub), "places")
    if not trips.wraps and count <= (MOST_SUBSETS if trips.all_shown else MOST_HIDDEN_SUBSETS):
        return _solution(trips, _by_subsets(trips, constraints), "subsets")
    if count <= MOST_ORDERS:
        return _solution(trips, _of_all(trips, constraints), "all orders")
    if _is_ring(trips, constraints):
        return _solution(trips, _rotate(best_ring(_cuts(_matrix(trips, None)[0]), count), constraints), "half-rings")
    return _search(trips, constraints)


def _is_ring(trips: Trips, constraints: Constraints) -> bool:
    """Return whether a list is a ring of equals: no place is special, nothing is hidden, nothing is to be kept.

    One pinned entry does not count: a ring can be turned until it stands at its place.
    """
    free = len(constraints.pinned) < 2 and not constraints.together and not constraints.sequence
    small = trips.count % 2 == 0 and trips.count <= MOST_RING
    return free and small and trips.wraps and trips.all_shown and all(trip.start is not None for trip in trips.trips)


def _rotate(order: Order, constraints: Constraints) -> Order:
    """Turn a ring until the entry that is pinned stands at its place."""
    for entry, place in constraints.pinned.items():
        first = order.index(entry) - place
        return tuple(order[(first + index) % len(order)] for index in range(len(order)))
    return order


def _solution(trips: Trips, order: Order, method: Method) -> Solution:
    cost = trips.cost(order)
    return Solution(order, cost, cost, method)


# Sorting.


def _find_common_probability(trips: Trips) -> list[float] | None:
    """Return the probability at which each entry is shown on all trips to others, or None where that differs."""
    found: list[float] = []
    for entry in range(trips.count):
        seen = {trip.shown[entry] for trip in trips.trips if trip.end != entry}
        if len(seen) > 1:
            return None
        found.append(seen.pop() if seen else 1.0)
    return found


def _sum_frequencies(trips: Trips) -> list[float]:
    used = [0.0] * trips.count
    for trip in trips.trips:
        used[trip.end] += trip.often
    return used


def _by_sorting(trips: Trips) -> Order | None:
    shown, used = _find_common_probability(trips), _sum_frequencies(trips)
    if shown is None:
        return None
    # What is never shown costs nothing, so it can stand first; what is never used stands last.
    return tuple(sorted(range(trips.count), key=lambda entry: -used[entry] / shown[entry] if shown[entry] else -np.inf))


@attrs.frozen
class _Hub:
    """Trips that all begin at the first entry or touch one entry, in the same proportion for every other entry."""

    entry: int | None
    """That entry; None where no trip needs one."""
    from_first: float
    """How much a place counts by its way from the first entry."""
    with_hub: float
    """How much it counts by its way to or from the hub."""
    weights: tuple[float, ...]
    """How much each entry is used."""


def _hub(trips: Trips) -> _Hub | None:
    """Find the hub of all trips, or None where there is none."""
    pairs = [{trip.start, trip.end} for trip in trips.trips if trip.start is not None and trip.start != trip.end]
    if not pairs:
        return _Hub(None, 1.0, 0.0, tuple(_sum_frequencies(trips)))
    for hub in sorted(entry for entry in set.intersection(*pairs) if entry is not None):
        first, between = [0.0] * trips.count, [0.0] * trips.count
        for trip in trips.trips:
            if trip.start is None:
                first[trip.end] += trip.often
            elif trip.start != trip.end:
                between[trip.end if trip.start == hub else trip.start] += trip.often
        others = [entry for entry in range(trips.count) if entry != hub]
        total, total_between = sum(first[entry] for entry in others), sum(between)
        whole = total + total_between
        if all(abs(first[entry] * total_between - between[entry] * total) <= 1e-9 * whole * whole for entry in others):
            weights = [first[entry] + between[entry] if entry != hub else first[hub] for entry in range(trips.count)]
            return _Hub(hub, total / whole, total_between / whole, tuple(weights))
    return None


def _by_places(trips: Trips, constraints: Constraints, hub: _Hub) -> Order:
    """Return the cheapest place to what is used most, for each place at which the hub can stand."""
    count, pinned = trips.count, constraints.pinned

    def steps(one: int, other: int) -> int:
        apart = abs(one - other)
        return min(apart, count - apart) if trips.wraps else apart

    hub_places: Sequence[int | None] = (None,)
    if hub.entry is not None:
        hub_places = (pinned[hub.entry],) if hub.entry in pinned else range(count)
    best: tuple[float, Order] | None = None
    for hub_place in hub_places:
        placed = dict(pinned)
        if hub.entry is not None and hub_place is not None:
            placed[hub.entry] = hub_place
        if len(set(placed.values())) < len(placed):
            continue

        def price(place: int, at: int | None = hub_place) -> float:
            return hub.from_first * steps(0, place) + (hub.with_hub * steps(at, place) if at is not None else 0.0)

        free = sorted((e for e in range(count) if e not in placed), key=lambda entry: -hub.weights[entry])
        places = sorted((p for p in range(count) if p not in placed.values()), key=price)
        by_place = {place: entry for entry, place in placed.items()} | dict(zip(places, free, strict=True))
        order = tuple(by_place[place] for place in range(count))
        cost = trips.cost(order)
        if best is None or cost < best[0]:
            best = (cost, order)
    if best is None:
        raise ValueError("no order keeps the constraints: two entries are pinned to one place")
    return best[1]


# All orders.


def orders(count: int, constraints: Constraints) -> Iterator[Order]:
    """Walk every order that keeps the constraints."""
    return (order for order in permutations(range(count)) if constraints.allow(order))


def _of_all(trips: Trips, constraints: Constraints) -> Order:
    best = min(orders(trips.count, constraints), key=trips.cost, default=None)
    if best is None:
        raise ValueError("no order keeps the constraints")
    return best


# Subsets.


def _by_subsets(trips: Trips, constraints: Constraints) -> Order:
    """Go through all subsets as beginnings of the list, the smaller ones first.

    What an entry costs where it stands is the use of all trips that pass over it, and that depends only on which
    entries stand before it.
    """
    count = trips.count
    prices = _Shared(trips) if trips.all_shown else _Hidden(trips)
    allowed = _Allowed(count, constraints)
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
            offered = least[before] + prices.adding(entry, before)
            offered[~allowed.adding(entry, before, size - 1)] = np.inf
            np.minimum(best, offered, out=best)
        least[here] = best
    if not np.isfinite(least[-1]):
        raise ValueError("no order keeps the constraints")
    return _read_back(count, least, prices, allowed)


def _read_back(count: int, least: Numbers, prices: _Shared | _Hidden, allowed: _Allowed) -> Order:
    order: list[int] = []
    here = (1 << count) - 1
    while here:
        offers = []
        for entry in range(count):
            if here >> entry & 1:
                before = np.array([here & ~(1 << entry)], dtype=np.int32)
                if allowed.adding(entry, before, count - len(order) - 1)[0]:
                    offers.append((float(least[before[0]] + prices.adding(entry, before)[0]), entry))
        entry = min(offers)[1]
        order.append(entry)
        here &= ~(1 << entry)
    return tuple(reversed(order))


def _subset_sums(weights: Sequence[float]) -> Numbers:
    """Sum the weights of every subset, numbered by its bits."""
    sums = np.zeros(1 << len(weights))
    for bit, weight in enumerate(weights):
        sums[1 << bit : 2 << bit] = sums[: 1 << bit] + weight
    return sums


def _cuts(between: Numbers) -> Numbers:
    """Sum, for every subset, the weights between it and the rest; `between` is symmetric, with an empty diagonal."""
    count = len(between)
    cuts = np.zeros(1 << count)
    for bit in range(count):
        inside = _subset_sums(between[bit, :bit].tolist())
        cuts[1 << bit : 2 << bit] = cuts[: 1 << bit] + between[bit].sum() - 2 * inside
    return cuts


def _matrix(trips: Trips, over: int | None) -> tuple[Numbers, Numbers]:
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
    """Prices where nothing is hidden: what passes over the gap behind a beginning, whatever its last entry is."""

    def __init__(self, trips: Trips) -> None:
        between, first = _matrix(trips, None)
        self.gaps = _cuts(between) + first.sum() - _subset_sums(list(first))

    def adding(self, entry: int, before: NDArray[np.int32]) -> Numbers:
        found: Numbers = self.gaps[before | np.int32(1 << entry)]
        return found


class _Hidden:
    """Prices where entries may be hidden: what passes over each entry, weighted by how often it is shown then."""

    def __init__(self, trips: Trips) -> None:
        self.over: list[Numbers] = []
        for entry in range(trips.count):
            between, first = _matrix(trips, entry)
            self.over.append(_cuts(between) + first.sum() - _subset_sums(list(first)))

    def adding(self, entry: int, before: NDArray[np.int32]) -> Numbers:
        found: Numbers = self.over[entry][before]
        return found


class _Allowed:
    """The constraints, asked of many beginnings at the same time."""

    def __init__(self, count: int, constraints: Constraints) -> None:
        self.pinned = dict(constraints.pinned)
        self.at = {place: entry for entry, place in self.pinned.items()}
        if len(self.at) < len(self.pinned):
            raise ValueError("no order keeps the constraints: two entries are pinned to one place")
        self.groups = [(group, sum(1 << entry for entry in group)) for group in constraints.together]
        self.before = [0] * count
        for first, second in constraints.before():
            self.before[second] |= 1 << first

    def adding(self, entry: int, before: NDArray[np.int32], place: int) -> NDArray[np.bool_]:
        """Tell for which beginnings of `place` entries this one may come next."""
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


# Searched.


class _Prices:
    """The cost of an order, quicker than `Trips.cost`."""

    def __init__(self, trips: Trips) -> None:
        self.wraps = trips.wraps
        self.often = np.array([trip.often for trip in trips.trips])
        self.starts = np.array([-1 if trip.start is None else trip.start for trip in trips.trips], dtype=np.intp)
        self.ends = np.array([trip.end for trip in trips.trips], dtype=np.intp)
        shown = np.array([trip.shown for trip in trips.trips]).reshape(len(trips.trips), trips.count)
        # The two ends of a trip are shown whatever the others are.
        rows = np.arange(len(trips.trips))
        shown[rows, self.ends] = 1.0
        between = self.starts >= 0
        shown[rows[between], self.starts[between]] = 1.0
        self.shown, self.rows = shown, rows
        self.all_shown = bool((shown == 1).all())

    def cost(self, order: Order) -> float:
        places = np.empty(len(order), dtype=np.intp)
        places[list(order)] = np.arange(len(order))
        if self.all_shown:
            begins = np.where(self.starts >= 0, places[self.starts], 0)
            steps = np.abs(places[self.ends] - begins)
            steps = np.minimum(steps, len(order) - steps) if self.wraps else steps
            return float(self.often @ steps)
        before = np.zeros((len(self.rows), len(order) + 1))
        np.cumsum(self.shown[:, list(order)], axis=1, out=before[:, 1:])
        begins = np.where(self.starts >= 0, before[self.rows, places[self.starts]], 0.0)
        forward = np.abs(before[self.rows, places[self.ends]] - begins)
        if self.wraps:
            forward = np.minimum(forward, before[:, -1] - forward)
        return float(self.often @ forward)


def _search(trips: Trips, constraints: Constraints, most_prices: int = 20_000) -> Solution:
    """Move entries about as long as that helps, from several orders on, and say how far from the best it can be."""
    prices, chance = _Prices(trips), random.Random(1)
    used = _sum_frequencies(trips)
    starts = [tuple(range(trips.count)), tuple(sorted(range(trips.count), key=lambda entry: -used[entry]))]
    starts = [order for order in starts if constraints.allow(order)] or [_any_order(trips.count, constraints)]
    best = min(starts, key=prices.cost)
    least, asked = prices.cost(best), 0
    here, cost = best, least
    while asked < most_prices:
        better = False
        moves = [(one, other) for one in range(trips.count) for other in range(trips.count) if one != other]
        chance.shuffle(moves)
        for one, other in moves:
            moved = _move(here, one, other, chance.random() < 0.5)
            if not constraints.allow(moved):
                continue
            asked += 1
            found = prices.cost(moved)
            if found < cost - 1e-12:
                here, cost, better = moved, found, True
            if asked >= most_prices:
                break
        if cost < least:
            best, least = here, cost
        if not better:
            # No move helps here: go on from the best order with a few entries moved at random.
            here = best
            for _ in range(4):
                moved = _move(here, chance.randrange(trips.count), chance.randrange(trips.count), True)
                here = moved if constraints.allow(moved) else here
            cost = prices.cost(here)
            asked += 1
    return Solution(best, trips.cost(best), lower_bound(trips), "searched")


def _move(order: Order, one: int, other: int, swap: bool) -> Order:
    entries = list(order)
    if swap:
        entries[one], entries[other] = entries[other], entries[one]
    else:
        entries.insert(other, entries.pop(one))
    return tuple(entries)


def _any_order(count: int, constraints: Constraints) -> Order:
    """Find some order that keeps the constraints.

    Raises:
        ValueError: There is none.
    """
    allowed, order = _Allowed(count, constraints), list[int]()

    def fill(here: int) -> bool:
        if len(order) == count:
            return True
        for entry in range(count):
            if not here >> entry & 1 and allowed.adding(entry, np.array([here], dtype=object), len(order))[0]:
                order.append(entry)
                if fill(here | 1 << entry):
                    return True
                order.pop()
        return False

    if not fill(0):
        raise ValueError("no order keeps the constraints")
    return tuple(order)


def lower_bound(trips: Trips) -> float:
    """Return a cost that no order goes below, whatever the constraints are.

    Trips from the first entry cost at least what they would cost alone in their best order, with every entry shown as
    rarely as it ever is. Of the trips that touch one entry, at most two can go to a neighbour, two to the next, and so
    on; each trip touches two entries.
    """
    count = trips.count
    between, first = _matrix(trips, None)
    shown = [
        min((trip.shown[entry] for trip in trips.trips if trip.end != entry), default=1.0) for entry in range(count)
    ]
    if trips.wraps:
        places = sorted(min(place, count - place) if trips.all_shown else 0 for place in range(count))
        from_first = float(np.sort(first)[::-1] @ np.array(places))
    else:
        entries = sorted(range(count), key=lambda entry: -first[entry] / shown[entry] if shown[entry] else -np.inf)
        before, from_first = 0.0, 0.0
        for entry in entries:
            from_first += first[entry] * before
            before += shown[entry]
    if trips.all_shown:
        steps = np.arange(count) // 2 + 1
        pairs = sum(float(np.sort(row)[::-1] @ steps) for row in between) / 2
    else:
        pairs = float(between.sum()) / 2
    return from_first + pairs
