"""The angle of the knob becomes two contacts that close and open: the ideal edges, without bounce.

Angles in a period, in electrical degrees, 0 at the middle of code 00 where a full-period encoder rests: A closes at
45 and opens at 225, B closes at 135 and opens at 315, so that A leads clockwise. A half-period encoder also rests at
180, and a quarter-period one in the middle of every code.
"""

from __future__ import annotations

import attrs
import numpy as np

from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import Floats, Signal


@attrs.frozen(kw_only=True)
class Encoder:
    """A mechanical incremental encoder with detents."""

    pulses_per_turn: int = 20
    """Periods of either phase in one turn. [periods per revolution]"""
    detents_per_period: int = 1
    """Detents in one period, 1, 2 or 4. [detents per period]"""
    phase_error_deg: float = 0.0
    """How far B lags where it should be, in electrical degrees; 360 is one period. [deg]"""
    dwell_tolerance_deg: float = 0.0
    """How far each edge of each contact may lie off its place, either way, in electrical degrees. [deg]"""

    @property
    def detents_per_turn(self) -> int:
        """Detents in one turn. [detents per revolution]"""
        return self.pulses_per_turn * self.detents_per_period


def contacts(encoder: Encoder, motion: Motion, generator: np.random.Generator) -> tuple[Signal, Signal]:
    """Close and open the contacts as the knob turns.

    Args:
        encoder: the part; its edges keep their places over all turns of one call.
        motion: how the knob is turned.
        generator: draws where each edge of the part lies, within its dwell tolerance.

    Returns:
        Phases A and B, without bounce; 1 while closed.
    """
    angle = motion.detents / encoder.detents_per_period
    lowest, highest = int(np.floor(angle.min())) - 1, int(np.ceil(angle.max())) + 1
    off = encoder.dwell_tolerance_deg / 360 * generator.uniform(-1, 1, (4, encoder.pulses_per_turn))
    periods = np.arange(lowest, highest + 1)
    pads = periods % encoder.pulses_per_turn
    lag = encoder.phase_error_deg / 360
    closing_a, opening_a = periods + 1 / 8 + off[0, pads], periods + 5 / 8 + off[1, pads]
    closing_b, opening_b = periods + 3 / 8 + lag + off[2, pads], periods + 7 / 8 + lag + off[3, pads]
    return _crossings(motion.at_s, angle, closing_a, opening_a), _crossings(motion.at_s, angle, closing_b, opening_b)


def _crossings(at_s: Floats, angle: Floats, closing: Floats, opening: Floats) -> Signal:
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
