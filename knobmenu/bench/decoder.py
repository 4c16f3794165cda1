"""From accepted codes to counted detents: the decoders that people write first, and the project's own, unchanged."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.encoder import Encoder
from knobmenu.bench.signal import Bytes, Floats
from knobmenu.design.hardware import Knob
from knobmenu.knob import quadrature

DecoderKind = Literal["one-edge", "two-edges", "table-ignore", "table"]
DECODERS: tuple[DecoderKind, ...] = ("one-edge", "two-edges", "table-ignore", "table")
"""Every decoder, from what people write first to what firmware export uses."""

Counts = NDArray[np.int64]
"""Detents, signed; clockwise is positive."""


class Counter:
    """A decoder and its state."""

    def __init__(self, kind: DecoderKind, encoder: Encoder, code: int) -> None:
        """Switch it on.

        Args:
            kind: ``one-edge`` counts when A closes and asks B for the direction; ``two-edges`` counts whenever A
                changes; ``table-ignore`` sums quarter periods by a table that ignores a double change, and counts
                each whole detent; ``table`` is `knobmenu.knob.quadrature`, which follows the last direction through a
                double change, and is what firmware export uses.
            encoder: states the detents per period, which the table needs.
            code: of the pins at power-on, ``A << 1 | B``.
        """
        self._kind = kind
        self._knob = Knob(
            pulses_per_turn=encoder.pulses_per_turn,
            detents_per_period=encoder.detents_per_period,
            detents_per_turn=encoder.detents_per_turn,
        )
        self._code = code
        self._state = quadrature.start(self._knob, code >> 1, code & 1)
        self._quarters = 0

    def feed(self, at_s: Floats, codes: Bytes) -> tuple[Floats, Counts]:
        """Take codes.

        Args:
            at_s: when each code was sampled. [s]
            codes: those accepted since the call before, in order.

        Returns:
            When detents were counted, and how many each time. [s, detents]
        """
        before = np.concatenate(([self._code], codes[:-1])).astype(np.uint8)[: len(codes)]
        # A code that is the one before it changes nothing in any decoder.
        changed = codes != before
        at_s, codes, before = at_s[changed], codes[changed], before[changed]
        if not len(codes):
            return at_s, np.zeros(0, dtype=np.int64)
        self._code = int(codes[-1])
        if self._kind == "table":
            self._state, found = quadrature.decode(self._knob, self._state, codes.tobytes())
            detents = np.array(found, dtype=np.int64)
        elif self._kind == "table-ignore":
            detents = self._sum(before, codes)
        else:
            a, b = (codes >> 1).astype(np.int64), (codes & 1).astype(np.int64)
            counts = (before >> 1 != codes >> 1) & ((a == 1) | (self._kind == "two-edges"))
            # A leads clockwise: where A has just changed, it differs from B.
            detents = np.where(counts, np.where(a != b, 1, -1), 0)
        counted = detents != 0
        return at_s[counted], detents[counted]

    def _sum(self, before: Bytes, codes: Bytes) -> Counts:
        """Sum quarter periods, and count each whole detent since the last one that was counted."""
        needed = 4 // self._knob.detents_per_period
        quarters, found = self._quarters, []
        for step in _QUARTERS[before.astype(np.int64) << 2 | codes].tolist():
            quarters += step
            if abs(quarters) >= needed:
                found.append(1 if quarters > 0 else -1)
                quarters = 0
            else:
                found.append(0)
        self._quarters = quarters
        return np.array(found, dtype=np.int64)


_QUARTERS = np.zeros(16, dtype=np.int64)
"""Quarter periods by the code before and the code now; a double change is ignored (common practice)."""
for _before, _now in ((0, 2), (2, 3), (3, 1), (1, 0)):
    _QUARTERS[_before << 2 | _now], _QUARTERS[_now << 2 | _before] = 1, -1
