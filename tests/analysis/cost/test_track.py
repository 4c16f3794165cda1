"""The least turning equals a search over all places."""

from __future__ import annotations

import random
from heapq import heappop, heappush

import pytest

from knobmenu.analysis.cost.track import Track, find_least_turning, weigh_turning
from knobmenu.analysis.cost.weights import Weights
from tests.sampling import WHOLE

WEIGHTS = Weights(turn=1_000_240, held=1_000_520, press=1_000_280, hold=1_000_500, double=1_000_560, wait=10**12)


def searched(track: Track, start: int) -> dict[int, int]:
    best, heap = {start: 0}, [(0, start)]
    while heap:
        weight, place = heappop(heap)
        if weight > best[place]:
            continue
        for steps, more in ((1, WEIGHTS.turn), (track.coarse, WEIGHTS.held)):
            for after in (place + steps, place - steps):
                after = after % track.size if track.wraps else min(max(after, 0), track.size - 1)
                if weight + more < best.get(after, weight + more + 1):
                    best[after] = weight + more
                    heappush(heap, (weight + more, after))
    return best


@pytest.mark.parametrize("coarse", [0, 1, 2, 4, 10])
@pytest.mark.parametrize("wraps", [False, True])
def test_turning_weighs_what_a_search_finds(wraps: bool, coarse: int) -> None:
    chance = random.Random(1)
    for size in range(1, 45) if WHOLE else (1, 2, 3, 9, 10, 11, 19, 20, 21, 33, 101):
        track = Track(size, wraps, coarse)
        for start in range(size) if size < 40 else chance.sample(range(size), 6):
            best = searched(track, start)
            for end in range(size):
                assert weigh_turning(track, start, end, WEIGHTS) == best[end], (track, start, end)


def test_turning_arrives() -> None:
    chance = random.Random(2)
    for _ in range(2000):
        track = Track(chance.randint(1, 60), chance.random() < 0.5, chance.choice((0, 3, 10)))
        start, end = chance.randrange(track.size), chance.randrange(track.size)
        place = start
        for run in find_least_turning(track, start, end, WEIGHTS):
            for _ in range(run.detents):
                place += (track.coarse if run.kind == "held" else 1) * (1 if run.amount > 0 else -1)
                place = place % track.size if track.wraps else min(max(place, 0), track.size - 1)
        assert place == end


def test_a_track_of_billions_of_places_takes_no_longer() -> None:
    track = Track(2**31, False, 10)

    assert sum(run.detents for run in find_least_turning(track, 0, 2**30 + 7, WEIGHTS)) == 2**30 // 10 + 1 + 1
