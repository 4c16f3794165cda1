"""The bounce of contacts in a capture: the lengths of the bursts of real edges, in bounded memory."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.capture.bursts import Bursts, Flags
from knobmenu.bench.signal import Floats
from knobmenu.structure import GREATEST, Additive

BIN_LIMITS_S = np.concatenate(([0.0], np.logspace(-6, 0, 61)))
"""Limits of the bins in which bursts are counted by their length: 10 a decade from 1 us to 1 s, and one below. [s]"""


@attrs.frozen(eq=False, kw_only=True)
class Bounce(Additive):
    """How the contacts bounced at one kind of edge."""

    edges: int = 0
    """Real edges. [edges]"""
    bounced: int = 0
    """Real edges that were not clean. [edges]"""
    sum_s: float = 0.0
    """Lengths of all bursts together, from the first edge of each to its last. [s]"""
    longest_s: float = attrs.field(default=0.0, metadata=GREATEST)
    """The longest burst; 0 if there was none. [s]"""
    bounces: int = 0
    """How often the contact parted and met again, in all bursts together. [unitless]"""
    lengths: NDArray[np.int64] = attrs.field(factory=lambda: np.zeros(len(BIN_LIMITS_S) - 1, dtype=np.int64))
    """Bursts that were not clean, in bins of length, limits `BIN_LIMITS_S`; longer ones are in the last. [bursts]"""

    @property
    def mean_s(self) -> float:
        """Mean length of the bursts that were not clean; 0 if there was none. [s]"""
        return self.sum_s / self.bounced if self.bounced else 0.0

    def find_quantile_s(self, fraction: float) -> float:
        """Return the length that this fraction of the bursts with bounce does not exceed, to a bin's limit. [s]"""
        if not self.bounced:
            return 0.0
        reached = int(np.searchsorted(np.cumsum(self.lengths), fraction * self.bounced))
        return min(float(BIN_LIMITS_S[min(reached + 1, len(self.lengths))]), self.longest_s)


def summarize(lengths_s: Floats, bounces: NDArray[np.int64]) -> Bounce:
    """Summarize the bursts of real edges.

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


class BounceMeter:
    """Measures the bursts that are clear of their neighbours, and counts the others."""

    def __init__(self, code: int) -> None:
        """Start at a code of the pins, ``A << 1 | B``."""
        self._levels = [code >> 1, code & 1]
        self.rising, self.falling = Bounce(), Bounce()
        self.glitches = 0
        """Clear bursts that ended where they began. [bursts]"""
        self.longest_glitch_s = 0.0
        """The longest of them. [s]"""
        self.longest_at_s: float | None = None
        """When the longest clear burst of a real edge begins; None where none was long. [s]"""
        self.merged = 0
        """Bursts too close to their neighbours to be measured. [bursts]"""

    def feed(self, bursts: Bursts, clear: Flags) -> None:
        """Add the next bursts, and which of them are clear."""
        rising = np.zeros(len(bursts), dtype=np.bool_)
        for pin in (0, 1):
            own = np.flatnonzero(bursts.pins == pin)
            edges = bursts.edges[own]
            after = np.cumsum(edges) + self._levels[pin]
            rising[own] = (after - edges) % 2 == 0
            if len(own):
                self._levels[pin] = int(after[-1]) & 1
        real = bursts.are_real
        measured = bursts[clear & real]
        longest_s = float(measured.lengths_s.max(initial=0.0))
        if longest_s > max(self.rising.longest_s, self.falling.longest_s):
            self.longest_at_s = float(measured.begins_s[int(measured.lengths_s.argmax())])
        self.rising += self._summarize(bursts[clear & real & rising])
        self.falling += self._summarize(bursts[clear & real & ~rising])
        glitches = bursts[clear & ~real]
        self.glitches += len(glitches)
        self.longest_glitch_s = max(self.longest_glitch_s, float(glitches.lengths_s.max(initial=0.0)))
        self.merged += int((~clear).sum())

    @staticmethod
    def _summarize(bursts: Bursts) -> Bounce:
        return summarize(bursts.lengths_s, bursts.edges // 2)
