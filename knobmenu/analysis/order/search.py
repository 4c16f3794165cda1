"""Orders found by search where no method proves an optimum, and a bound on their distance from it."""

from __future__ import annotations

import random

import numpy as np

from knobmenu.analysis.order.subsets import ConstraintMasks, sum_uses
from knobmenu.analysis.order.trips import Constraints, Order, Trips


class Prices:
    """The costs of orders, computed with arrays for many orders of the same trips."""

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

    def compute_cost(self, order: Order) -> float:
        """Compute the mean number of detents of a use, as `Trips.cost` does."""
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


def search_order(trips: Trips, constraints: Constraints, most_prices: int = 20_000) -> Order:
    """Move entries as long as that helps, starting from several orders, and return the best order found.

    Args:
        trips: What the list is used for.
        constraints: What the order must keep.
        most_prices: How many orders are tried at most.

    Raises:
        ValueError: No order keeps the constraints.
    """
    prices, random_source = Prices(trips), random.Random(1)
    used = trips.frequencies
    starts = [tuple(range(trips.count)), tuple(sorted(range(trips.count), key=lambda entry: -used[entry]))]
    starts = [order for order in starts if constraints.allow(order)] or [_find_any_order(trips.count, constraints)]
    best = min(starts, key=prices.compute_cost)
    least, asked = prices.compute_cost(best), 0
    here, cost = best, least
    while asked < most_prices:
        better = False
        moves = [(one, other) for one in range(trips.count) for other in range(trips.count) if one != other]
        random_source.shuffle(moves)
        for one, other in moves:
            moved = _move(here, one, other, random_source.random() < 0.5)
            if not constraints.allow(moved):
                continue
            asked += 1
            found = prices.compute_cost(moved)
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
                moved = _move(here, random_source.randrange(trips.count), random_source.randrange(trips.count), True)
                here = moved if constraints.allow(moved) else here
            cost = prices.compute_cost(here)
            asked += 1
    return best


def _move(order: Order, one: int, other: int, swap: bool) -> Order:
    entries = list(order)
    if swap:
        entries[one], entries[other] = entries[other], entries[one]
    else:
        entries.insert(other, entries.pop(one))
    return tuple(entries)


def _find_any_order(count: int, constraints: Constraints) -> Order:
    """Find any order that satisfies the constraints.

    Raises:
        ValueError: There is none.
    """
    allowed, order = ConstraintMasks(count, constraints), list[int]()

    def fill(here: int) -> bool:
        if len(order) == count:
            return True
        for entry in range(count):
            if not here >> entry & 1 and allowed.allow_adding(entry, np.array([here], dtype=object), len(order))[0]:
                order.append(entry)
                if fill(here | 1 << entry):
                    return True
                order.pop()
        return False

    if not fill(0):
        raise ValueError("no order keeps the constraints")
    return tuple(order)


def compute_lower_bound(trips: Trips) -> float:
    """Return a lower bound on the cost of every order, whatever the constraints.

    Trips from the first entry cost at least what they would cost alone in their best order, with every entry shown as
    rarely as it ever is. Of the trips that touch one entry, at most two can go to a neighbour, two to the next, and so
    on; each trip touches two entries.
    """
    count = trips.count
    between, first = sum_uses(trips, None)
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
