"""Whether the edges lie on a grid: the sampling interval of the capture, below which nothing is resolved."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.signal import Floats

MOST_INTERVALS = 50
"""Longer gaps are not compared: rounding of their times would decide. [intervals]"""

LEAST_GAPS = 20
"""Gaps on the grid from which it is one. [gaps]"""

LEAST_MULTIPLES = 4
"""Different gaps on the grid from which it is one: a knob that is turned evenly has equal gaps, too. [unitless]"""


class Grid:
    """Compares the gaps between edges with the shortest one."""

    def __init__(self, shortest_s: float) -> None:
        """Start with the shortest gap of the whole capture. [s]"""
        self._interval_s = shortest_s
        self._last_s = -math.inf
        self._on: NDArray[np.int64] = np.zeros(MOST_INTERVALS + 1, dtype=np.int64)
        self._off = 0

    def feed(self, at_s: Floats) -> None:
        """Add the next merged edges. [s]"""
        if not len(at_s) or not math.isfinite(self._interval_s):
            return
        intervals = np.diff(at_s, prepend=self._last_s) / self._interval_s
        self._last_s = float(at_s[-1])
        near = intervals[(intervals > 0) & (intervals < MOST_INTERVALS)]
        multiples = np.rint(near).astype(np.int64)
        on = abs(near - multiples) < 0.02
        self._on += np.bincount(multiples[on], minlength=MOST_INTERVALS + 1)
        self._off += int((~on).sum())

    @property
    def interval_s(self) -> float:
        """The sampling interval; 0 if the edges do not lie on a grid. [s]"""
        on = int(self._on.sum())
        is_grid = on >= LEAST_GAPS and self._off <= on // 100 and np.count_nonzero(self._on) >= LEAST_MULTIPLES
        return self._interval_s if is_grid else 0.0
