"""A poor knob: wanted detents go in as the designer turns, and out come those that the firmware would have counted.

Its push switch likewise: what goes in is pushed and let go, what comes out is what the firmware finds.
The terminal calls it. It knows nothing of screens and reads no clock: the caller says the time, in whole milliseconds.
"""

from __future__ import annotations

import math
from collections import deque

import attrs
import numpy as np

from knobmenu.bench import encoder
from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.firmware import Counter, Looks
from knobmenu.bench.motion import Motion
from knobmenu.bench.reader import Reader
from knobmenu.bench.stream import ContactStream, PinStream

POOR = Chain(
    contact=PRESETS["encoder-10ms"],
    reader=Reader(period_ms=1.0, blocked_for_ms=120.0, blocked_every_ms=600.0),
    decoder="one-edge",
)
"""What people commonly write first: no filter, a loop that other work stops now and then, and one edge counted."""

Counted = tuple[int, int]
"""A moment and signed detents, clockwise positive. [ms, detents]"""


@attrs.frozen(kw_only=True)
class Tally:
    """How what was counted compares with what was turned; what is still on its way is not lost yet."""

    turned: int = 0
    """Detents that the hand turned, whatever the direction. [detents]"""
    counted: int = 0
    """Detents that were counted, whatever the direction. [detents]"""
    lost: int = 0
    """Detents turned and never counted. [detents]"""
    extra: int = 0
    """Counted in the right direction, but too many. [detents]"""
    reversed: int = 0
    """Counted against the hand's direction. [detents]"""
    late_ms: int = 0
    """How long after the hand had come to rest the last detent was counted, in the worst of the strokes. [ms]"""
    strokes: int = 0
    """How many movements have settled, each from rest to rest."""

    @property
    def errors(self) -> int:
        """Everything that is wrong. [detents]"""
        return self.lost + self.extra + self.reversed

    def __add__(self, other: Tally) -> Tally:
        """Add what came after this."""
        return Tally(
            turned=self.turned + other.turned,
            counted=self.counted + other.counted,
            lost=self.lost + other.lost,
            extra=self.extra + other.extra,
            reversed=self.reversed + other.reversed,
            late_ms=max(self.late_ms, other.late_ms),
            strokes=self.strokes + other.strokes,
        )


class PoorKnob:
    """A knob turned by hand now, whose detents pass through a chain.

    A turn begins when it is told, and each of its detents takes as long as at the chain's speed; a turn that is told
    while the one before is under way takes what is left of that along, so that a quick hand turns quickly. What is
    counted late (a filter, a busy loop) is told by a later `wait`. The same turns at the same moments with the same
    seed are counted the same, and nothing that was told changes by what comes later.

    Example::

        knob = PoorKnob(chain, seed=1)
        counted = knob.turn(1, at_ms=1000)  # what was counted up to 1000 ms: nothing yet
        counted = knob.wait(at_ms=1050)     # [(1020, 1)], say: one detent, counted at 1020 ms
    """

    def __init__(self, chain: Chain, seed: int = 1) -> None:
        """Lay a hand on a knob at rest.

        Args:
            chain: the chain; of its `turning` the speed alone is used, the caller turns.
            seed: settles all chance.
        """
        # Each source of chance has its own stream: what is drawn for the last edge does not move the first one.
        self._part_seed = [seed, 0]
        self._chain = chain
        self._contacts = tuple(
            ContactStream(chain.contact, 0, np.random.default_rng([seed, number])) for number in (1, 2)
        )
        self._pins = (PinStream(chain.filter, 0), PinStream(chain.filter, 0))
        self._looks = Looks(chain.reader, 0, seed, np.random.default_rng([seed, 3]))
        self._counter = Counter(chain, 0)
        self._ideal: tuple[deque[float], deque[float]] = (deque(), deque())
        self._levels = [0, 0]
        self._base_ms: int | None = None
        self._now_s = 0.0
        self._from = (0.0, 0.0)
        self._to = (0.0, 0.0)
        self._stroke = _Stroke()
        self._last = self._settled = Tally()

    def turn(self, detents: int, at_ms: int) -> list[Counted]:
        """Turn the knob from this moment on.

        Args:
            detents: wanted, signed; clockwise is positive. [detents]
            at_ms: when the movement begins; a moment before that of an earlier call counts as that one. [ms]

        Returns:
            What was counted up to this moment and has not been told yet, in order.
        """
        if self._base_ms is None:
            self._base_ms = at_ms
        counted = self.wait(at_ms)
        if not detents:
            return counted
        angle = self._angle()
        target = self._to[1] + detents
        speed = max(self._chain.turning.turns_per_s * self._chain.encoder.detents_per_turn, 1e-3)
        self._from, self._to = (self._now_s, angle), (self._now_s + abs(detents) / speed, target)
        self._plan()
        self._stroke.turn(detents)
        return counted

    def wait(self, at_ms: int) -> list[Counted]:
        """Let time pass up to a moment, inclusive; see `turn` for what it returns."""
        if self._base_ms is None:
            return []
        to_s = max((at_ms - self._base_ms) / 1000, self._now_s)
        self._now_s = to_s
        edges = []
        for phase, (ideal, contact, pin) in enumerate(zip(self._ideal, self._contacts, self._pins, strict=True)):
            passed = []
            while ideal and ideal[0] <= to_s:
                passed.append(ideal.popleft())
                self._levels[phase] = 1 - self._levels[phase]
            edges += [(edge_s, phase) for edge_s in pin.until(contact.until(passed, to_s), to_s)]
        edges.sort()
        told = []
        for look_s, code in self._looks.until(edges, to_s):
            if detents := self._counter.take(code):
                self._stroke.count(detents, look_s - self._to[0])
                told.append((self._base_ms + _whole_ms(look_s), detents))
        if self.settled and self._stroke.begun:
            self._last = self._stroke.settled()
            self._settled += self._last
            self._stroke = _Stroke()
        return told

    @property
    def settled(self) -> bool:
        """Whether nothing more will be counted until the knob is turned again."""
        return (
            self._now_s >= self._to[0]
            and not any(self._ideal)
            and all(contact.settled for contact in self._contacts)
            and all(pin.settled for pin in self._pins)
            and self._looks.settled
        )

    @property
    def tally(self) -> Tally:
        """What was turned and counted so far; what is wrong, of strokes that have settled."""
        return self._settled + self._stroke.under_way()

    @property
    def last(self) -> Tally:
        """The stroke that settled last, alone; an empty one before the first."""
        return self._last

    def _angle(self) -> float:
        (from_s, from_angle), (to_s, to_angle) = self._from, self._to
        if self._now_s >= to_s:
            return to_angle
        return from_angle + (to_angle - from_angle) * (self._now_s - from_s) / (to_s - from_s)

    def _plan(self) -> None:
        """Find the ideal edges of the movement that begins now; those of the one before it are given up."""
        moved = Motion(np.array([self._from[0], self._to[0]]), np.array([self._from[1], self._to[1]]), ())
        phases = encoder.contacts(self._chain.encoder, moved, np.random.default_rng(self._part_seed))
        for planned, level, signal in zip(self._ideal, self._levels, phases, strict=True):
            planned.clear()
            if signal.first != level:
                # The angle lies on an edge but for rounding: that edge is passed now.
                planned.append(self._now_s)
            planned.extend(signal.changes_s.tolist())


class PoorSwitch:
    """The push switch of the same knob: it bounces, and the same filter and reader lie behind it.

    What comes out are levels; the timing of presses, with its debouncing, is left to the device.
    """

    def __init__(self, chain: Chain, seed: int = 1) -> None:
        """Lay a finger on a switch at rest.

        Args:
            chain: the chain; of its `pressing` the switch alone is used, the caller presses.
            seed: settles all chance.
        """
        self._contact = ContactStream(PRESETS[chain.pressing.preset], 0, np.random.default_rng([seed, 4]))
        self._pin = PinStream(chain.filter, 0)
        self._looks = Looks(chain.reader, 0, seed, np.random.default_rng([seed, 3]))
        self._level = 0
        self._seen = 0
        self._base_ms: int | None = None
        self._now_s = 0.0

    def push(self, down: bool, at_ms: int) -> list[tuple[int, bool]]:
        """Push the switch down, or let it go.

        Args:
            down: whether it is down from now on.
            at_ms: when; a moment before that of an earlier call counts as that one. [ms]

        Returns:
            The levels that the firmware found since the call before, with their moments, in order.
        """
        if self._base_ms is None:
            self._base_ms = at_ms
        told = self.wait(at_ms)
        if down != self._level:
            self._level = int(down)
            told += self._until([self._now_s], self._now_s)
        return told

    def wait(self, at_ms: int) -> list[tuple[int, bool]]:
        """Let time pass up to a moment, inclusive; see `push` for what it returns."""
        if self._base_ms is None:
            return []
        self._now_s = max((at_ms - self._base_ms) / 1000, self._now_s)
        return self._until([], self._now_s)

    def _until(self, ideal_s: list[float], to_s: float) -> list[tuple[int, bool]]:
        edges = [(edge_s, 0) for edge_s in self._pin.until(self._contact.until(ideal_s, to_s), to_s)]
        told = []
        for look_s, code in self._looks.until(edges, to_s):
            if code >> 1 != self._seen:
                self._seen = code >> 1
                told.append(((self._base_ms or 0) + _whole_ms(look_s), bool(self._seen)))
        return told

    @property
    def settled(self) -> bool:
        """Whether the firmware will find nothing more until the switch is pushed or let go."""
        return self._contact.settled and self._pin.settled and self._looks.settled


def _whole_ms(moment_s: float) -> int:
    """Give the first whole millisecond at or after a moment; one that is whole but for rounding is that one. [ms]"""
    return math.ceil(moment_s * 1000 - 1e-6)


@attrs.define
class _Stroke:
    """What was turned and counted since everything had settled."""

    up: int = 0
    down: int = 0
    counted_up: int = 0
    counted_down: int = 0
    late_s: float = 0.0

    @property
    def begun(self) -> bool:
        """Whether anything happened."""
        return bool(self.up or self.down or self.counted_up or self.counted_down)

    def turn(self, detents: int) -> None:
        """Add a turn."""
        self.up += max(detents, 0)
        self.down += max(-detents, 0)

    def count(self, detents: int, late_s: float) -> None:
        """Add what was counted, so long after the hand came to rest."""
        self.counted_up += max(detents, 0)
        self.counted_down += max(-detents, 0)
        self.late_s = max(late_s, 0.0)

    def under_way(self) -> Tally:
        """Say what was turned and counted; what is missing may still come."""
        return Tally(turned=self.up + self.down, counted=self.counted_up + self.counted_down)

    def settled(self) -> Tally:
        """Say what was lost and what was too much, now that nothing more will come."""
        lost = extra = against = 0
        for true, counted in ((self.up, self.counted_up), (self.down, self.counted_down)):
            lost += max(true - counted, 0)
            if true:
                extra += max(counted - true, 0)
            else:
                against += counted
        return attrs.evolve(
            self.under_way(),
            lost=lost,
            extra=extra,
            reversed=against,
            late_ms=math.ceil(self.late_s * 1000),
            strokes=1,
        )
