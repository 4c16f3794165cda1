"""The verdict on a chain: does it count right at the target speed, and up to which speed?

Each speed is tried with several random seeds, at nominal parts and at the corners of their tolerances.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.corners import Corner, list_worst_corners, make_nominal
from knobmenu.bench.figures import format_number
from knobmenu.bench.run import Count, count_run
from knobmenu.bench.statistics import Rated, compute_interval, is_tolerated

SPEEDS = (0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0)
"""Speeds that a verdict tries, and the target. Data sheets commonly end at 1 turn/s; a hand can be faster. [turns/s]"""

_BISECTIONS = 4
"""How often the way between the last good speed and the first bad one is halved."""

Progress = Callable[[str], None]
"""Called before each run with what is being tried, so that it can end the trying by raising."""


def ignore(words: str) -> None:
    """Report nothing."""


@attrs.frozen(kw_only=True)
class Row(Rated):
    """The result of a chain at one speed, over all seeds."""

    turns_per_s: float
    """The speed. [turns/s]"""
    counts: tuple[Count, ...]
    """One for each seed."""

    @property
    def true(self) -> int:
        """Detents turned in total. [detents]"""
        return sum(one.true for one in self.counts)

    @property
    def errors(self) -> int:
        """Errors in total. [detents]"""
        return sum(one.errors for one in self.counts)


@attrs.frozen(kw_only=True)
class Reached:
    """The speed up to which a chain counts right."""

    turns_per_s: float
    """The fastest speed below which every tried one errs no more than is tolerated; 0: none. [turns/s]"""
    low: float
    """The fastest below which that is certain of every tried one, with 95 % confidence; 0: none. [turns/s]"""
    high: float
    """The slowest that certainly errs more than is tolerated; infinity: none that was tried. [turns/s]"""
    corner: str
    """Which parts err first above it; empty where none did."""


@attrs.frozen(kw_only=True)
class Verdict:
    """Up to which speed a chain counts right."""

    chain: Chain
    """The chain."""
    rows: tuple[Row, ...]
    """Every speed at nominal parts, from slow to fast."""
    nominal: Reached
    """At nominal parts."""
    worst: Reached
    """At the worst corner of the parts' tolerances."""

    @property
    def target_turns_per_s(self) -> float:
        """How fast it must count right; a recorded motion has its own speed. [turns/s]"""
        return get_target(self.chain)

    @property
    def is_yes(self) -> bool:
        """Whether it counts right at the target speed and at every slower one, at the worst corner too."""
        return self.worst.turns_per_s >= self.target_turns_per_s

    @property
    def searched_to_turns_per_s(self) -> float:
        """The fastest speed that was tried. [turns/s]"""
        return self.rows[-1].turns_per_s


def get_target(chain: Chain) -> float:
    """Return how fast a chain must count right; a recorded motion has its own speed. [turns/s]"""
    return chain.turning.turns_per_s if chain.turning.kind == "recorded" else chain.judging.target_turns_per_s


def list_speeds(chain: Chain) -> tuple[float, ...]:
    """Return the speeds that a verdict tries, from slow to fast; a recorded motion has its own."""
    if chain.turning.kind == "recorded":
        return (chain.turning.turns_per_s,)
    return tuple(sorted({*SPEEDS, chain.judging.target_turns_per_s}))


def list_seeds(chain: Chain, parts: Iterable[Corner]) -> range:
    """Return the seeds of each of several corners: fewer than those of nominal parts, since the corners share them."""
    number = chain.judging.seeds if len(tuple(parts)) <= 1 else max(chain.judging.seeds // 3, 2)
    return range(chain.judging.first_seed, chain.judging.first_seed + number)


def count_true_detents(chain: Chain, one: Count) -> int:
    """Return the number that errors are related to: the detents turned, or, for a dither, the times it is rocked."""
    return one.true or abs(chain.turning.detents)


def measure_row(
    chain: Chain,
    turns_per_s: float,
    seeds: int | None = None,
    corner: Corner | None = None,
    progress: Progress = ignore,
) -> Row:
    """Try a chain at one speed.

    Args:
        chain: the chain.
        turns_per_s: the speed. [turns/s]
        seeds: how many, if not as many as the chain states; 2 at least.
        corner: the parts; nominal ones if not given.
        progress: called before each run; it may raise to end the trying.
    """
    first = chain.judging.first_seed
    words = f"trying {format_number(turns_per_s)} turns/s{f', {corner.name}' if corner else ''}"
    counts = []
    for seed in range(first, first + (seeds or chain.judging.seeds)):
        progress(words)
        counts.append(count_run(chain, seed, turns_per_s, corner or make_nominal(chain.filter)))
    return make_row(chain, turns_per_s, counts)


def make_row(chain: Chain, turns_per_s: float, counts: list[Count]) -> Row:
    """Make a row from the counts of several seeds."""
    true = [count_true_detents(chain, one) for one in counts]
    rates = [one.errors / detents for one, detents in zip(counts, true, strict=True)]
    low, high = compute_interval(rates, sum(true))
    return Row(
        turns_per_s=turns_per_s, counts=tuple(counts), error_rate=math.fsum(rates) / len(rates), low=low, high=high
    )


def is_good(chain: Chain, one: Row) -> bool:
    """Return whether a row is within the tolerated error rate."""
    true = sum(count_true_detents(chain, each) for each in one.counts)
    return is_tolerated(one.errors, true, chain.judging.tolerated_error_rate)


def reach_verdict(chain: Chain, progress: Progress = ignore) -> Verdict:
    """Judge a chain.

    Args:
        chain: the chain.
        progress: called before each run with what is being tried; it may raise to end the judging.
    """
    rows = [measure_row(chain, speed, progress=progress) for speed in list_speeds(chain)]
    at_nominal = find_reached(chain, (make_nominal(chain.filter),), {one.turns_per_s: one for one in rows}, progress)
    corners = list_worst_corners(chain.filter, chain.tolerance)
    at_worst = at_nominal
    if corners:
        found = find_reached(chain, corners, {}, progress)
        at_worst = min(found, at_nominal, key=lambda one: one.turns_per_s)
    return Verdict(chain=chain, rows=tuple(rows), nominal=at_nominal, worst=at_worst)


def find_reached(chain: Chain, corners: tuple[Corner, ...], known: dict[float, Row], progress: Progress) -> Reached:
    """Find the speed that corners reach together.

    Args:
        chain: the chain.
        corners: the parts.
        known: rows that are known already, where there is one corner.
        progress: see `reach_verdict`.
    """
    number = len(list_seeds(chain, corners))
    tolerated = chain.judging.tolerated_error_rate
    certain, slow, high, culprit = 0.0, 0.0, math.inf, ""
    all_certain, fast = True, math.inf

    def walk_rows(speed: float) -> Iterator[tuple[Corner, Row]]:
        for corner in corners:
            yield corner, known[speed] if speed in known else measure_row(chain, speed, number, corner, progress)

    for speed in list_speeds(chain):
        bad = ""
        for corner, one in walk_rows(speed):
            all_certain = all_certain and one.high <= tolerated
            if not is_good(chain, one):
                bad = bad or corner.name
            if one.low > tolerated:
                high = speed
                break
        if all_certain:
            certain = speed
        if bad and math.isinf(fast):
            fast, culprit = speed, bad
        if math.isinf(fast):
            slow = speed
        if not math.isinf(high):
            break
    if slow and not math.isinf(fast):
        for _ in range(_BISECTIONS if len(corners) == 1 else _BISECTIONS // 2):
            middle = math.sqrt(slow * fast)
            bad = next((corner.name for corner, one in walk_rows(middle) if not is_good(chain, one)), "")
            slow, fast = (slow, middle) if bad else (middle, fast)
            culprit = bad or culprit
    return Reached(turns_per_s=slow, low=certain, high=high, corner=culprit)
