"""How the knob was turned: where it rested, how many detents a period has, how far and how fast."""

from __future__ import annotations

import itertools
import math

import attrs
import numpy as np

from knobmenu.bench.capture.bursts import POSITIONS, Bursts, Counts, Flags, Stepping
from knobmenu.bench.capture.gaps import REST_S
from knobmenu.bench.signal import Bytes, Floats
from knobmenu.design.hardware import Knob
from knobmenu.knob import quadrature

LEAST_RESTS = 12
"""Rests from which the detents per period are determined: the chance that strokes of random length end at half of the
detents by accident is then 1 in 2048. [rests]"""

REST_RATIO = 3.0
"""A rest is so many times as long as the longest pause within the stroke beside it. [unitless]"""

SURE_FRACTION, STRAY_FRACTION = 0.15, 0.05
"""At least so many rests are at each code that has a detent; at most so many where a hand just stopped."""


@attrs.frozen
class _Stroke:
    """Quarter periods between two rests."""

    steps: int = 0
    longest_pause_s: float = 0.0

    def proves(self, rest_s: float) -> bool:
        """Whether a rest beside this stroke is a rest, and not one of equal pauses while the knob was turned slowly."""
        return self.steps >= 2 and rest_s >= REST_RATIO * self.longest_pause_s


class TurnMeter:
    """Follows both phases from real edge to real edge."""

    def __init__(self, code: int) -> None:
        """Start at a code of the pins, ``A << 1 | B``."""
        self._stepping = Stepping(code)
        self._last_s = 0.0
        self._stroke = _Stroke()
        self._before: tuple[_Stroke, float, int] | None = None
        self._recent_s = np.zeros(0)
        self._recent_steps = np.zeros(0, dtype=np.int64)
        self._recent_clear = np.zeros(0, dtype=np.bool_)
        self._decoders = {
            (form, quarter): _Decoder(form, quarter, code) for form in quadrature.TABLES for quarter in range(4 // form)
        }
        self.rests: Counts = np.zeros(4, dtype=np.int64)
        """Rests that a stroke beside them proves, by the code of the pins. [rests]"""
        self._pauses: Counts = np.zeros(4, dtype=np.int64)
        self._first_code = code
        self.quarters = (0, 0)
        """Quarter periods turned with A leading, and with B leading. [quarters]"""
        self.fastest_periods_per_s = 0.0
        """The fastest whole period one way whose edges all stand clear; 0 where there is none. [periods/s]"""

    def feed(self, bursts: Bursts, clear: Flags) -> None:
        """Add the next judged bursts."""
        real = bursts.are_real
        bursts, clear = bursts[real], clear[real]
        if not len(bursts):
            return
        code = self._stepping.code
        codes, steps = self._stepping.feed(bursts)
        self.quarters = (self.quarters[0] + int((steps > 0).sum()), self.quarters[1] + int((steps < 0).sum()))
        for decoder in self._decoders.values():
            decoder.feed(codes)
        self._find_fastest(bursts.begins_s, steps, clear)
        self._find_rests(bursts, np.concatenate((np.array([code], dtype=np.uint8), codes[:-1])))

    def end(self, end_s: float) -> None:
        """Finish at the end of the capture. [s]"""
        rest_s = end_s - self._last_s
        if rest_s >= REST_S:
            self._come_to_rest(rest_s, self._stepping.code)
        self._prove(self._stroke)

    def find_detents_per_period(self) -> int:
        """Return 1, 2 or 4, or 0 if the rests do not show it."""
        total = int(self.rests.sum())
        sure = self.rests >= SURE_FRACTION * total
        # A slowly turned knob pauses everywhere; so pauses that no stroke proves count against a code, too.
        if total < LEAST_RESTS or self._pauses[~sure].sum() > STRAY_FRACTION * self._pauses.sum():
            return 0
        match np.flatnonzero(sure).tolist():
            case [_]:
                return 1
            case [one, other] if one ^ other == 3:
                return 2
            case [_, _, _, _]:
                return 4
            case _:
                return 0

    @property
    def rest_code(self) -> int:
        """The code of the pins at which there is a detent: where the knob rested most, or else where it began."""
        return int(self.rests.argmax()) if self.find_detents_per_period() else self._first_code

    def count_turned(self, detents_per_period: int, rest_code: int) -> tuple[int, int]:
        """Return the number of detents turned with A leading and with B leading.

        Args:
            detents_per_period: 1, 2 or 4.
            rest_code: a code of the pins at which there is a detent.
        """
        decoder = self._decoders[detents_per_period, int(POSITIONS[rest_code]) % (4 // detents_per_period)]
        return decoder.up, decoder.down

    def _find_fastest(self, begins_s: Floats, steps: Counts, clear: Flags) -> None:
        """Find the fastest period: five real edges in one direction, the first and the last of the same kind."""
        begins_s = np.concatenate((self._recent_s, begins_s))
        steps = np.concatenate((self._recent_steps, steps))
        clear = np.concatenate((self._recent_clear, clear))
        if len(steps) >= 5:
            windows = np.lib.stride_tricks.sliding_window_view(np.where(clear, steps, 0), 5)
            lengths_s = (begins_s[4:] - begins_s[:-4])[abs(windows.sum(axis=1)) == 5]
            shortest_s = float(lengths_s[lengths_s > 0].min(initial=math.inf))
            self.fastest_periods_per_s = max(self.fastest_periods_per_s, 1 / shortest_s)
        self._recent_s, self._recent_steps, self._recent_clear = begins_s[-4:], steps[-4:], clear[-4:]

    def _find_rests(self, bursts: Bursts, codes: Bytes) -> None:
        """Find the rests before real edges, and the strokes between them."""
        pauses_s = bursts.begins_s - np.concatenate(([self._last_s], bursts.ends_s[:-1]))
        self._last_s = float(bursts.ends_s[-1])
        rested = np.flatnonzero(pauses_s >= REST_S).tolist()
        for begin, end in itertools.pairwise([-1, *rested, len(pauses_s)]):
            if begin >= 0:
                self._come_to_rest(float(pauses_s[begin]), int(codes[begin]))
            inner_s = pauses_s[begin + 1 : end]
            if begin < 0 and not self._stroke.steps:
                inner_s = inner_s[1:]  # what precedes the first step of all is not within a stroke
            self._stroke = _Stroke(
                self._stroke.steps + end - max(begin, 0),
                max(self._stroke.longest_pause_s, float(inner_s.max(initial=0.0))),
            )

    def _come_to_rest(self, rest_s: float, code: int) -> None:
        """End the stroke; the rest before it can be judged now."""
        self._prove(self._stroke)
        self._pauses[code] += 1
        self._before = self._stroke, rest_s, code
        self._stroke = _Stroke()

    def _prove(self, after: _Stroke) -> None:
        """Count the last rest if the stroke before it or the one after it proves it."""
        if self._before is None:
            return
        before, rest_s, code = self._before
        if before.proves(rest_s) or after.proves(rest_s):
            self.rests[code] += 1


class _Decoder:
    """One form of the transition table with its rest in one quarter, and what it counted from settled codes."""

    def __init__(self, detents_per_period: int, quarter: int, code: int) -> None:
        self._knob = Knob(pulses_per_turn=1, detents_per_period=detents_per_period, detents_per_turn=detents_per_period)
        # Rotated by so many quarters, the rest is at code 00, as the table expects.
        codes = np.argsort(POSITIONS)
        self._rotated = codes[(POSITIONS - quarter) % 4].astype(np.uint8)
        start = int(self._rotated[code])
        self._state = quadrature.start(self._knob, start >> 1, start & 1)
        self.up = self.down = 0

    def feed(self, codes: Bytes) -> None:
        """Add the next settled codes of the pins."""
        self._state, counted = quadrature.decode(self._knob, self._state, self._rotated[codes].tobytes())
        detents = np.array(counted)
        self.up += int(detents[detents > 0].sum())
        self.down -= int(detents[detents < 0].sum())
