"""A two-valued signal in continuous time, and the codes of two of them."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]

NO_MOMENTS: Floats = np.zeros(0)
"""Nothing happens."""


@attrs.frozen(eq=False)
class Signal:
    """A level that changes at moments, and keeps its value after the last one."""

    first: int
    """The level before the first change, 0 or 1."""
    changes_s: Floats
    """When it changes, never going back. [s]"""

    def get_levels(self, at_s: Floats) -> Bytes:
        """Return the level at moments; at a change, the level after it.

        Args:
            at_s: moments, in any order. [s]

        Returns:
            0 or 1 for each.
        """
        return ((np.searchsorted(self.changes_s, at_s, side="right") + self.first) & 1).astype(np.uint8)

    @property
    def last(self) -> int:
        """The level after the last change."""
        return (self.first + len(self.changes_s)) & 1


def get_codes(a: Signal, b: Signal, at_s: Floats) -> Bytes:
    """Return the codes, ``A << 1 | B``, at moments.

    Args:
        a: phase A.
        b: phase B.
        at_s: moments, in any order. [s]
    """
    return (a.get_levels(at_s) << 1 | b.get_levels(at_s)).astype(np.uint8)


def merge_moments(*signals: Signal) -> Floats:
    """Return every moment at which any of the signals changes, in order, each once. [s]"""
    return merge(*(signal.changes_s for signal in signals))


def merge(*moments_s: Floats) -> Floats:
    """Merge moments into one order, each once. [s]"""
    every_s = np.concatenate(moments_s)
    every_s.sort(kind="stable")  # it consists of sorted pieces, which a stable sort merges
    return every_s[np.diff(every_s, prepend=-np.inf) > 0]
