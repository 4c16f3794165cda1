"""The bursts of one pin, found as its edges go by, in bounded memory.

Edges of one pin that follow each other within the quiet time belong to one burst. A burst with an odd number of edges
is a real edge with its bounce; one with an even number is a glitch that ends where it began.
"""

from __future__ import annotations

import math

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.signal import Floats

BIN_LIMITS_S = np.concatenate(([0.0], np.logspace(-6, 0, 61)))
"""Limits of the bins in which bursts are counted by their length: 10 a decade from 1 us to 1 s, and one below. [s]"""


@attrs.frozen(eq=False, kw_only=True)
class Bounce:
    """How the contacts bounced at one kind of edge."""

    edges: int = 0
    """Real edges. [edges]"""
    bounced: int = 0
    """Real edges that were not clean. [edges]"""
    sum_s: float = 0.0
    """Lengths of all bursts together, from the first edge of each to its last. [s]"""
    longest_s: float = 0.0
    """The longest burst; 0 if there was none. [s]"""
    bounces: int = 0
    """How often the contact parted and met again, in all bursts together. [unitless]"""
    lengths: NDArray[np.int64] = attrs.field(factory=lambda: np.zeros(len(BIN_LIMITS_S) - 1, dtype=np.int64))
    """Bursts that were not clean, in bins of length, limits `BIN_LIMITS_S`; longer ones are in the last. [bursts]"""

    @property
    def mean_s(self) -> float:
        """Mean length of the bursts that were not clean; 0 if there was none. [s]"""
        return self.sum_s / self.bounced if self.bounced else 0.0

    def quantile_s(self, share: float) -> float:
        """Give a length that this share of the bursts that were not clean does not exceed, to a bin's limit. [s]"""
        if not self.bounced:
            return 0.0
        reached = int(np.searchsorted(np.cumsum(self.lengths), share * self.bounced))
        return min(float(BIN_LIMITS_S[min(reached + 1, len(self.lengths))]), self.longest_s)

    def __add__(self, other: Bounce) -> Bounce:
        return Bounce(
            edges=self.edges + other.edges,
            bounced=self.bounced + other.bounced,
            sum_s=self.sum_s + other.sum_s,
            longest_s=max(self.longest_s, other.longest_s),
            bounces=self.bounces + other.bounces,
            lengths=self.lengths + other.lengths,
        )


def bounce(lengths_s: Floats, bounces: NDArray[np.int64]) -> Bounce:
    """Sum up the bursts of real edges.

    Args:
        lengths_s: the length of each, 0 where it was clean. [s]
        bounces: how often the contact parted and met again in each.
    """
    bounced_s = lengths_s[lengths_s > 0]
    return Bounce(
        edges=len(lengths_s),
        bounced=len(bounced_s),
        sum_s=float(bounced_s.sum()),
        longest_s=float(bounced_s.max(initial=0.0)),
        bounces=int(bounces.sum()),
        lengths=np.histogram(np.minimum(bounced_s, BIN_LIMITS_S[-1]), BIN_LIMITS_S)[0].astype(np.int64),
    )


class Bursts:
    """The bursts of one pin, so far; what is kept of them does not grow."""

    def __init__(self, level: int, quiet_s: float) -> None:
        """Begin.

        Args:
            level: of the pin, 0 or 1.
            quiet_s: after so long without an edge a burst is over. [s]
        """
        self._quiet_s = quiet_s
        self._level = level
        self._begin_s = self._last_s = -math.inf
        self._count = 0
        self._clean_s = np.zeros(0)
        self.rising, self.falling = Bounce(), Bounce()
        self.glitches = 0
        """Bursts that ended where they began. [bursts]"""
        self.shortest_period_s = math.inf
        """The shortest time from one real edge to the next one of its kind. [s]"""

    def take(self, changes_s: Floats) -> None:
        """Go on by the edges that follow. [s]"""
        if not len(changes_s):
            return
        starts = np.flatnonzero(np.diff(changes_s, prepend=self._last_s) > self._quiet_s)
        # The burst under way goes on to the first start; the last start begins the one that is under way then.
        bounds = np.concatenate(([0], starts, [len(changes_s)]))
        lasts_s = np.concatenate(([self._last_s], changes_s))[bounds[1:]]
        begins_s = np.concatenate(([self._begin_s], changes_s[starts]))
        counts = np.diff(bounds)
        counts[0] += self._count
        self._finish(begins_s[:-1], lasts_s[:-1], counts[:-1])
        self._begin_s, self._last_s, self._count = float(begins_s[-1]), float(lasts_s[-1]), int(counts[-1])

    def end(self) -> None:
        """Take the last burst for finished."""
        self._finish(np.array([self._begin_s]), np.array([self._last_s]), np.array([self._count]))
        self._count = 0

    def _finish(self, begins_s: Floats, lasts_s: Floats, counts: NDArray[np.int64]) -> None:
        real = counts % 2 == 1
        self.glitches += int(((counts > 0) & ~real).sum())
        begins_s, lengths_s, bounces = begins_s[real], lasts_s[real] - begins_s[real], counts[real] // 2
        rising = (np.arange(len(begins_s)) + self._level) % 2 == 0
        self.rising += bounce(lengths_s[rising], bounces[rising])
        self.falling += bounce(lengths_s[~rising], bounces[~rising])
        self._level = (self._level + len(begins_s)) % 2
        clean_s = np.concatenate((self._clean_s, begins_s))
        self.shortest_period_s = min(self.shortest_period_s, float((clean_s[2:] - clean_s[:-2]).min(initial=math.inf)))
        self._clean_s = clean_s[-2:]
