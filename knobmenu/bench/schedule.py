"""When a loop or a timer samples: each sample has a number, and its moment is known without those before it.

A masked section delays every sample of a timer that is due in it to the section's end, where all of them are one. A
blocked main loop has a time of its own, which stands still while it is blocked.
"""

from __future__ import annotations

import math
from typing import Protocol

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.randomness import Source, draw_fractions, make_key, make_stream
from knobmenu.bench.reader import Reader
from knobmenu.bench.signal import Floats

SLACK_S = 1e-9
"""What ends just as something else begins is over by then, whatever the last bit of a float says. [s]"""

Numbers = NDArray[np.int64]


@attrs.frozen
class Beginning:
    """Where a reader begins."""

    sample_s: float
    """When a loop or a timer samples first. [s]"""
    held_up_s: float
    """When other work first holds up the loop, or code first masks interrupts; the time before may be within it. [s]"""

    @classmethod
    def draw(cls, reader: Reader, seed: int) -> Beginning:
        """Draw a beginning anywhere within the first period."""
        generator = make_stream(seed, Source.READER)
        held_up_s = float(generator.uniform(0, max(reader.held_up[1], 1.0) / 1000))
        return cls(float(generator.uniform(0, reader.period_ms / 1000)), held_up_s)


class OwnTime(Protocol):
    """How the time of what samples goes by, beside the real one."""

    def to_real_s(self, own_s: Floats) -> Floats:
        """Return the real moments of some of its own. [s]"""
        ...

    def to_own_s(self, real_s: Floats) -> Floats:
        """Return the earliest of its own moments that comes at a real one or later, for each of some. [s]"""
        ...


class RealTime:
    """Nothing disturbs it."""

    def to_real_s(self, own_s: Floats) -> Floats:
        """Return the moments themselves."""
        return own_s

    def to_own_s(self, real_s: Floats) -> Floats:
        """Return the moments themselves."""
        return real_s

    def find_stretches_s(self, begin_s: float, end_s: float) -> Floats:
        """Return no stretch."""
        return np.zeros((0, 2))


@attrs.frozen
class MaskedTime:
    """Time in which sections are masked: what is due in one comes at its end."""

    begin_s: float
    """When the first section begins; one of them may begin before power-on. [s]"""
    every_s: float
    """From the beginning of one to the next. [s]"""
    length_s: float
    """How long each is. [s]"""

    def to_real_s(self, own_s: Floats) -> Floats:
        """Return the moments, those within a section postponed to its end; all within one are identical. [s]"""
        # Computed from the number of the section, so that rounding is the same within a section.
        section_s = self._find_section_s(own_s)
        return np.where(own_s - section_s < self.length_s, section_s + self.length_s, own_s)

    def to_own_s(self, real_s: Floats) -> Floats:
        """Return the moments, those within a section brought forward to its beginning. [s]"""
        section_s = self._find_section_s(real_s)
        return np.where(real_s <= section_s + self.length_s, section_s, real_s)

    def find_stretches_s(self, begin_s: float, end_s: float) -> Floats:
        """Return the sections that touch a part of real time, one row of start and end each. [s]"""
        first = max(math.floor((begin_s - self.begin_s) / self.every_s), -1)
        last = math.floor((end_s - self.begin_s) / self.every_s)
        begins_s: Floats = self.begin_s + np.arange(first, last + 1, dtype=np.float64) * self.every_s
        return _select_overlapping(begins_s, self.length_s, begin_s, end_s)

    def _find_section_s(self, at_s: Floats) -> Floats:
        return self.begin_s + np.floor((at_s - self.begin_s) / self.every_s) * self.every_s


@attrs.frozen
class LoopTime:
    """The time that a loop has for itself: it stands still while other work holds the loop up.

    Even where work is due again immediately, the loop gets round between two stretches, since it calls that work
    itself.
    """

    begin_s: float
    """When the first whole stretch begins, in the loop's own time. [s]"""
    free_s: float
    """From the end of one to the beginning of the next. [s]"""
    length_s: float
    """How long each is. [s]"""
    late_s: float
    """What is left at power-on of a stretch that began before. [s]"""

    @classmethod
    def of(cls, reader: Reader, offset_s: float) -> LoopTime:
        """Make the time scale of a loop that is blocked.

        Args:
            reader: a polled one; its blocked stretches have a length.
            offset_s: when the first stretch begins; the one before it may have begun before power-on. [s]
        """
        length_s = reader.blocked_for_ms / 1000
        free_s = max(reader.blocked_every_ms - reader.blocked_for_ms, reader.period_ms) / 1000
        return cls(min(offset_s, free_s), free_s, length_s, min(max(offset_s - free_s, 0.0), length_s))

    def to_real_s(self, own_s: Floats) -> Floats:
        """Return the moments at which the loop has run for these times; at a stretch's start, those at its end. [s]"""
        stretches = np.maximum(np.floor((own_s - self.begin_s + SLACK_S) / self.free_s) + 1, 0)
        return np.asarray(self.late_s + own_s + stretches * self.length_s, dtype=np.float64)

    def to_own_s(self, real_s: Floats) -> Floats:
        """Return how long the loop has run at these moments. [s]"""
        since_s = real_s - self.late_s - self.begin_s
        stretch, into_s = np.divmod(since_s, self.free_s + self.length_s)
        later_s = stretch * self.free_s + np.maximum(into_s - self.length_s, 0.0)
        return np.asarray(self.begin_s + np.where(since_s < 0, since_s, later_s), dtype=np.float64)

    def find_stretches_s(self, begin_s: float, end_s: float) -> Floats:
        """Return the stretches that touch a part of real time, one row of start and end each. [s]"""
        offset_s, every_s = self.late_s + self.begin_s, self.free_s + self.length_s
        first = max(math.floor((begin_s - offset_s) / every_s), 0)
        last = max(math.floor((end_s - offset_s) / every_s), -1)
        begins_s: Floats = offset_s + np.arange(first, last + 1, dtype=np.float64) * every_s
        if self.late_s:
            begins_s = np.concatenate(([self.late_s - self.length_s], begins_s))
        return _select_overlapping(begins_s, self.length_s, begin_s, end_s)


def _select_overlapping(begins_s: Floats, length_s: float, begin_s: float, end_s: float) -> Floats:
    kept = begins_s[(begins_s + length_s > begin_s) & (begins_s < end_s)]
    return np.column_stack((kept, kept + length_s))


def make_masked_time(reader: Reader, beginning: Beginning) -> RealTime | MaskedTime:
    """Return the time of a timer or of interrupts."""
    for_ms, every_ms = reader.held_up
    return MaskedTime(beginning.held_up_s, every_ms / 1000, for_ms / 1000) if for_ms else RealTime()


def make_own_time(reader: Reader, beginning: Beginning) -> RealTime | MaskedTime | LoopTime:
    """Return the time of what samples the pins: a loop that is blocked, a timer, or interrupts."""
    if reader.kind == "polled" and reader.blocked_for_ms:
        return LoopTime.of(reader, beginning.held_up_s)
    return make_masked_time(reader, beginning)


class Schedule:
    """The samples of a loop or a timer."""

    def __init__(self, reader: Reader, beginning: Beginning, seed: int) -> None:
        """Convert the moments.

        Args:
            reader: a loop or a timer.
            beginning: where it begins.
            seed: settles the jitter of each sample.
        """
        self._time: OwnTime = make_own_time(reader, beginning)
        self._merges = isinstance(self._time, MaskedTime)
        self._start_s = beginning.sample_s
        self._period_s, self._jitter_s = reader.period_ms / 1000, reader.jitter_ms / 1000
        self._key = make_key(seed, Source.JITTER)

    def find_moments_s(self, numbers: Numbers) -> Floats:
        """Return the moments of samples by their numbers, counted from 0. [s]"""
        own_s = self._start_s + numbers * self._period_s
        if self._jitter_s:
            own_s = own_s + self._jitter_s * draw_fractions(self._key, numbers)
        return self._time.to_real_s(np.asarray(own_s, dtype=np.float64))

    def find_first(self, moments_s: Floats) -> Numbers:
        """Return the number of the first sample at or after each of some moments."""
        own_s = self._time.to_own_s(moments_s)
        numbers = np.maximum(np.floor((own_s - self._start_s) / self._period_s), 0).astype(np.int64)
        # It is that sample or the next one; or the one after, where rounding has taken the floor one too low.
        numbers += self.find_moments_s(numbers) < moments_s
        numbers += self.find_moments_s(numbers) < moments_s
        return numbers

    def find_next(self, numbers: Numbers) -> Numbers:
        """Return the number of the next sample that comes later, for each of some samples."""
        return self.find_first(np.nextafter(self.find_moments_s(numbers), np.inf)) if self._merges else numbers + 1

    def find_next_s(self, moment_s: float) -> float:
        """Return the first sample at or after a moment. [s]"""
        return float(self.find_moments_s(self.find_first(np.array([moment_s])))[0])


def find_held_up_s(reader: Reader, seed: int, begin_s: float, end_s: float) -> list[tuple[float, float]]:
    """Return when the loop is blocked, or interrupts are masked, as far as that disturbs a reader.

    Args:
        reader: the reader.
        seed: the one that the reader runs with.
        begin_s: from here. [s]
        end_s: to here. [s]

    Returns:
        Beginning and end of each stretch that touches this time, in order. [s]
    """
    stretches_s = make_own_time(reader, Beginning.draw(reader, seed)).find_stretches_s(begin_s, end_s)
    return [(float(begin), float(end)) for begin, end in stretches_s]
