"""A chain turned live: requested detents go in, and the detents that the firmware would have counted come out.

Its push switch likewise: what goes in is pushed and released, what comes out is what the firmware finds. It reads no
clock: the caller states the time, in whole milliseconds.
"""

from __future__ import annotations

import math

import attrs
import numpy as np

from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.engine import Engine
from knobmenu.bench.reader import Reader
from knobmenu.bench.signal import NO_MOMENTS, Floats
from knobmenu.bench.switch import SwitchLine
from knobmenu.bench.tally import Directions, Tally, split_directions

FIRST_TRY = Chain(
    contact=PRESETS["encoder-10ms"],
    reader=Reader(period_ms=1.0, blocked_for_ms=120.0, blocked_every_ms=600.0),
    decoder="one-edge",
)
"""What people commonly write first: no filter, a loop that other work stops now and then, and one edge counted."""

Counted = tuple[int, int]
"""A moment and signed detents, clockwise positive. [ms, detents]"""


class SimulatedKnob:
    """A knob turned live by hand, whose detents pass through a chain.

    A turn begins when it is reported, and each of its detents takes as long as at the chain's speed; a turn that is
    reported while the one before is under way takes what is left of that along, so that a quick hand turns quickly.
    What is counted late (a filter, a busy loop) is returned by a later `wait`. The same turns at the same moments with
    the same seed are counted the same, and what was returned does not change by what comes later.

    Example::

        knob = SimulatedKnob(chain, seed=1)
        counted = knob.turn(1, at_ms=1000)  # what was counted up to 1000 ms: nothing yet
        counted = knob.wait(at_ms=1050)     # [(1020, 1)], say: one detent, counted at 1020 ms
    """

    def __init__(self, chain: Chain, seed: int = 1) -> None:
        """Begin at rest.

        Args:
            chain: the chain; of its `turning` the speed alone is used, the caller turns.
            seed: the random seed.
        """
        self._engine = Engine(chain, seed)
        self._detents_per_s = max(chain.turning.turns_per_s * chain.encoder.detents_per_turn, 1e-3)
        self._base_ms: int | None = None
        self._now_s = self._rest_s = 0.0
        self._target = 0
        self._stroke = _Stroke()
        self._last = self._settled = Tally()

    def turn(self, detents: int, at_ms: int) -> list[Counted]:
        """Turn the knob from this moment on.

        Args:
            detents: requested, signed; clockwise is positive. [detents]
            at_ms: when the movement begins; a moment before that of an earlier call counts as that one. [ms]

        Returns:
            What was counted up to this moment and was not returned yet, in order.
        """
        if self._base_ms is None:
            self._base_ms = at_ms
        counted = self.wait(at_ms)
        if not detents:
            return counted
        angle = self._engine.get_angle(self._now_s)
        self._target += detents
        self._rest_s = self._now_s + abs(detents) / self._detents_per_s
        self._stroke.turn(detents)
        course = np.array([self._now_s, self._rest_s]), np.array([angle, self._target])
        return counted + self._feed(self._now_s, *course)

    def wait(self, at_ms: int) -> list[Counted]:
        """Advance time to a moment, inclusive; see `turn` for what it returns."""
        if self._base_ms is None:
            return []
        self._now_s = max((at_ms - self._base_ms) / 1000, self._now_s)
        return self._feed(self._now_s)

    def _feed(self, until_s: float, at_s: Floats = NO_MOMENTS, detents: Floats = NO_MOMENTS) -> list[Counted]:
        counting = self._engine.feed(until_s, at_s, detents).counting
        counted = []
        for moment_s, number in zip(counting.counted_s.tolist(), counting.counted.tolist(), strict=True):
            self._stroke.count(number, moment_s - self._rest_s)
            counted.append(((self._base_ms or 0) + _round_up_ms(moment_s), number))
        if self.settled and self._stroke.begun:
            self._last = self._stroke.settle()
            self._settled += self._last
            self._stroke = _Stroke()
        return counted

    @property
    def settled(self) -> bool:
        """Whether nothing more will be counted until the knob is turned again."""
        return self._now_s >= self._rest_s and self._engine.settled

    @property
    def tally(self) -> Tally:
        """What was turned and counted so far; what is wrong, of strokes that have settled."""
        return self._settled + self._stroke.make_tally()

    @property
    def last(self) -> Tally:
        """The stroke that settled last, alone; an empty one before the first."""
        return self._last


class SimulatedSwitch:
    """The push switch of the same knob: it bounces, and has the same kind of filter and reader.

    What comes out are levels; the timing of presses, with its debouncing, is left to the device.
    """

    def __init__(self, chain: Chain, seed: int = 1) -> None:
        """Begin at rest.

        Args:
            chain: the chain; of its `pressing` the switch alone is used, the caller presses.
            seed: the random seed.
        """
        self._line = SwitchLine(chain, seed)
        self._level = 0
        self._found = False
        self._base_ms: int | None = None
        self._now_s = 0.0

    def push(self, down: bool, at_ms: int) -> list[tuple[int, bool]]:
        """Push the switch down, or release it.

        Args:
            down: whether it is down from now on.
            at_ms: when; a moment before that of an earlier call counts as that one. [ms]

        Returns:
            The levels that the firmware found since the call before, with their moments, in order.
        """
        if self._base_ms is None:
            self._base_ms = at_ms
        found = self.wait(at_ms)
        if down != self._level:
            self._level = int(down)
            found += self._feed(np.array([self._now_s]))
        return found

    def wait(self, at_ms: int) -> list[tuple[int, bool]]:
        """Advance time to a moment, inclusive; see `push` for what it returns."""
        if self._base_ms is None:
            return []
        self._now_s = max((at_ms - self._base_ms) / 1000, self._now_s)
        return self._feed(NO_MOMENTS)

    def _feed(self, ideal_s: Floats) -> list[tuple[int, bool]]:
        found = []
        for moment_s in self._line.feed(ideal_s, self._now_s).changes_s.tolist():
            self._found = not self._found
            found.append(((self._base_ms or 0) + _round_up_ms(moment_s), self._found))
        return found

    @property
    def settled(self) -> bool:
        """Whether the firmware will find nothing more until the switch is pushed or released."""
        return self._line.settled


def _round_up_ms(moment_s: float) -> int:
    """Return the first whole millisecond at or after a moment, up to rounding. [ms]"""
    return math.ceil(moment_s * 1000 - 1e-6)


@attrs.define
class _Stroke:
    """What was turned and counted since everything had settled."""

    turned: Directions = attrs.field(factory=Directions)
    counted: Directions = attrs.field(factory=Directions)
    late_s: float = 0.0

    @property
    def begun(self) -> bool:
        """Whether anything happened."""
        return bool(self.turned.total or self.counted.total)

    def turn(self, detents: int) -> None:
        """Add a turn."""
        self.turned += split_directions(detents)

    def count(self, detents: int, late_s: float) -> None:
        """Add a count that came this long after the hand stopped."""
        self.counted += split_directions(detents)
        self.late_s = max(late_s, 0.0)

    def make_tally(self) -> Tally:
        """State what was turned and counted; missing counts may still come."""
        return Tally(turned=self.turned.total, counted=self.counted.total)

    def settle(self) -> Tally:
        """State what was lost and what was counted in excess, now that nothing more will come."""
        lost = extra = against = 0
        for true, counted in zip(attrs.astuple(self.turned), attrs.astuple(self.counted), strict=True):
            lost += max(true - counted, 0)
            if true:
                extra += max(counted - true, 0)
            else:
                against += counted
        return attrs.evolve(
            self.make_tally(),
            lost=lost,
            extra=extra,
            reversed=against,
            late_ms=math.ceil(self.late_s * 1000),
            strokes=1,
        )
