"""The firmware at work: it looks at two pins and counts, look by look as time goes on.

What `reader` and `decoder` do to whole signals at once, for pins whose future is open. The transition table is the
project's own, `knobmenu.knob.quadrature`, unchanged. Tests hold what is counted here to the whole-signal stages.
"""

from __future__ import annotations

import math
import random
from collections import deque
from collections.abc import Iterable

import attrs
import numpy as np

from knobmenu.bench import decoder
from knobmenu.bench.chain import Chain
from knobmenu.bench.reader import SLACK_S, LoopTime, Reader
from knobmenu.design.hardware import Knob
from knobmenu.knob import quadrature

_MOST_LATE_LOOKS = 64
"""Where jitter is so long that more looks than these overtake each other, only the last of them count. [looks]"""

_NEXT_S = 1e-9
"""Two looks are at least so far apart. [s]"""


class Looks:
    """A reader, running since power-on."""

    def __init__(self, reader: Reader, code: int, seed: int, generator: np.random.Generator) -> None:
        """Switch it on.

        Args:
            reader: how the firmware reads.
            code: of the pins, ``A << 1 | B``.
            seed: settles the jitter of each look.
            generator: draws where in its period the reader begins, in the order of `knobmenu.bench.reader`.
        """
        self._reader = reader
        self._offset_s = float(generator.uniform(0, max(self._reader.blocked_every_ms, 1.0) / 1000))
        self._loop = None if self._reader.kind == "interrupt" else _Loop(self._reader, seed, self._offset_s, generator)
        self._phases = tuple(_PHASES[self._reader.debounce](self._reader, level) for level in (code >> 1, code & 1))
        self._levels = [code >> 1, code & 1]
        self._edges: deque[tuple[float, int]] = deque()
        self._last_s = -math.inf
        self._interrupt_s = math.inf
        self._free_s = -math.inf

    @property
    def settled(self) -> bool:
        """Whether nothing more can be seen while the pins stay as they are."""
        return math.isinf(self._next_look_s())

    def until(self, edges: Iterable[tuple[float, int]], to_s: float) -> list[tuple[float, int]]:
        """Let time pass.

        Args:
            edges: of the pins since the call before, in order, none after `to_s`: moments [s], and 0 for A, 1 for B.
            to_s: up to when, inclusive; not before the call before. [s]

        Returns:
            The looks since then that may have changed something: moments [s] and the code that is believed.
        """
        self._edges.extend(edges)
        seen = []
        while (look_s := self._next_look_s()) <= to_s:
            while self._edges and self._edges[0][0] <= look_s:
                _, phase = self._edges.popleft()
                self._levels[phase] = 1 - self._levels[phase]
            self._last_s, self._interrupt_s = look_s, math.inf
            a, b = (phase.look(level, look_s) for phase, level in zip(self._phases, self._levels, strict=True))
            seen.append((look_s, a << 1 | b))
        return seen

    def _next_look_s(self) -> float:
        """Give the next look that may change something, or infinity. [s]"""
        if self._loop is None:
            return self._next_interrupt_s()
        wanted_s = min(phase.again_s for phase in self._phases)
        if self._edges:
            wanted_s = min(wanted_s, self._edges[0][0])
        return wanted_s if wanted_s == math.inf else self._loop.look_s(max(wanted_s, self._last_s + _NEXT_S))

    def _next_interrupt_s(self) -> float:
        """Give the look that the first edge not yet seen asks for; edges before that look are seen by it too. [s]"""
        if math.isinf(self._interrupt_s):
            watched = (0,) if self._reader.phases == "a" else (0, 1)
            edge_s = next((at_s for at_s, phase in self._edges if phase in watched), math.inf)
            if edge_s < math.inf:
                ready_s = max(_blocked_until(self._reader, edge_s, self._offset_s), self._free_s)
                self._interrupt_s = ready_s + self._reader.latency_ms / 1000
                self._free_s = self._interrupt_s + self._reader.service_ms / 1000
        return self._interrupt_s


class _Loop:
    """The looks of a main loop or a timer, found when they are asked for."""

    def __init__(self, reader: Reader, seed: int, offset_s: float, generator: np.random.Generator) -> None:
        self._reader = reader
        self._seed = seed
        self._offset_s = offset_s
        self._period_s = reader.period_ms / 1000
        self._start_s = float(generator.uniform(0, self._period_s))
        stands = reader.kind == "polled" and reader.blocked_for_ms and reader.blocked_every_ms
        self._own_time = LoopTime.of(reader, offset_s) if stands else None

    def look_s(self, moment_s: float) -> float:
        """Give the first look at or after a moment. [s]"""
        if self._own_time:
            due = np.array([self._due_s(self._own_time.loop_s(moment_s))])
            return max(float(self._own_time.moments_s(due)[0]), moment_s)
        end_s = _blocked_until(self._reader, moment_s, self._offset_s)
        # Looks that were due while other work stopped the loop are one look when it goes on.
        begin_s = min(moment_s, end_s - self._reader.blocked_for_ms / 1000) if end_s > moment_s else moment_s
        due_s = self._due_s(begin_s)
        return end_s if due_s <= end_s else _blocked_until(self._reader, due_s, self._offset_s)

    def _due_s(self, moment_s: float) -> float:
        """Give the first look at or after a moment, if nothing blocked. [s]"""
        jitter_s = self._reader.jitter_ms / 1000
        if not jitter_s:
            return self._on_time_s(self._number(moment_s), moment_s)
        last = self._number(moment_s)
        number = max(self._number(moment_s - jitter_s), last - _MOST_LATE_LOOKS)
        first_s = math.inf
        while (on_time_s := self._start_s + number * self._period_s) < first_s:
            at_s = on_time_s + jitter_s * random.Random(self._seed << 40 | number).random()
            if moment_s <= at_s < first_s:
                first_s = at_s
            number += 1
        return first_s

    def _number(self, moment_s: float) -> int:
        return max(math.ceil((moment_s - self._start_s) / self._period_s), 0)

    def _on_time_s(self, number: int, moment_s: float) -> float:
        at_s = self._start_s + number * self._period_s
        return at_s if at_s >= moment_s else at_s + self._period_s


def _blocked_until(reader: Reader, at_s: float, offset_s: float) -> float:
    """Put a moment that falls into a blocked stretch off to its end. [s]"""
    if not reader.blocked_every_ms or not reader.blocked_for_ms:
        return at_s
    every_s, length_s = reader.blocked_every_ms / 1000, reader.blocked_for_ms / 1000
    begin_s = offset_s + math.floor((at_s - offset_s) / every_s) * every_s
    return begin_s + length_s if at_s - begin_s < length_s else at_s


class Counter:
    """A decoder, and the code that it saw last."""

    def __init__(self, chain: Chain, code: int) -> None:
        """Switch it on.

        Args:
            chain: says decoder and encoder.
            code: of the pins, ``A << 1 | B``.
        """
        self._kind = chain.decoder
        self._encoder = chain.encoder
        self._knob = Knob(
            pulses_per_turn=chain.encoder.pulses_per_turn,
            detents_per_period=chain.encoder.detents_per_period,
            detents_per_turn=chain.encoder.detents_per_turn,
        )
        self._code = code
        self._state = quadrature.start(self._knob, code >> 1, code & 1)

    def take(self, code: int) -> int:
        """Take the code that is believed now; give the detents that it counts, signed, clockwise positive."""
        before, self._code = self._code, code
        if code == before:
            return 0
        if self._kind == "table":
            self._state, detents = quadrature.step(self._knob, self._state, code >> 1, code & 1)
            return detents
        seen = np.array([code], dtype=np.uint8)
        return int(decoder.decode(self._kind, self._encoder, before, np.zeros(1), seen)[1].sum())


@attrs.define
class _Plain:
    """A phase that is believed as it is found."""

    reader: Reader
    believed: int
    again_s: float = math.inf
    """When a look is wanted though no edge comes; minus infinity: the very next one. [s]"""

    def look(self, level: int, at_s: float) -> int:
        """Find a level; give what is believed."""
        self.believed = level
        return level


@attrs.define
class _LockOut(_Plain):
    """Believes a change at once and then nothing for a while."""

    _free_s: float = attrs.field(default=-math.inf, init=False)

    def look(self, level: int, at_s: float) -> int:
        if level != self.believed and at_s >= self._free_s:
            self.believed, self._free_s = level, at_s + self.reader.lockout_ms / 1000 - SLACK_S
        self.again_s = self._free_s if level != self.believed else math.inf
        return self.believed


@attrs.define
class _Integrator(_Plain):
    """Counts up while closed and down while open, and believes either end."""

    _sum: int = attrs.field(init=False)

    def __attrs_post_init__(self) -> None:
        self._sum = self.believed * self.reader.looks

    def look(self, level: int, at_s: float) -> int:
        most = self.reader.looks
        self._sum = min(self._sum + 1, most) if level else max(self._sum - 1, 0)
        if self._sum in (0, most):
            self.believed = int(self._sum == most)
        self.again_s = math.inf if self._sum in (0, most) else -math.inf
        return self.believed


@attrs.define
class _Equal(_Plain):
    """Believes a level that so many looks agree on."""

    _before: int = attrs.field(init=False)
    _run: int = attrs.field(init=False)

    def __attrs_post_init__(self) -> None:
        self._before, self._run = self.believed, self.reader.looks

    def look(self, level: int, at_s: float) -> int:
        self._run = self._run + 1 if level == self._before else 1
        self._before = level
        if self._run >= self.reader.looks:
            self.believed = level
        self.again_s = math.inf if self._run >= self.reader.looks else -math.inf
        return self.believed


_PHASES: dict[str, type[_Plain]] = {
    "none": _Plain,
    "lockout": _LockOut,
    "integrator": _Integrator,
    "equal": _Equal,
}
