"""The firmware samples two pins: from their edges to the codes that it accepts, as time goes on.

Samples that find everything as it was, and settled, are left out: they change nothing, and a fast loop makes millions.
"""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np

from knobmenu.bench.debounce import make_debounce
from knobmenu.bench.reader import Reader
from knobmenu.bench.schedule import Beginning, Schedule, make_masked_time
from knobmenu.bench.signal import NO_MOMENTS, Bytes, Floats, merge

_NO_CODES: Bytes = np.zeros(0, dtype=np.uint8)


class Sampler:
    """A reader, running since power-on."""

    def __init__(self, reader: Reader, code: int, seed: int, beginning: Beginning | None = None) -> None:
        """Switch it on.

        Args:
            reader: how the firmware reads.
            code: of the pins, ``A << 1 | B``.
            seed: settles where in its period it begins, and the jitter of each sample.
            beginning: where it begins, where that is known.
        """
        beginning = beginning or Beginning.draw(reader, seed)
        self._moments: _Moments
        next_sample_s = None
        if reader.kind == "interrupt":
            self._moments = _Interrupts(reader, beginning)
        else:
            schedule = Schedule(reader, beginning, seed)
            # Until a debounce that counts samples has settled, that many samples after each edge matter.
            window = reader.samples + 1 if reader.debounce in ("integrator", "equal") else 1
            self._moments, next_sample_s = _Scheduled(schedule, window), schedule.find_next_s
        levels = [code >> 1, code & 1]
        self._locks_out = reader.debounce == "lockout"
        self._phases = [make_debounce(reader, level, next_sample_s) for level in levels]
        self._levels, self._accepted = levels, levels.copy()
        self._waiting = [NO_MOMENTS, NO_MOMENTS]

    @property
    def settled(self) -> bool:
        """Whether nothing more can be accepted while the pins stay as they are."""
        return self._moments.settled and all(phase.settled for phase in self._phases)

    def feed(self, a_s: Floats, b_s: Floats, until_s: float) -> tuple[Floats, Bytes]:
        """Let time pass.

        Args:
            a_s: the edges of pin A since the call before, in order, none after `until_s`. [s]
            b_s: those of pin B. [s]
            until_s: up to when, inclusive; not before the call before. [s]

        Returns:
            The moments of the samples since then that may have changed something, and the code that is accepted at
            each. [s, ``A << 1 | B``]
        """
        if not len(a_s) and not len(b_s) and self.settled:
            return NO_MOMENTS, _NO_CODES
        at_s = self._moments.feed(a_s, b_s, until_s)
        changes_s = []
        for phase, edges_s in enumerate((a_s, b_s)):
            waiting_s = np.concatenate((self._waiting[phase], edges_s))
            passed = np.searchsorted(waiting_s, at_s, side="right")
            levels = ((passed + self._levels[phase]) & 1).astype(np.uint8)
            if len(passed):
                self._levels[phase] ^= int(passed[-1]) & 1
                waiting_s = waiting_s[passed[-1] :]
            self._waiting[phase] = waiting_s
            changes_s.append(self._phases[phase].feed(at_s, levels, until_s))
        # A lock-out also samples when it ends, though no edge asks for that.
        moments_s = merge(at_s, *changes_s) if self._locks_out else at_s
        codes = np.zeros(len(moments_s), dtype=np.uint8)
        for phase, shift in ((0, 1), (1, 0)):
            changed = np.searchsorted(changes_s[phase], moments_s, side="right") + self._accepted[phase]
            codes |= ((changed & 1) << shift).astype(np.uint8)
            self._accepted[phase] ^= len(changes_s[phase]) & 1
        return moments_s, codes


class _Moments(Protocol):
    """When the pins are sampled."""

    @property
    def settled(self) -> bool:
        """Whether no sample matters any more while the pins stay as they are."""
        ...

    def feed(self, a_s: Floats, b_s: Floats, until_s: float) -> Floats:
        """Return the samples that matter since the call before. [s]"""
        ...


class _Scheduled:
    """The samples of a loop or a timer that follow an edge."""

    def __init__(self, schedule: Schedule, window: int) -> None:
        self._schedule, self._window = schedule, window
        self._asked = np.zeros(0, dtype=np.int64)

    @property
    def settled(self) -> bool:
        return not len(self._asked)

    def feed(self, a_s: Floats, b_s: Floats, until_s: float) -> Floats:
        numbers = self._schedule.find_first(merge(a_s, b_s))
        numbers = numbers[np.diff(numbers, prepend=-1) > 0]
        asked = [self._asked, numbers]
        for _ in range(self._window - 1):
            numbers = self._schedule.find_next(numbers)
            asked.append(numbers)
        every = np.concatenate(asked)
        every.sort(kind="stable")  # it consists of sorted pieces, which a stable sort merges
        self._asked = every[np.diff(every, prepend=-1) > 0]
        at_s = self._schedule.find_moments_s(self._asked)
        count = int(np.searchsorted(at_s, until_s, side="right"))
        self._asked = self._asked[count:]
        return at_s[:count]


class _Interrupts:
    """The samples that edges ask for.

    Edges that come before the sample that an earlier one asked for are seen by that very sample. One that comes later,
    while the handler is still at work, is remembered and asks for one more.
    """

    def __init__(self, reader: Reader, beginning: Beginning) -> None:
        self._only_a = reader.phases == "a"
        self._time = make_masked_time(reader, beginning)
        self._latency_s, self._service_s = reader.latency_ms / 1000, reader.service_ms / 1000
        self._sample_s = self._free_s = -math.inf
        self._pending_s = math.inf

    @property
    def settled(self) -> bool:
        return math.isinf(self._pending_s)

    def feed(self, a_s: Floats, b_s: Floats, until_s: float) -> Floats:
        edges_s = a_s if self._only_a else merge(a_s, b_s)
        samples_s = [] if self.settled else [self._pending_s]
        sample_s, free_s, latency_s, service_s = self._sample_s, self._free_s, self._latency_s, self._service_s
        for edge_s, ready_s in zip(edges_s.tolist(), self._time.to_real_s(edges_s).tolist(), strict=True):
            if edge_s > sample_s:
                sample_s = (ready_s if ready_s > free_s else free_s) + latency_s
                free_s = sample_s + service_s
                samples_s.append(sample_s)
        self._sample_s, self._free_s = sample_s, free_s
        # Only the last one can be still to come: no edge after it was fed yet.
        self._pending_s = samples_s.pop() if samples_s and samples_s[-1] > until_s else math.inf
        return np.array(samples_s) if samples_s else NO_MOMENTS
