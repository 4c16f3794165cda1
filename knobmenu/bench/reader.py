"""When the firmware looks at the two pins, and what it believes of them.

A polled loop and a timer look at moments of their own; an interrupt looks some time after an edge. Work that holds a
loop up makes that round longer by as much. A timer keeps its beat: a section in which interrupts are masked puts its
look off to the section's end. A masked interrupt is remembered once, as interrupt flags are: many edges in the dark are
one look.
"""

from __future__ import annotations

import math
from typing import Any, Literal

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.signal import Bytes, Floats, Signal, codes, moments

ReaderKind = Literal["polled", "timer", "interrupt"]
DebounceKind = Literal["none", "lockout", "integrator", "equal"]


SLACK_S = 1e-9
"""What ends just as something else begins is over by then, whatever the last bit of a float says. [s]"""


@attrs.frozen(kw_only=True)
class Reader:
    """How the firmware reads the pins."""

    kind: ReaderKind = "polled"
    """``polled`` by the main loop, by a ``timer``, or in an ``interrupt``."""
    period_ms: float = 1.0
    """Time between looks, of a loop or a timer. [ms]"""
    jitter_ms: float = 0.0
    """Each look of a loop or a timer is late by up to this. [ms]"""
    phases: Literal["a", "both"] = "both"
    """Which pins interrupt."""
    latency_ms: float = 0.005
    """From an edge until an interrupt has read the pins. [ms]"""
    service_ms: float = 0.005
    """From there until the next interrupt can be taken. [ms]"""
    blocked_for_ms: float = 0.0
    """How long other work stops the loop, or masks timer and interrupts, at a stretch. [ms]"""
    blocked_every_ms: float = 0.0
    """From the beginning of one such stretch to the next; 0: there are none. A loop gets round once in between. [ms]"""
    debounce: DebounceKind = "none"
    """In software, each phase by itself: ``lockout`` after a change, ``integrator``, or so many ``equal`` looks."""
    lockout_ms: float = 5.0
    """How long a lock-out ignores a phase after it changed. [ms]"""
    looks: int = 4
    """Looks that an integrator counts up and down, or that must be equal. [looks]"""


def read(reader: Reader, a: Signal, b: Signal, end_s: float, generator: np.random.Generator) -> tuple[Floats, Bytes]:
    """Read two pins from power-on to the end.

    Args:
        reader: how.
        a: phase A as the pin sees it, 1 while closed.
        b: phase B.
        end_s: when to stop. [s]
        generator: draws where in its period the reader begins, and its jitter.

    Returns:
        The moments of the looks, and the code that is believed at each. Looks that find everything as it was, and
        settled, are left out: they change nothing, and a fast loop makes millions of them.
    """
    if reader.kind == "interrupt":
        at_s = _interrupts(reader, a, b, end_s, generator)
        # An interrupt comes at edges only: the end of a lock-out brings no look of its own.
        looks = _Looks(at_s, 0.0, 0.0, 0)
    else:
        looks = _looks(reader, end_s, generator)
        at_s = looks.after(moments(a, b), reader.looks + 1 if reader.debounce in ("integrator", "equal") else 1)
    seen = codes(a, b, at_s)
    first = a.first << 1 | b.first
    if reader.debounce == "lockout":
        phase_a = _lock_out(reader, looks, at_s, (seen >> 1).astype(np.uint8), first >> 1)
        phase_b = _lock_out(reader, looks, at_s, (seen & 1).astype(np.uint8), first & 1)
        at_s = moments(phase_a, phase_b)
        seen = codes(phase_a, phase_b, at_s)
    elif reader.debounce != "none":
        believe = _integrate if reader.debounce == "integrator" else _equal
        believed_a, believed_b = (
            _believed(believe(reader.looks, *_runs(levels), level), len(seen), level)
            for levels, level in ((seen >> 1, first >> 1), (seen & 1, first & 1))
        )
        seen = (believed_a << 1 | believed_b).astype(np.uint8)
    return at_s, seen


@attrs.frozen(eq=False)
class _Looks:
    """The looks of a loop or a timer: evenly spaced from a start, or listed where they are not even."""

    listed_s: Floats | None
    start_s: float
    period_s: float
    number: int

    def after(self, moments_s: Floats, window: int) -> Floats:
        """Give the first looks at or after each moment, so many of them; the moments are in order. [s]"""
        if self.listed_s is not None:
            nth, number = np.searchsorted(self.listed_s, moments_s), len(self.listed_s)
        else:
            nth = np.maximum(np.ceil((moments_s - self.start_s) / self.period_s), 0).astype(np.int64)
            number = self.number
        # Each look once: what a moment asks for ends where the next moment's looks begin.
        lengths = np.minimum(np.diff(nth, append=math.inf), window).astype(np.int64)
        into = np.arange(lengths.sum()) - np.repeat(np.cumsum(lengths) - lengths, lengths)
        nth = np.repeat(nth, lengths) + into
        nth = nth[nth < number]
        if self.listed_s is not None:
            return np.asarray(self.listed_s[nth], dtype=np.float64)
        return np.asarray(self.start_s + nth * self.period_s, dtype=np.float64)

    def next_s(self, moment_s: float) -> float:
        """Give the first look at or after a moment, or infinity where there is none. [s]"""
        if self.listed_s is not None:
            nth = int(np.searchsorted(self.listed_s, moment_s))
            return float(self.listed_s[nth]) if nth < len(self.listed_s) else math.inf
        nth = max(math.ceil((moment_s - self.start_s) / self.period_s), 0)
        return self.start_s + nth * self.period_s if nth < self.number else math.inf


@attrs.frozen
class LoopTime:
    """The time that a loop has for itself: it stands still while other work holds the loop up.

    Even where work is due again at once, the loop gets round between two stretches, since it calls that work itself.
    """

    _begin_s: float
    _free_s: float
    _length_s: float
    _late_s: float

    @classmethod
    def of(cls, reader: Reader, offset_s: float) -> LoopTime:
        """Make the time of a loop that is held up.

        Args:
            reader: a polled one; its blocked stretches have a length.
            offset_s: when the first stretch begins; the one before it may have begun before power-on. [s]
        """
        length_s = reader.blocked_for_ms / 1000
        free_s = max(reader.blocked_every_ms - reader.blocked_for_ms, reader.period_ms) / 1000
        return cls(min(offset_s, free_s), free_s, length_s, min(max(offset_s - free_s, 0.0), length_s))

    def moments_s(self, loop_s: Floats) -> Floats:
        """Give the moments at which the loop has run for so long; at a stretch's beginning, those at its end. [s]"""
        stretches = np.maximum(np.floor((loop_s - self._begin_s + SLACK_S) / self._free_s) + 1, 0)
        return np.asarray(self._late_s + loop_s + stretches * self._length_s, dtype=np.float64)

    def loop_s(self, moment_s: float) -> float:
        """Give how long the loop has run at a moment. [s]"""
        since_s = moment_s - self._late_s - self._begin_s
        if since_s < 0:
            return self._begin_s + since_s
        stretch, into_s = divmod(since_s, self._free_s + self._length_s)
        return self._begin_s + stretch * self._free_s + max(into_s - self._length_s, 0.0)


def _blocked_until(reader: Reader, at_s: Floats, offset_s: float) -> Floats:
    """Put moments that fall into a blocked stretch off to its end; `offset_s` is where the first stretch begins."""
    if not reader.blocked_every_ms or not reader.blocked_for_ms:
        return at_s
    every_s, length_s = reader.blocked_every_ms / 1000, reader.blocked_for_ms / 1000
    # By the number of the stretch, so that all moments in one are put off to the very same end.
    begin_s = offset_s + np.floor((at_s - offset_s) / every_s) * every_s
    return np.where(at_s - begin_s < length_s, begin_s + length_s, at_s)


def _looks(reader: Reader, end_s: float, generator: np.random.Generator) -> _Looks:
    period_s = reader.period_ms / 1000
    offset_s = float(generator.uniform(0, max(reader.blocked_every_ms, 1.0) / 1000))
    start_s = float(generator.uniform(0, period_s))
    number = max(math.ceil((end_s - start_s) / period_s), 0)
    if not reader.jitter_ms and not reader.blocked_every_ms:
        return _Looks(None, start_s, period_s, number)
    at_s = np.asarray(start_s + np.arange(number) * period_s, dtype=np.float64)
    if reader.jitter_ms:
        # A look cannot be overtaken by the next one. Few are out of order, which a stable sort is quick to mend.
        at_s = np.sort(at_s + generator.uniform(0, reader.jitter_ms / 1000, len(at_s)), kind="stable")
    if reader.kind == "polled" and reader.blocked_for_ms and reader.blocked_every_ms:
        at_s = LoopTime.of(reader, offset_s).moments_s(at_s)
        at_s = at_s[at_s < end_s]
    else:
        at_s = _blocked_until(reader, at_s, offset_s)
    return _Looks(at_s[np.diff(at_s, prepend=-np.inf) > 0], 0.0, 0.0, 0)


def _interrupts(reader: Reader, a: Signal, b: Signal, end_s: float, generator: np.random.Generator) -> Floats:
    offset_s = float(generator.uniform(0, max(reader.blocked_every_ms, 1.0) / 1000))
    pins = (a,) if reader.phases == "a" else (a, b)
    edges_s = moments(*pins)
    edges_s = edges_s[edges_s < end_s]
    latency_s, service_s = reader.latency_ms / 1000, reader.service_ms / 1000
    ready_s = _blocked_until(reader, edges_s, offset_s)
    served_s, free_s = [], -np.inf
    # Edges that come before the look that an earlier one asked for are seen by that very look. One that comes later,
    # while the handler is still at work, is remembered and asks for one more.
    look_s = -np.inf
    for edge, ready in zip(edges_s.tolist(), ready_s.tolist(), strict=True):
        if edge <= look_s:
            continue
        look_s = max(ready, free_s) + latency_s
        free_s = look_s + service_s
        served_s.append(look_s)
    return np.array(served_s)


def _lock_out(reader: Reader, looks: _Looks, at_s: Floats, levels: Bytes, first: int) -> Signal:
    """Believe a change at once and then nothing for a while; the first look after that believes what it finds."""
    lockout_s = reader.lockout_ms / 1000 - SLACK_S
    believed = level = first
    free_s, changes_s = -math.inf, []
    for now, found in [*zip(at_s.tolist(), levels.tolist(), strict=True), (math.inf, -1)]:
        while level != believed and (look_s := looks.next_s(free_s)) < now:
            believed, free_s = level, look_s + lockout_s
            changes_s.append(look_s)
        level = found
        if found >= 0 and level != believed and now >= free_s:
            believed, free_s = level, now + lockout_s
            changes_s.append(now)
    return Signal(first, np.array(changes_s))


def _runs(levels: NDArray[np.integer[Any]]) -> tuple[list[int], list[int], list[int]]:
    """Find the runs of looks that find the same level: where each begins, how long it is, and its level."""
    starts = np.flatnonzero(np.diff(levels, prepend=255))
    return starts.tolist(), np.diff(starts, append=len(levels)).tolist(), levels[starts].tolist()


def _integrate(looks: int, starts: list[int], lengths: list[int], levels: list[int], first: int) -> list[int]:
    """Count up while closed and down while open; give the looks at which either end is reached and the belief turns."""
    believed, counted, turns = first, first * looks, []
    for start, length, level in zip(starts, lengths, levels, strict=True):
        missing = looks - counted if level else counted
        if level != believed and length >= missing:
            turns.append(start + missing - 1)
            believed = level
        left = max(missing - length, 0)
        counted = looks - left if level else left
    return turns


def _equal(looks: int, starts: list[int], lengths: list[int], levels: list[int], first: int) -> list[int]:
    """Wait for so many equal looks; give the looks at which the belief turns."""
    believed, turns = first, []
    for start, length, level in zip(starts, lengths, levels, strict=True):
        if level != believed and length >= looks:
            turns.append(start + looks - 1)
            believed = level
    return turns


def _believed(turns: list[int], number: int, first: int) -> Bytes:
    """Give what is believed at each of a number of looks."""
    turned = np.zeros(number, dtype=np.uint8)
    turned[turns] = 1
    return ((np.cumsum(turned, dtype=np.uint8) + first) & 1).astype(np.uint8)
