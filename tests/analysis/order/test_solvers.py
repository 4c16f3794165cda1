"""Orders equal the best of all orders, in every case and under every constraint."""

from __future__ import annotations

import random
import time

import pytest

from knobmenu.analysis.order.search import Prices, compute_lower_bound, search_order
from knobmenu.analysis.order.solvers import Method, find_least_order, walk_orders
from knobmenu.analysis.order.trips import Constraints, Trip, Trips, merge
from tests.sampling import sampled

KINDS = ("first", "back", "last-used")
HIDING = ("none", "alike", "each trip")


def some_trips(chance: random.Random, count: int, kind: str, hiding: str, wraps: bool = False) -> Trips:
    """Make trips: from the first entry, from there and on to a back entry, or from the entry used before."""
    alike = [chance.choice((1.0, 1.0, 0.5, 0.25, 0.0)) for _ in range(count)]

    def shown(*ends: int) -> tuple[float, ...]:
        if hiding == "none":
            return (1.0,) * count
        if hiding == "alike":
            return tuple(alike)
        seen = [chance.choice((0.0, 1.0, 0.5)) for _ in range(count)]
        for end in ends:
            seen[end] = 1.0
        return tuple(seen)

    back = chance.randrange(count)
    trips = []
    for entry in range(count):
        often = chance.choice((0, 1, 2, 5, chance.random()))
        if kind == "last-used":
            trips += [Trip(other, entry, often * chance.random(), shown(entry, other)) for other in range(count)]
            continue
        trips.append(Trip(None, entry, often, shown(entry, back)))
        if kind == "back" and entry != back:
            trips.append(Trip(entry, back, 0.7 * often, shown(entry, back)))
    return merge(count, wraps, trips)


def some_constraints(chance: random.Random, count: int) -> Constraints:
    if chance.random() < 0.4:
        return Constraints()
    pinned = {chance.randrange(count): chance.randrange(count)} if chance.random() < 0.5 else {}
    many = count > 2 and chance.random() < 0.4
    together = (frozenset(chance.sample(range(count), chance.randint(2, count))),) if many else ()
    sequence = (tuple(chance.sample(range(count), 2)),) if chance.random() < 0.4 else ()
    return Constraints(pinned, together, sequence)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("hiding", HIDING)
@pytest.mark.parametrize("wraps", [False, True])
def test_an_order_costs_what_the_best_of_all_orders_costs(kind: str, hiding: str, wraps: bool) -> None:
    chance = random.Random(f"{kind} {hiding} {wraps}")
    for _ in range(sampled(60, 12)):
        count = chance.randint(2, sampled(8, 6) if chance.random() < 0.2 else 5)
        trips, constraints = some_trips(chance, count, kind, hiding, wraps), some_constraints(chance, count)
        best = min((trips.compute_cost(order) for order in walk_orders(count, constraints)), default=None)
        if best is None:
            with pytest.raises(ValueError, match="constraints"):
                find_least_order(trips, constraints)
            continue
        solution = find_least_order(trips, constraints)
        assert constraints.allow(solution.order)
        assert solution.proved
        assert solution.cost == pytest.approx(best, abs=1e-9), (solution, trips, constraints)
        assert compute_lower_bound(trips) <= best + 1e-9


@pytest.mark.parametrize(
    ("kind", "hiding", "wraps", "method"),
    [
        ("first", "alike", False, "sorted"),
        ("first", "none", True, "places"),
        ("back", "none", False, "places"),
        ("last-used", "none", False, "subsets"),
        ("first", "each trip", False, "subsets"),
        ("last-used", "none", True, "all orders"),
    ],
)
def test_each_case_has_its_method(kind: str, hiding: str, wraps: bool, method: Method) -> None:
    assert find_least_order(some_trips(random.Random(7), 6, kind, hiding, wraps)).method == method


def test_entries_that_may_be_hidden_are_sorted_by_use_over_probability() -> None:
    """Smith's rule: jobs of weights 3, 2, 2 and lengths 1, 1/2, 1/4 are done in falling ratio of both."""
    shown = (1.0, 0.5, 0.25)
    trips = merge(3, False, [Trip(None, entry, often, shown) for entry, often in enumerate((3.0, 2.0, 2.0))])

    assert find_least_order(trips).order == (2, 1, 0)


@pytest.mark.parametrize("hiding", HIDING)
@pytest.mark.parametrize("wraps", [False, True])
def test_the_quick_cost_is_the_cost(hiding: str, wraps: bool) -> None:
    chance = random.Random(3)
    for kind in KINDS:
        trips = some_trips(chance, 7, kind, hiding, wraps)
        prices = Prices(trips)
        for _ in range(20):
            order = tuple(chance.sample(range(7), 7))
            assert prices.compute_cost(order) == pytest.approx(trips.compute_cost(order))


@pytest.mark.parametrize("wraps", [False, True])
def test_a_longer_list_is_searched_and_its_bound_holds(wraps: bool) -> None:
    trips = some_trips(random.Random(5), 24, "last-used", "none", wraps)
    solution = find_least_order(trips)

    assert solution.method == "searched"
    assert solution.bound <= solution.cost <= trips.compute_cost(range(24))


def test_a_search_finds_the_best_order_where_that_is_known() -> None:
    for seed in range(sampled(20, 5)):
        trips = some_trips(random.Random(seed), 8, "last-used", "none")
        assert trips.compute_cost(search_order(trips, Constraints(), 4000)) == pytest.approx(
            find_least_order(trips).cost
        )


def test_a_searched_order_keeps_the_constraints() -> None:
    chance = random.Random(6)
    trips = some_trips(chance, 25, "last-used", "none")
    constraints = Constraints({24: 24, 0: 3}, (frozenset({4, 9, 14}),), ((20, 10, 5),))
    solution = find_least_order(trips, constraints)

    assert constraints.allow(solution.order)


def test_twenty_two_entries_are_ordered_in_seconds() -> None:
    trips = some_trips(random.Random(3), 22, "last-used", "none")
    before = time.process_time()
    assert find_least_order(trips).method == "subsets"

    assert time.process_time() - before < 8
