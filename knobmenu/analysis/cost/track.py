"""The least turning between two places of a line or a ring.

The entries of a list, the values of a setting and the characters of a text are all turned through alike: a detent goes
one place on, a detent with the knob held goes several, and at an end the line stops or goes on from the other.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import attrs

from knobmenu.analysis.cost.gestures import Gesture, Way
from knobmenu.analysis.cost.weights import Weights


@attrs.frozen
class Track:
    """A line or a ring of places, numbered from 0."""

    size: int
    """How many places."""
    wraps: bool = False
    """Whether the last place is followed by the first."""
    coarse: int = 0
    """Places that a held detent goes; 0 where the knob does not turn while held, or that does something else."""


@lru_cache(maxsize=65_536)
def find_least_turning(track: Track, start: int, end: int, weights: Weights) -> Way:
    """Find the turning of least weight from one place to another.

    Returns:
        Runs of turning; none where both places are the same.
    """
    if not track.coarse and not track.wraps:
        return _join_runs(("turn", end - start))
    return min(_walk_ways(track, start, end, weights), key=weights.weigh_way)


def weigh_turning(track: Track, start: int, end: int, weights: Weights) -> int:
    """Weigh the least turning from one place to another."""
    if not track.coarse:  # by far the most common, and asked for every entry of every list
        steps = abs(end - start)
        return weights.turn * (min(steps, track.size - steps) if track.wraps else steps)
    return weights.weigh_way(find_least_turning(track, start, end, weights))


def _walk_ways(track: Track, start: int, end: int, weights: Weights) -> Iterator[Way]:
    if track.wraps:
        yield from _walk_ring_ways(track, start, end, weights)
        return
    yield from _walk_inside(track, start, end)
    if not track.coarse:
        return
    # Turning on at an end does nothing more, so an end can be reached by held detents whatever the distance is.
    for limit in (0, track.size - 1):
        to_limit = _turn_to_limit(track, start, limit, weights)
        for onward in _walk_inside(track, limit, end):
            yield to_limit + onward


def _walk_inside(track: Track, start: int, end: int) -> Iterator[Way]:
    """Yield the ways that reach no end before they arrive."""
    distance = end - start
    yield _join_runs(("turn", distance))
    coarse = track.coarse
    if not coarse:
        return
    for held in {distance // coarse, -(-distance // coarse)} - {0}:
        fine = distance - held * coarse
        # Fine detents may come before, between or after the held ones, wherever the line has room for them.
        for first in {0, held, 1 if held > 0 else -1, held - 1 if held > 0 else held + 1}:
            turned = start + first * coarse
            if 0 <= turned < track.size and 0 <= turned + fine < track.size:
                yield _join_runs(("held", first), ("turn", fine), ("held", held - first))
                break


def _turn_to_limit(track: Track, start: int, limit: int, weights: Weights) -> Way:
    distance = limit - start
    sign = 1 if distance > 0 else -1
    held, rest = divmod(abs(distance), track.coarse)
    return min(
        _join_runs(("turn", distance)),
        _join_runs(("held", sign * held), ("turn", sign * rest)),
        _join_runs(("held", sign * (held + (rest > 0)))),
        key=weights.weigh_way,
    )


def _walk_ring_ways(track: Track, start: int, end: int, weights: Weights) -> Iterator[Way]:
    size, coarse = track.size, track.coarse
    distance = (end - start) % size
    nearest = distance if 2 * distance <= size else distance - size
    yield _join_runs(("turn", nearest))
    if not coarse:
        return
    # Going round more often than once pays only on a small ring: a round costs size / coarse held detents, and saves
    # at most coarse / 2 fine ones.
    rounds = 0 if size > coarse * coarse else coarse // 2 + 1
    for whole in range(-rounds - 1, rounds + 1):
        far = distance + whole * size
        for held in {far // coarse, -(-far // coarse)}:
            yield _join_runs(("held", held), ("turn", far - held * coarse))


def _join_runs(*runs: tuple[str, int]) -> Way:
    """Join neighbouring runs of one direction, and drop empty ones."""
    joined: list[tuple[str, int]] = []
    for kind, amount in runs:
        if amount and joined and joined[-1][0] == kind:
            amount += joined.pop()[1]
        if amount:
            joined.append((kind, amount))
    return tuple(Gesture("held" if kind == "held" else "turn", amount) for kind, amount in joined)
