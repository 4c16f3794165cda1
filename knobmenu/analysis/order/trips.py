"""The cost of a list's order: the trips through it, and the constraints that it must satisfy.

A trip turns from the entry at which the list opens to the one that is used, or from there to the back entry. A hidden
entry takes no detent. Turning is plain here: a detent goes one entry on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

import attrs

Order = tuple[int, ...]
"""Entries by their present positions, in a new order."""


@attrs.frozen
class Trip:
    """Turning from one entry to another, again and again."""

    start: int | None
    """The entry where it begins; None: at the first one that is shown."""
    end: int
    """The entry where it ends."""
    often: float
    """How often, relative to all uses."""
    shown: tuple[float, ...]
    """For each entry, the probability that it is shown on this trip."""


@attrs.frozen
class Trips:
    """All trips through one list."""

    count: int
    """How many entries the list has."""
    wraps: bool
    trips: tuple[Trip, ...]

    @property
    def all_shown(self) -> bool:
        """Whether no entry is ever hidden on any trip."""
        return all(shown == 1 for trip in self.trips for shown in trip.shown)

    @property
    def from_first(self) -> bool:
        """Whether every trip begins at the first entry."""
        return all(trip.start is None for trip in self.trips)

    @property
    def frequencies(self) -> list[float]:
        """How often trips go to each entry."""
        found = [0.0] * self.count
        for trip in self.trips:
            found[trip.end] += trip.often
        return found

    def compute_cost(self, order: Sequence[int]) -> float:
        """Compute the mean number of detents of a use in an order."""
        places = {entry: place for place, entry in enumerate(order)}
        return sum(trip.often * self._count_detents(trip, order, places) for trip in self.trips)

    def _count_detents(self, trip: Trip, order: Sequence[int], places: Mapping[int, int]) -> float:
        end = places[trip.end]
        if trip.start is None:
            forward = sum(trip.shown[entry] for entry in order[:end])
        elif trip.start == trip.end:
            return 0.0
        else:
            low, high = sorted((places[trip.start], end))
            forward = 1 + sum(trip.shown[entry] for entry in order[low + 1 : high])
        if not self.wraps:
            return forward
        # The two ends of a trip are shown whatever the others are.
        ends = {trip.start, trip.end} - {None}
        whole = sum(trip.shown[entry] for entry in range(self.count) if entry not in ends) + len(ends)
        return min(forward, whole - forward)


def merge(count: int, wraps: bool, trips: Iterable[Trip]) -> Trips:
    """Merge equal trips, and drop those that are never made."""
    often: dict[tuple[int | None, int, tuple[float, ...]], float] = {}
    for trip in trips:
        key = (trip.start, trip.end, trip.shown)
        often[key] = often.get(key, 0.0) + trip.often
    merged = (Trip(start, end, total, shown) for (start, end, shown), total in often.items() if total > 0)
    return Trips(count, wraps, tuple(merged))


@attrs.frozen
class Constraints:
    """The constraints that an order must satisfy."""

    pinned: Mapping[int, int] = attrs.field(factory=dict)
    """For entries that stay, the place at which each stands."""
    together: tuple[frozenset[int], ...] = ()
    """Groups of entries that follow each other without others between them, in any order."""
    sequence: tuple[tuple[int, ...], ...] = ()
    """Entries that come in this order, others between them or not."""

    def __bool__(self) -> bool:
        """Return whether anything is constrained."""
        return bool(self.pinned or self.together or self.sequence)

    def allow(self, order: Sequence[int]) -> bool:
        """Return whether an order satisfies them."""
        places = {entry: place for place, entry in enumerate(order)}
        if any(places[entry] != place for entry, place in self.pinned.items()):
            return False
        if any(places[a] > places[b] for line in self.sequence for a, b in pairwise(line)):
            return False
        return all(
            max(places[entry] for entry in group) - min(places[entry] for entry in group) == len(group) - 1
            for group in self.together
        )

    def walk_before(self) -> Iterator[tuple[int, int]]:
        """Walk the pairs of which the first must come before the second."""
        for line in self.sequence:
            yield from pairwise(line)
