"""The best order of a ring on which everything is shown: a shortest way through its half-rings.

On a ring of an even number of places two entries are as far apart as there are half-rings, of the n/2 that begin at
consecutive places, which hold one of them alone. So the cost of an order is the sum of the cuts of its half-rings.
From one half-ring to the next one entry leaves and another one enters; after n/2 exchanges the half-ring is the other
half. Every way of n/2 exchanges from a set to its complement exchanges each entry once, so every such way is an order,
and the shortest one is the best order.

Two things halve the work. The cut of a set is that of its complement, so the second part of a way, seen from its end,
is a first part again: ways are searched up to their middle. And a ring can be turned, so some half-ring holds the
first entry and not the second.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Places = NDArray[np.intp]


class _Layer:
    """The ways after one more exchange: sets of `size` out of `half` entries, and their predecessors."""

    def __init__(self, half: int, size: int) -> None:
        self.sets = np.array([bits for bits in range(1 << half) if bits.bit_count() == size], dtype=np.int64)
        self.place = np.full(1 << half, -1, dtype=np.intp)
        self.place[self.sets] = np.arange(len(self.sets))
        self.before: Places = np.zeros((len(self.sets), 0), dtype=np.intp)
        if size:
            smaller = _Layer(half, size - 1)
            members = [[bit for bit in range(half) if int(bits) >> bit & 1] for bits in self.sets]
            self.before = np.array(
                [
                    [smaller.place[int(bits) ^ 1 << bit] for bit in inside]
                    for bits, inside in zip(self.sets, members, strict=True)
                ],
                dtype=np.intp,
            )


def find_best_ring(cuts: Numbers, count: int) -> tuple[int, ...]:
    """Find the order of least cost.

    Args:
        cuts: For every set of entries, numbered by its bits, the use between it and the rest.
        count: How many entries there are: even, and at least 4.

    Returns:
        The entries in their order around the ring.
    """
    half = count // 2
    deep = -(-half // 2)
    layers = [_Layer(half, size) for size in range(deep + 1)]
    whole = (1 << half) - 1
    # What has been exchanged up to the middle, seen from the other end, is all that has not.
    mirror = layers[half - deep].place[whole ^ layers[deep].sets]
    best: tuple[float, tuple[int, ...], tuple[int, ...]] | None = None
    for others in combinations(range(2, count), half - 1):
        inside = (0, *others)
        outside = tuple(entry for entry in range(count) if entry not in inside)
        costs = _sum_costs(cuts, inside, outside, layers)
        # Seen from the complement, what left is what enters, so rows and columns change places.
        back = costs[half - deep][np.ix_(mirror, mirror)]
        # Both parts count the set in the middle and the first one, which is the last one's complement.
        middle = _find_cuts(cuts, inside, outside, layers[deep])
        total = costs[deep] + back - middle - cuts[_to_bits(inside)]
        least = float(total.min())
        if best is None or least < best[0] - 1e-12:
            best = (least, inside, outside)
    assert best is not None
    return _read_back(cuts, best[1], best[2], half)


def _to_bits(entries: tuple[int, ...]) -> int:
    return sum(1 << entry for entry in entries)


def _spread(sets: NDArray[np.int64], entries: tuple[int, ...]) -> NDArray[np.int64]:
    """Convert sets of places in a half to sets of entries."""
    spread = np.zeros(len(sets), dtype=np.int64)
    for place, entry in enumerate(entries):
        spread |= (sets >> place & 1) << entry
    return spread


def _find_cuts(cuts: Numbers, inside: tuple[int, ...], outside: tuple[int, ...], layer: _Layer) -> Numbers:
    """Return the cut of each set that the exchange of one set for another makes of the first half."""
    left = _to_bits(inside) ^ _spread(layer.sets, inside)
    found: Numbers = cuts[left[:, None] | _spread(layer.sets, outside)[None, :]]
    return found


def _sum_costs(cuts: Numbers, inside: tuple[int, ...], outside: tuple[int, ...], layers: list[_Layer]) -> list[Numbers]:
    """Sum the cuts on the shortest ways from the first half, for each number of exchanges."""
    costs = [np.array([[cuts[_to_bits(inside)]]])]
    for layer in layers[1:]:
        # First the entry that left, then the one that entered.
        left = costs[-1][layer.before].min(axis=1)
        both = left[:, layer.before].min(axis=2)
        costs.append(both + _find_cuts(cuts, inside, outside, layer))
    return costs


def _read_back(cuts: Numbers, inside: tuple[int, ...], outside: tuple[int, ...], half: int) -> tuple[int, ...]:
    """Search one first half to its end, and read the exchanges off backwards."""
    layers = [_Layer(half, size) for size in range(half + 1)]
    costs = _sum_costs(cuts, inside, outside, layers)
    left = entered = (1 << half) - 1
    first: list[int] = []
    second: list[int] = []
    for size in range(half, 0, -1):
        before = layers[size - 1].place
        offers = [
            (float(costs[size - 1][before[left ^ 1 << out], before[entered ^ 1 << into]]), out, into)
            for out in range(half)
            if left >> out & 1
            for into in range(half)
            if entered >> into & 1
        ]
        _, out, into = min(offers)
        first.append(inside[out])
        second.append(outside[into])
        left, entered = left ^ 1 << out, entered ^ 1 << into
    # What leaves first stands first; what enters stands half a ring after it.
    return (*reversed(first), *reversed(second))
