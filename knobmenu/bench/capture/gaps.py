"""How long a phase may be quiet within a burst, derived from the gaps between its edges.

Counted are gaps between two edges of one phase between which the other phase did not change. They are gaps within a
burst, up to the longest bounce, or pauses of a hand that turns back, which are much longer. The quiet time lies in the
empty range between the two kinds. Where pulses merge, the rest of a burst is followed by the next real edge of its
phase, but that gap is shorter than the burst itself: it never fills the empty range.
"""

from __future__ import annotations

import math

import numpy as np

from knobmenu.bench.capture.bursts import Counts
from knobmenu.bench.signal import Bytes, Floats

REST_S = 0.1
"""After so long without an edge the knob rests; no contact here bounces so long (longest published: 30 ms). [s]"""

BINS_PER_DECADE = 32
"""Bins of gaps; neighbours differ by 7.5 %."""

LIMITS_S = np.logspace(-6, -1, 5 * BINS_PER_DECADE + 1)
"""Limits of the bins of gaps, 1 us to `REST_S`; shorter gaps are in the first bin. [s]"""

EMPTY_RATIO = 3.0
"""How many times as long as the gaps below an empty range the gaps above it are, at least. [unitless]"""

MOST_TURNING_BACK = 0.05
"""Gaps above the quiet time and below a rest, per burst, at most; more of them are not a hand that turns back."""


class Gaps:
    """The gaps of two phases so far, in constant memory."""

    def __init__(self) -> None:
        self._counts: Counts = np.zeros(len(LIMITS_S) - 1, dtype=np.int64)
        self._last_s, self._pin = -math.inf, 2
        self._runs = 0
        self.shortest_s = math.inf
        """The shortest time between two edges, of any phase, that are not simultaneous. [s]"""

    def feed(self, at_s: Floats, pins: Bytes) -> None:
        """Add the next merged edges."""
        if not len(at_s):
            return
        gaps_s = np.diff(at_s, prepend=self._last_s)
        same = pins == np.concatenate((np.array([self._pin], dtype=np.uint8), pins[:-1]))
        self._runs += int((~same).sum())
        self._counts += np.histogram(np.maximum(gaps_s[same], LIMITS_S[0]), LIMITS_S)[0]
        self.shortest_s = min(self.shortest_s, float(gaps_s[gaps_s > 0].min(initial=math.inf)))
        self._last_s, self._pin = float(at_s[-1]), int(pins[-1])

    def choose_quiet_time(self) -> tuple[float, float] | None:
        """Return the longest gap within a burst and the quiet time; None if no empty range separates the two kinds.

        The longest gap is given to its bin's upper limit, 0 where no burst has a second edge. [s, s]
        """
        upper_s = REST_S
        turning_back = 0
        for index in np.flatnonzero(self._counts)[::-1].tolist():
            low_s, high_s = float(LIMITS_S[index]), float(LIMITS_S[index + 1])
            if upper_s >= EMPTY_RATIO * high_s:
                return (high_s, math.sqrt(high_s * upper_s)) if self._may_turn_back(turning_back) else None
            turning_back += int(self._counts[index])
            upper_s = low_s
        return (0.0, upper_s / 2) if self._may_turn_back(turning_back) else None

    def _may_turn_back(self, gaps: int) -> bool:
        return gaps <= MOST_TURNING_BACK * self._runs
