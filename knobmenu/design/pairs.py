"""The pairs of settings of which the one is at most the other, and their order.

Where the high limit of A is B, or the low limit of B is A, A is at most B whatever is done. The pairs form a graph; a
cycle in it would leave its members a single common value, and no order in which one can push the next, so it is
refused. Without cycles there is a topological order, and pushing is one walk through the list: forward for a value
that rose, backward for one that fell, since each pair then comes after every pair that can move its driving end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple


class Pair(NamedTuple):
    """Two settings, of which the first is never above the second."""

    lower: str
    """The key of the one."""
    upper: str
    """The key of the other."""


def list_pairs(limits: Mapping[str, tuple[object, object]]) -> list[Pair]:
    """Return the pairs that settings declare, each once.

    Args:
        limits: The low and the high limit of each number and scale by key; a text is the key of another one.
    """
    pairs: dict[Pair, None] = {}
    for key, (low, high) in limits.items():
        if isinstance(low, str):
            pairs[Pair(low, key)] = None
        if isinstance(high, str):
            pairs[Pair(key, high)] = None
    return list(pairs)


def find_cycles(pairs: Iterable[tuple[str, str]]) -> Iterator[list[str]]:
    """Find the cycles among pairs: keys of which each stands before the next in a pair, the first again at the end.

    A cycle is reported once and then cut open at its last pair; so all members of every cycle are named.

    Args:
        pairs: Two keys each, such as those of limits, or of a value and what takes it.
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
    """Return keys in an order in which every lower one of a pair stands before the upper one.

    Raises:
        graphlib.CycleError: There is none.
    """
    return list(_make_sorter(pairs, keys).static_order())


def order_pairs(keys: Iterable[str], pairs: Iterable[Pair]) -> tuple[Pair, ...]:
    """Return pairs in topological order: each one after all pairs whose upper setting is its lower one.

    Raises:
        graphlib.CycleError: There is no such order.
    """
    rank = {key: place for place, key in enumerate(order_keys(keys, pairs))}
    return tuple(sorted(pairs, key=lambda pair: (rank[pair.upper], rank[pair.lower])))


def group_pairs(pairs: Iterable[Pair]) -> dict[str, tuple[Pair, ...]]:
    """Return, for each key in a pair, all pairs that are joined with it directly or through others, in their order.

    Keys that are joined share one tuple, so that a chain of any length costs its length.
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
