"""Which bursts are clear of their neighbours, so that each is certain to be one real edge with all of its bounce.

Where a quarter period is shorter than the bounce, a contact still bounces while the other one changes: the burst is cut
in two, and its rest joins the next one. Such a burst lies close to a neighbour, compared with its own length or with
the gaps that occur within bursts. The comparison has no unit of its own: it holds for any knob and any speed.
"""

from __future__ import annotations

import numpy as np

from knobmenu.bench.capture.bursts import NO_BURSTS, Bursts, Flags
from knobmenu.bench.capture.gaps import LIMITS_S

CLEAR_RATIO = 0.5
"""The gap between bursts of different phases that is clear, in lengths of the longer one. [unitless]"""

TOGETHER_S = 1e-6
"""Edges of both phases closer than this are a double change: their order says nothing. [s]"""


class Clearance:
    """Judges bursts as they arrive; the last one waits for its neighbour."""

    def __init__(self, longest_gap_s: float) -> None:
        """Start with no burst.

        Args:
            longest_gap_s: the longest gap within a burst. [s]
        """
        self._least_s = longest_gap_s
        self._waiting = NO_BURSTS
        self._waiting_is_clear = True
        self._clear_gaps = np.zeros(len(LIMITS_S) - 1, dtype=np.int64)
        self.tight = 0
        """Neighbours of different phases that are too close. [gaps]"""
        self.double_changes = 0
        """Changes of both phases within `TOGETHER_S`. [changes]"""

    def feed(self, bursts: Bursts) -> tuple[Bursts, Flags]:
        """Add completed bursts, and return those that can be judged by now and which of them are clear."""
        if not len(bursts):
            return NO_BURSTS, np.zeros(0, dtype=np.bool_)
        if not len(self._waiting):
            # A capture that begins within a burst does not contain the start of that burst.
            first_s = float(bursts.begins_s[0])
            self._waiting_is_clear = first_s >= max(self._least_s, float(bursts.lengths_s[0]) * CLEAR_RATIO)
        every = self._waiting + bursts
        gaps_s = every.begins_s[1:] - every.ends_s[:-1]
        other = every.pins[1:] != every.pins[:-1]
        needed_s = np.maximum(self._least_s, CLEAR_RATIO * np.maximum(every.lengths_s[1:], every.lengths_s[:-1]))
        tight = other & (gaps_s < needed_s)
        self.tight += int(tight.sum())
        self.double_changes += int((other & (gaps_s <= TOGETHER_S)).sum())
        self._clear_gaps += np.histogram(gaps_s[other & ~tight], LIMITS_S)[0]
        clear = ~np.concatenate(([not self._waiting_is_clear], tight)) & ~np.concatenate((tight, [False]))
        self._waiting, self._waiting_is_clear = every[-1:], bool(clear[-1])
        return every[:-1], clear[:-1]

    def end(self, end_s: float) -> tuple[Bursts, Flags]:
        """Judge the last burst by the end of the capture. [s]"""
        last = self._waiting
        self._waiting = NO_BURSTS
        enough = end_s - last.ends_s >= np.maximum(self._least_s, CLEAR_RATIO * last.lengths_s)
        return last, enough & self._waiting_is_clear

    def count_closer_than(self, length_s: float) -> int:
        """Count neighbours of different phases that a burst of this length may have joined. [gaps]"""
        return self.tight + int(self._clear_gaps[LIMITS_S[:-1] < CLEAR_RATIO * length_s].sum())
