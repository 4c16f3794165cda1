"""The edges of two phases, grouped into bursts, in bounded memory.

A burst is a run of edges of one phase while the other phase keeps its level, without a gap longer than the quiet time.
In a quadrature signal that is all that bounce can be: the contact that chatters leaves the other one alone, so the code
goes to and fro between the same two states, while motion goes on to the next of the four. A burst with an odd number of
edges is a real edge with its bounce; one with an even number ends where it began.
"""

from __future__ import annotations

import math

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.signal import Bytes, Floats, Signal

Counts = NDArray[np.int64]
Flags = NDArray[np.bool_]

POSITIONS = np.array((0, 3, 1, 2), dtype=np.int64)
"""Quarter of the period for each code, ``A << 1 | B``: 00, 10, 11, 01 in the order in which A leads."""


@attrs.frozen(eq=False)
class Bursts:
    """Bursts in the order in which they begin; one array per column."""

    begins_s: Floats
    """First edge of each. [s]"""
    ends_s: Floats
    """Last edge of each. [s]"""
    edges: Counts
    """Edges in each, 1 or more. [edges]"""
    pins: Bytes
    """0 where phase A changes, 1 where phase B does."""

    @property
    def lengths_s(self) -> Floats:
        """The time from the first edge of each burst to its last; 0 for a single edge. [s]"""
        return self.ends_s - self.begins_s

    @property
    def are_real(self) -> Flags:
        """Whether each ends at a different level than it began."""
        return np.asarray(self.edges % 2 == 1)

    def __len__(self) -> int:
        return len(self.edges)

    def __getitem__(self, part: slice | Flags) -> Bursts:
        return Bursts(self.begins_s[part], self.ends_s[part], self.edges[part], self.pins[part])

    def __add__(self, other: Bursts) -> Bursts:
        return Bursts(
            np.concatenate((self.begins_s, other.begins_s)),
            np.concatenate((self.ends_s, other.ends_s)),
            np.concatenate((self.edges, other.edges)),
            np.concatenate((self.pins, other.pins)),
        )


NO_BURSTS = Bursts(np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.uint8))


def merge_edges(a: Signal, b: Signal) -> tuple[Floats, Bytes]:
    """Merge the edges of two phases in order of time; where both change at one moment, A comes first.

    Returns:
        When each edge is, and whose it is: 0 for A, 1 for B.
    """
    at_s = np.concatenate((a.changes_s, b.changes_s))
    pins = np.repeat(np.array((0, 1), dtype=np.uint8), (len(a.changes_s), len(b.changes_s)))
    order = np.argsort(at_s, kind="stable")
    return at_s[order], pins[order]


class Grouping:
    """Groups edges into bursts as they arrive; only the burst in progress is kept."""

    def __init__(self, quiet_s: float) -> None:
        """Start with no burst.

        Args:
            quiet_s: a longer gap ends a burst. [s]
        """
        self._quiet_s = quiet_s
        self._begin_s = self._last_s = -math.inf
        self._edges = 0
        self._pin = 2  # no phase: the first edge starts a burst

    def feed(self, at_s: Floats, pins: Bytes) -> Bursts:
        """Add the next edges, and return the bursts that they complete."""
        if not len(at_s):
            return NO_BURSTS
        gaps_s = np.diff(at_s, prepend=self._last_s)
        others = np.diff(pins, prepend=np.uint8(self._pin)) != 0
        starts = np.flatnonzero((gaps_s > self._quiet_s) | others)
        # The burst in progress continues up to the first start; the last start begins the next burst in progress.
        bounds = np.concatenate(([0], starts, [len(at_s)]))
        ends_s = np.concatenate(([self._last_s], at_s))[bounds[1:]]
        begins_s = np.concatenate(([self._begin_s], at_s[starts]))
        owners = np.concatenate((np.array([self._pin], dtype=np.uint8), pins[starts]))
        edges = np.diff(bounds)
        edges[0] += self._edges
        every = Bursts(begins_s, ends_s, edges, owners)
        self._begin_s, self._last_s = float(begins_s[-1]), float(ends_s[-1])
        self._edges, self._pin = int(edges[-1]), int(owners[-1])
        done = every[:-1]
        return done if not len(done) or done.edges[0] else done[1:]

    def end(self) -> Bursts:
        """Complete the burst in progress, if there is one."""
        done = Bursts(
            np.array([self._begin_s]),
            np.array([self._last_s]),
            np.array([self._edges], dtype=np.int64),
            np.array([self._pin], dtype=np.uint8),
        )
        self._edges = 0
        return done if done.edges[0] else NO_BURSTS


class Stepping:
    """Turns real edges into codes and steps of a quarter period."""

    def __init__(self, code: int) -> None:
        """Start at a code of the pins, ``A << 1 | B``."""
        self.code = code

    def feed(self, real: Bursts) -> tuple[Bytes, Counts]:
        """Return the code after each real edge, and its step: 1 where A leads, -1 where B does.

        Args:
            real: bursts with an odd number of edges.
        """
        a = (np.cumsum(real.pins == 0) + (self.code >> 1)) & 1
        b = (np.cumsum(real.pins == 1) + (self.code & 1)) & 1
        after = (a << 1 | b).astype(np.uint8)
        before = np.concatenate((np.array([self.code], dtype=np.uint8), after[:-1]))
        if len(after):
            self.code = int(after[-1])
        quarters = (POSITIONS[after] - POSITIONS[before[: len(after)]]) % 4
        return after, np.where(quarters == 1, 1, -1)
