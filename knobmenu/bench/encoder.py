"""The angle of the knob becomes two contacts that close and open: the ideal edges, without bounce.

Angles in a period, in electrical degrees, 0 at the middle of code 00 where a full-period encoder rests: A closes at
45 and opens at 225, B closes at 135 and opens at 315, so that A leads clockwise. A half-period encoder also rests at
180, and a quarter-period one in the middle of every code.
"""

from __future__ import annotations

import attrs
import numpy as np

from knobmenu.bench.errors import BenchError
from knobmenu.bench.randomness import Source, make_stream
from knobmenu.bench.rules import Number
from knobmenu.bench.signal import NO_MOMENTS, Floats, Signal
from knobmenu.errors import Problem


@attrs.frozen(kw_only=True)
class Encoder:
    """A mechanical incremental encoder with detents."""

    pulses_per_turn: int = attrs.field(default=20, validator=Number(1, 250, whole=True))
    """Periods of either phase in one turn. [periods per revolution]"""
    detents_per_period: int = attrs.field(default=1, validator=Number(1, 4, whole=True))
    """Detents in one period, 1, 2 or 4. [detents per period]"""
    phase_error_deg: float = attrs.field(default=0.0, validator=Number(-80, 80, "degrees"))
    """How far B lags where it should be, in electrical degrees; 360 is one period. [deg]"""
    dwell_tolerance_deg: float = attrs.field(default=0.0, validator=Number(0, 40, "degrees"))
    """How far each edge of each contact may lie off its place, either way, in electrical degrees. [deg]"""

    def __attrs_post_init__(self) -> None:
        problems = []
        if self.detents_per_period == 3:
            problems.append(Problem("detents_per_period", "3", "1, 2 or 4"))
        if abs(self.phase_error_deg) + 2 * self.dwell_tolerance_deg >= 90:
            found = (
                f"{self.phase_error_deg:g} degrees of phase error and twice {self.dwell_tolerance_deg:g} of tolerance"
            )
            expected = "together less than 90 degrees, or the phases lose their order in the part itself"
            problems.append(Problem("dwell_tolerance_deg", found, expected))
        BenchError.raise_any(problems)

    @property
    def detents_per_turn(self) -> int:
        """Detents in one turn. [detents per revolution]"""
        return self.pulses_per_turn * self.detents_per_period


class Shaft:
    """The knob's shaft, which closes and opens two contacts as it turns; the contacts do not bounce yet."""

    def __init__(self, encoder: Encoder, seed: int, detents: float = 0.0) -> None:
        """Begin at rest.

        Args:
            encoder: the part; its edges keep their places.
            seed: settles where each edge of the part lies, within its dwell tolerance.
            detents: the angle at rest. [detents]
        """
        self._encoder = encoder
        off = make_stream(seed, Source.PART).uniform(-1, 1, (4, encoder.pulses_per_turn))
        self._off = encoder.dwell_tolerance_deg / 360 * off
        self._course = np.zeros(1), np.array([float(detents)])
        self._pending = [NO_MOMENTS, NO_MOMENTS]
        self._levels = [phase.first for phase in self._find_phases(*self._course)]

    @property
    def levels(self) -> tuple[int, int]:
        """The levels of phases A and B now, 1 while closed."""
        return self._levels[0], self._levels[1]

    @property
    def settled(self) -> bool:
        """Whether no edge will come any more on the course that was fed."""
        return not any(map(len, self._pending))

    def get_angle(self, at_s: float) -> float:
        """Return the angle at a moment of the course that was fed last; before it and after it, its ends. [detents]"""
        return float(np.interp(at_s, *self._course))

    def feed(self, at_s: Floats, detents: Floats, until_s: float) -> tuple[Floats, Floats]:
        """Turn along a course of straight lines, and let time pass.

        Args:
            at_s: moments of the course's knots, never going back. From the first one on, this course takes the place
                of the one before; no knots: the one before goes on. [s]
            detents: the angle at each. [detents]
            until_s: up to when, inclusive; not before the call before, nor after a later course's beginning. [s]

        Returns:
            The edges of phases A and B since the call before, in order. [s]
        """
        if len(at_s):
            self._course = at_s, detents
            for phase, signal in enumerate(self._find_phases(at_s, detents)):
                pending_s = self._pending[phase]
                before_s = pending_s[: np.searchsorted(pending_s, at_s[0], side="right")]
                # Where the angle lies on an edge but for rounding, that edge is passed at the first knot.
                differs = signal.first != self._levels[phase] ^ len(before_s) & 1
                first_s = at_s[:1] if differs else NO_MOMENTS
                self._pending[phase] = np.concatenate((before_s, first_s, signal.changes_s))
        passed = []
        for phase, pending_s in enumerate(self._pending):
            count = int(np.searchsorted(pending_s, until_s, side="right"))
            self._levels[phase] ^= count & 1
            self._pending[phase] = pending_s[count:]
            passed.append(pending_s[:count])
        return passed[0], passed[1]

    def _find_phases(self, at_s: Floats, detents: Floats) -> tuple[Signal, Signal]:
        """Return both phases along a course."""
        angle = detents / self._encoder.detents_per_period
        lowest, highest = int(np.floor(angle.min())) - 1, int(np.ceil(angle.max())) + 1
        periods = np.arange(lowest, highest + 1)
        pads = periods % self._encoder.pulses_per_turn
        lag, off = self._encoder.phase_error_deg / 360, self._off[:, pads]
        closing_a, opening_a = periods + 1 / 8 + off[0], periods + 5 / 8 + off[1]
        closing_b, opening_b = periods + 3 / 8 + lag + off[2], periods + 7 / 8 + lag + off[3]
        return _find_crossings(at_s, angle, closing_a, opening_a), _find_crossings(at_s, angle, closing_b, opening_b)


def _find_crossings(at_s: Floats, angle: Floats, closing: Floats, opening: Floats) -> Signal:
    """Find when the angle crosses edges that alternate between closing and opening."""
    edges = np.column_stack((closing, opening)).ravel()
    place = np.searchsorted(edges, angle, side="right")
    before, after = place[:-1], place[1:]
    count = np.abs(after - before)
    piece = np.repeat(np.arange(len(count)), count)
    nth = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
    rising = after[piece] > before[piece]
    crossed = edges[np.where(rising, before[piece] + nth, before[piece] - 1 - nth)]
    share = (crossed - angle[piece]) / (angle[piece + 1] - angle[piece])
    return Signal(int(place[0] & 1), at_s[piece] + share * (at_s[piece + 1] - at_s[piece]))
