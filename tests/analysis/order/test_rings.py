"""The best order of a ring equals the best of all orders."""

from __future__ import annotations

import random
import time

import pytest

from knobmenu.analysis.order.rings import find_best_ring
from knobmenu.analysis.order.search import search_order
from knobmenu.analysis.order.solvers import find_least_order, walk_orders
from knobmenu.analysis.order.subsets import sum_cuts, sum_uses
from knobmenu.analysis.order.trips import Constraints, Trip, Trips, merge
from tests.sampling import sampled


def ring(chance: random.Random, count: int) -> Trips:
    shown = (1.0,) * count
    pairs = [(one, other) for one in range(count) for other in range(count) if one != other]
    return merge(count, True, [Trip(*pair, chance.choice((0.0, 1.0, 5 * chance.random())), shown) for pair in pairs])


@pytest.mark.parametrize("count", [4, 6, 8])
def test_the_shortest_way_through_half_rings_is_the_best_of_all_orders(count: int) -> None:
    chance = random.Random(count)
    for _ in range(sampled(10, 1) if count == 8 else 12):
        trips = ring(chance, count)
        found = find_best_ring(sum_cuts(sum_uses(trips, None)[0]), count)
        # A ring can be turned, so that the first entry may be taken to stay.
        best = min(trips.compute_cost(order) for order in walk_orders(count, Constraints({0: 0})))
        assert sorted(found) == list(range(count))
        assert trips.compute_cost(found) == pytest.approx(best)


def test_a_pinned_entry_stands_at_its_place() -> None:
    trips = ring(random.Random(1), 10)
    free, pinned = find_least_order(trips), find_least_order(trips, Constraints({3: 7}))

    assert free.method == pinned.method == "half-rings"
    assert pinned.order[7] == 3
    assert pinned.cost == pytest.approx(free.cost)


def test_sixteen_entries_that_wrap_are_ordered_in_seconds_and_no_search_finds_a_better_order() -> None:
    trips = ring(random.Random(2), 16)
    before = time.process_time()
    solution = find_least_order(trips)
    taken = time.process_time() - before

    assert solution.method == "half-rings"
    assert taken < 6
    assert solution.cost <= trips.compute_cost(search_order(trips, Constraints(), 3000)) + 1e-9
