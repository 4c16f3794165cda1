"""Pairs of settings of which the first never exceeds the second, and the order in which they push.

If the high limit of A is B, or the low limit of B is A, A never exceeds B. The pairs form a graph. A cycle would force
all its members to one common value and leave no order in which one can push the next, so a design with a cycle is
refused. Without cycles there is a topological order, and a push is one pass through the list, forward for a value that
rose and backward for one that fell: each pair then comes after every pair that can move its driving end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple


class Pair(NamedTuple):
    """Two settings of which the first never exceeds the second."""

    lower: str
    """The key of the lower setting."""
    upper: str
    """The key of the upper setting."""


def list_pairs(limits: Mapping[str, tuple[object, object]]) -> list[Pair]:
    """List the pairs that settings declare, each once.

    Args:
        limits: The low and high limit of each number and scale, by key; a limit that is a text is another one's key.
    """
    pairs: dict[Pair, None] = {}
    for key, (low, high) in limits.items():
        if isinstance(low, str):
            pairs[Pair(low, key)] = None
        if isinstance(high, str):
            pairs[Pair(key, high)] = None
    return list(pairs)


def find_cycles(pairs: Iterable[tuple[str, str]]) -> Iterator[list[str]]:
    """Find cycles among pairs: keys of which each precedes the next in a pair, with the first repeated at the end.

    Each cycle is reported once and then cut at its last pair, so every member of every cycle is reported.

    Args:
        pairs: Two keys each, such as two settings that limit each other, or a value's source and its destination.
    """
    left = dict.fromkeys(pairs)
    while True:
        try:
            _make_sorter(left).prepare()
        except CycleError as error:
            cycle: list[str] = error.args[1]
            yield cycle
            del left[cycle[-2], cycle[-1]]
        else:
            return


def order_keys(keys: Iterable[str], pairs: Iterable[Pair]) -> list[str]:
    """Sort keys so that the lower key of every pair precedes the upper one.

    Raises:
        graphlib.CycleError: The pairs form a cycle.
    """
    return list(_make_sorter(pairs, keys).static_order())


def order_pairs(keys: Iterable[str], pairs: Iterable[Pair]) -> tuple[Pair, ...]:
    """Sort pairs topologically: each one after all pairs whose upper setting is its lower one.

    Raises:
        graphlib.CycleError: The pairs form a cycle.
    """
    rank = {key: place for place, key in enumerate(order_keys(keys, pairs))}
    return tuple(sorted(pairs, key=lambda pair: (rank[pair.upper], rank[pair.lower])))


def group_pairs(pairs: Iterable[Pair]) -> dict[str, tuple[Pair, ...]]:
    """Map each key to all pairs connected with it, directly or through others, in their given order.

    Connected keys share one tuple, so the memory grows linearly with the number of pairs.
    """
    groups: dict[str, list[Pair]] = {}
    for pair in pairs:
        one, other = groups.setdefault(pair.lower, []), groups.setdefault(pair.upper, [])
        if one is not other:
            small, large = sorted((one, other), key=len)
            for key in {pair.lower, pair.upper, *(key for joined in small for key in joined)}:
                groups[key] = large
            large += small
        groups[pair.lower].append(pair)
    place = {pair: number for number, pair in enumerate(pairs)}
    shared = {id(group): tuple(sorted(group, key=place.__getitem__)) for group in groups.values()}
    return {key: shared[id(group)] for key, group in groups.items()}


def _make_sorter(pairs: Iterable[tuple[str, str]], keys: Iterable[str] = ()) -> TopologicalSorter[str]:
    before: dict[str, list[str]] = {key: [] for key in keys}
    for lower, upper in pairs:
        before.setdefault(upper, []).append(lower)
    return TopologicalSorter(before)
