"""From believed codes to counted detents: what people write first, and the project's own decoder, unchanged."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.encoder import Encoder
from knobmenu.bench.signal import Bytes, Floats
from knobmenu.design.hardware import Knob
from knobmenu.knob import quadrature

DecoderKind = Literal["one-edge", "two-edges", "table"]


def decode(
    kind: DecoderKind, encoder: Encoder, first: int, at_s: Floats, seen: Bytes
) -> tuple[Floats, NDArray[np.int64]]:
    """Count detents.

    Args:
        kind: ``one-edge`` counts when A closes and asks B for the direction; ``two-edges`` counts whenever A changes;
            ``table`` is `knobmenu.knob.quadrature`.
        encoder: says the detents per period, which the table needs.
        first: the code at power-on.
        at_s: when each code was read. [s]
        seen: the codes, ``A << 1 | B``.

    Returns:
        When detents were counted, and how many, signed; clockwise is positive. [s, detents]
    """
    before = np.concatenate(([first], seen[:-1])).astype(np.uint8)[: len(seen)]
    # A code that is the one before it changes nothing in any decoder.
    changed = seen != before
    at_s, seen, before = at_s[changed], seen[changed], before[changed]
    if kind == "table":
        knob = Knob(
            pulses_per_turn=encoder.pulses_per_turn,
            detents_per_period=encoder.detents_per_period,
            detents_per_turn=encoder.detents_per_turn,
        )
        _, told = quadrature.decode(knob, quadrature.start(knob, first >> 1, first & 1), seen.tobytes())
        detents = np.array(told, dtype=np.int64)
    else:
        a, b = (seen >> 1).astype(np.int64), (seen & 1).astype(np.int64)
        counts = (before >> 1 != seen >> 1) & ((a == 1) | (kind == "two-edges"))
        # A leads clockwise: where A has just changed, it differs from B.
        detents = np.where(counts, np.where(a != b, 1, -1), 0)
    counted = detents != 0
    return at_s[counted], detents[counted]
