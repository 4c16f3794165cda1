"""Orders of least cost: by sorting where that is proved to be optimal, over subsets, or searched with a bound.

Which one is right follows from the trips:

- Every trip begins at the first entry, the list stops at its ends: the cost is the sum of what stands before each entry
  in use, which is a schedule of least weighted completion time. Sorting by use over probability of being shown is
  optimal (W. E. Smith, "Various optimizers for single-stage production", Naval Research Logistics Quarterly 3, 1956).
- Nothing is hidden and every trip begins at the first entry or touches one hub, such as the back entry: for each place
  of the hub, the most used entry gets the cheapest place (rearrangement inequality).
- Otherwise the order is a linear arrangement: dynamic programming (see `knobmenu.analysis.order.subsets`).
- A list that goes on from its other end, of an even number of entries that are all shown: a shortest way through its
  half-rings (see `knobmenu.analysis.order.rings`).
- Otherwise: all orders of a short list, else the best order that a search finds, with a bound below which none can be
  (see `knobmenu.analysis.order.search`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations
from typing import Literal

import attrs
import numpy as np

from knobmenu.analysis.order.rings import find_best_ring
from knobmenu.analysis.order.search import compute_lower_bound, search_order
from knobmenu.analysis.order.subsets import order_by_subsets, sum_cuts, sum_uses
from knobmenu.analysis.order.trips import Constraints, Order, Trips

Method = Literal["sorted", "places", "subsets", "half-rings", "all orders", "searched"]

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


def find_least_order(trips: Trips, constraints: Constraints | None = None) -> Solution:
    """Find the order of least cost.

    Raises:
        ValueError: No order keeps the constraints.
    """
    constraints = constraints or Constraints()
    count = trips.count
    if not constraints and not trips.wraps and trips.from_first and (found := _sort(trips)) is not None:
        return _make_solution(trips, found, "sorted")
    if trips.all_shown and not constraints.together and not constraints.sequence:
        hub = _find_hub(trips)
        if hub is not None:
            return _make_solution(trips, _order_by_places(trips, constraints, hub), "places")
    if not trips.wraps and count <= (MOST_SUBSETS if trips.all_shown else MOST_HIDDEN_SUBSETS):
        return _make_solution(trips, order_by_subsets(trips, constraints), "subsets")
    if count <= MOST_ORDERS:
        return _make_solution(trips, _try_all(trips, constraints), "all orders")
    if _is_ring(trips, constraints):
        between, _ = sum_uses(trips, None)
        return _make_solution(trips, _rotate(find_best_ring(sum_cuts(between), count), constraints), "half-rings")
    found = search_order(trips, constraints)
    return Solution(found, trips.compute_cost(found), compute_lower_bound(trips), "searched")


def _is_ring(trips: Trips, constraints: Constraints) -> bool:
    """Return whether a list is a ring of equals: no place is special, nothing is hidden, nothing is constrained.

    One pinned entry does not count: a ring can be turned until it stands at its place.
    """
    free = len(constraints.pinned) < 2 and not constraints.together and not constraints.sequence
    small = trips.count % 2 == 0 and trips.count <= MOST_RING
    return free and small and trips.wraps and trips.all_shown and all(trip.start is not None for trip in trips.trips)


def _rotate(order: Order, constraints: Constraints) -> Order:
    """Rotate a ring until the pinned entry is at its place."""
    for entry, place in constraints.pinned.items():
        first = order.index(entry) - place
        return tuple(order[(first + index) % len(order)] for index in range(len(order)))
    return order


def _make_solution(trips: Trips, order: Order, method: Method) -> Solution:
    cost = trips.compute_cost(order)
    return Solution(order, cost, cost, method)


# Sorting.


def _find_common_probability(trips: Trips) -> list[float] | None:
    """Return the probability at which each entry is shown on all trips to others, or None if that differs."""
    found: list[float] = []
    for entry in range(trips.count):
        seen = {trip.shown[entry] for trip in trips.trips if trip.end != entry}
        if len(seen) > 1:
            return None
        found.append(seen.pop() if seen else 1.0)
    return found


def _sort(trips: Trips) -> Order | None:
    shown, used = _find_common_probability(trips), trips.frequencies
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


def _find_hub(trips: Trips) -> _Hub | None:
    """Find the hub of all trips, or None if there is none."""
    pairs = [{trip.start, trip.end} for trip in trips.trips if trip.start is not None and trip.start != trip.end]
    if not pairs:
        return _Hub(None, 1.0, 0.0, tuple(trips.frequencies))
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


def _order_by_places(trips: Trips, constraints: Constraints, hub: _Hub) -> Order:
    """Find the order that gives the cheapest places to the most used entries, for each possible place of the hub."""
    count, pinned = trips.count, constraints.pinned

    def count_steps(one: int, other: int) -> int:
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
            return hub.from_first * count_steps(0, place) + (
                hub.with_hub * count_steps(at, place) if at is not None else 0.0
            )

        free = sorted((e for e in range(count) if e not in placed), key=lambda entry: -hub.weights[entry])
        places = sorted((p for p in range(count) if p not in placed.values()), key=price)
        by_place = {place: entry for entry, place in placed.items()} | dict(zip(places, free, strict=True))
        order = tuple(by_place[place] for place in range(count))
        cost = trips.compute_cost(order)
        if best is None or cost < best[0]:
            best = (cost, order)
    if best is None:
        raise ValueError("no order keeps the constraints: two entries are pinned to one place")
    return best[1]


# All orders.


def walk_orders(count: int, constraints: Constraints) -> Iterator[Order]:
    """Walk every order that satisfies the constraints."""
    return (order for order in permutations(range(count)) if constraints.allow(order))


def _try_all(trips: Trips, constraints: Constraints) -> Order:
    best = min(walk_orders(trips.count, constraints), key=trips.compute_cost, default=None)
    if best is None:
        raise ValueError("no order keeps the constraints")
    return best
