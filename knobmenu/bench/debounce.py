"""Debouncing in software: which changes of a phase the firmware accepts.

Each takes the samples of one phase as time goes on and returns the moments at which the accepted level changes.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable
from typing import Protocol

import numpy as np

from knobmenu.bench.reader import Reader
from knobmenu.bench.schedule import SLACK_S
from knobmenu.bench.signal import NO_MOMENTS, Bytes, Floats


class Debounce(Protocol):
    """The debouncing of one phase."""

    @property
    def settled(self) -> bool:
        """Whether nothing more is accepted while the pin stays as it is."""
        ...

    def feed(self, at_s: Floats, levels: Bytes, until_s: float) -> Floats:
        """Take samples.

        Args:
            at_s: moments of the samples since the call before, in order, none after `until_s`. [s]
            levels: what each found, 0 or 1.
            until_s: up to when time has passed, inclusive. [s]

        Returns:
            When the accepted level changed since then. [s]
        """
        ...


class PassThrough:
    """Accepts every sample."""

    settled = True

    def __init__(self, level: int) -> None:
        self._accepted = level

    def feed(self, at_s: Floats, levels: Bytes, until_s: float) -> Floats:
        """Take samples, see `Debounce.feed`."""
        if not len(levels):
            return NO_MOMENTS
        changes_s: Floats = at_s[levels != np.concatenate(([self._accepted], levels[:-1]))]
        self._accepted = int(levels[-1])
        return changes_s


class LockOut:
    """Accepts a change immediately and then nothing for a while; the first sample after that accepts its level.

    In an interrupt the end of the lock-out brings no sample, so that what it missed waits for the next edge.
    """

    def __init__(self, level: int, lockout_s: float, next_sample_s: Callable[[float], float] | None) -> None:
        """Begin at rest.

        Args:
            level: of the pin.
            lockout_s: how long it ignores the pin. [s]
            next_sample_s: the first sample of the loop or timer at or after a moment; None in an interrupt.
        """
        self._accepted = self._level = level
        self._lockout_s = lockout_s - SLACK_S
        self._next_sample_s = next_sample_s
        self._free_s = -math.inf

    @property
    def settled(self) -> bool:
        """Whether nothing more is accepted while the pin stays as it is."""
        return self._next_sample_s is None or self._level == self._accepted

    def feed(self, at_s: Floats, levels: Bytes, until_s: float) -> Floats:
        """Take samples, see `Debounce.feed`."""
        changes_s: list[float] = []
        times_s, found = at_s.tolist(), levels.tobytes()
        place, count = 0, len(times_s)
        while place < count:
            if times_s[place] < self._free_s:
                # Samples during the lock-out are ignored, except the last one.
                place = bisect_left(times_s, self._free_s, place + 1)
                self._level = found[place - 1]
                continue
            if self._level != self._accepted and self._free_s < times_s[place]:
                self._catch_up(math.nextafter(times_s[place], -math.inf), changes_s)
                if self._level == self._accepted:
                    continue
            self._level = found[place]
            if self._level != self._accepted:
                self._accept(times_s[place], changes_s)
                place += 1
            else:
                # Nothing happens until a sample has another level.
                place = found.find(1 - self._accepted, place + 1) % (count + 1)
        if self._level != self._accepted:
            self._catch_up(until_s, changes_s)
        return np.array(changes_s) if changes_s else NO_MOMENTS

    def _catch_up(self, until_s: float, changes_s: list[float]) -> None:
        """Accept what was ignored at the first sample after the lock-out, if that comes in time."""
        if self._next_sample_s is not None and self._free_s <= until_s:
            sample_s = self._next_sample_s(self._free_s)
            if sample_s <= until_s:
                self._accept(sample_s, changes_s)

    def _accept(self, at_s: float, changes_s: list[float]) -> None:
        self._accepted, self._free_s = self._level, at_s + self._lockout_s
        changes_s.append(at_s)


class Integrator:
    """Counts up while closed and down while open, and accepts a level at either end."""

    def __init__(self, level: int, samples: int) -> None:
        self._accepted, self._most, self._sum = level, samples, level * samples

    @property
    def settled(self) -> bool:
        """Whether the sum is at one of its ends."""
        return self._sum in (0, self._most)

    def feed(self, at_s: Floats, levels: Bytes, until_s: float) -> Floats:
        """Take samples, see `Debounce.feed`."""
        changes = []
        for start, length, level in _find_runs(levels):
            missing = self._most - self._sum if level else self._sum
            if level != self._accepted and length >= missing:
                changes.append(start + missing - 1)
                self._accepted = level
            left = max(missing - length, 0)
            self._sum = self._most - left if level else left
        return at_s[changes] if changes else NO_MOMENTS


class Agreement:
    """Accepts a level on which a number of consecutive samples agree."""

    def __init__(self, level: int, samples: int) -> None:
        self._accepted = self._before = level
        self._enough = self._run = samples

    @property
    def settled(self) -> bool:
        """Whether enough samples agree."""
        return self._run >= self._enough

    def feed(self, at_s: Floats, levels: Bytes, until_s: float) -> Floats:
        """Take samples, see `Debounce.feed`."""
        changes = []
        for start, length, level in _find_runs(levels):
            before = self._run if level == self._before else 0
            if level != self._accepted and before + length >= self._enough:
                changes.append(start + self._enough - before - 1)
                self._accepted = level
            self._before, self._run = level, before + length
        return at_s[changes] if changes else NO_MOMENTS


def make_debounce(reader: Reader, level: int, next_sample_s: Callable[[float], float] | None) -> Debounce:
    """Make the debouncing of one phase.

    Args:
        reader: says which.
        level: of the pin, 1 while closed.
        next_sample_s: the first sample of the loop or timer at or after a moment; None in an interrupt.
    """
    match reader.debounce:
        case "none":
            return PassThrough(level)
        case "lockout":
            return LockOut(level, reader.lockout_ms / 1000, next_sample_s)
        case "integrator":
            return Integrator(level, reader.samples)
        case "equal":
            return Agreement(level, reader.samples)


def _find_runs(levels: Bytes) -> list[tuple[int, int, int]]:
    """Find the runs of samples of equal level: where each begins, its length, and its level."""
    starts = np.flatnonzero(np.diff(levels, prepend=2))
    lengths = np.diff(starts, append=len(levels))
    return list(zip(starts.tolist(), lengths.tolist(), levels[starts].tolist(), strict=True))
