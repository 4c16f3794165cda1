"""A poor knob: wanted detents go in as the designer turns, and out come those that the firmware would have counted.

The terminal calls it. It knows nothing of screens and reads no clock: the caller says the time, in whole milliseconds.
"""

from __future__ import annotations

import attrs
import numpy as np

from knobmenu.bench import contact, decoder, encoder, filter, reader
from knobmenu.bench.chain import Chain
from knobmenu.bench.motion import Motion

REST_MS = 400
"""After so long without a turn the chain has settled, and the next turn begins a new stroke. [ms]"""


@attrs.define
class PoorKnob:
    """A knob turned by hand now, whose detents pass through a chain.

    Each turn is drawn as one even movement that ends when it is told. What is counted late (a filter, a busy loop) is
    told by a later `wait`. The same turns at the same times with the same seed are counted the same.

    Example::

        knob = PoorKnob(chain, seed=1)
        counted = knob.turn(1, at_ms=1000)  # [(at_ms, detents), ...] counted up to 1000 ms
        counted = knob.wait(at_ms=1050)     # what came out since
    """

    chain: Chain
    """The chain; its `turning` is not used, the caller turns."""
    seed: int = 1
    """Settles all chance."""
    _told: list[tuple[int, int]] = attrs.field(factory=list, init=False)
    _turns: list[tuple[int, int]] = attrs.field(factory=list, init=False)
    _stroke: int = attrs.field(default=0, init=False)

    def turn(self, detents: int, at_ms: int) -> list[tuple[int, int]]:
        """Turn the knob.

        Args:
            detents: wanted, signed; clockwise is positive. [detents]
            at_ms: when the movement is over; not before the call before. [ms]

        Returns:
            What was counted up to this moment and has not been told yet: moments and signed detents, in order.
        """
        if self._turns and at_ms - self._turns[-1][0] > REST_MS:
            counted = self.wait(at_ms - 1)
            self._turns, self._told = [], []
            self._stroke += 1
        else:
            counted = []
        self._turns.append((at_ms, detents))
        return counted + self.wait(at_ms)

    def wait(self, at_ms: int) -> list[tuple[int, int]]:
        """Let time pass without turning; see `turn` for what it returns."""
        if not self._turns:
            return []
        # The whole stroke is worked out anew from its own seed, so that later turns leave earlier chance alone.
        every = [one for one in _counted(self.chain, self.seed + self._stroke * 7919, self._turns) if one[0] <= at_ms]
        fresh = every[len(self._told) :]
        self._told = every
        return fresh


def _counted(chain: Chain, seed: int, turns: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Send a stroke of turns through a chain; moments in whole milliseconds, a detent at a time."""
    speed = max(chain.turning.turns_per_s * chain.encoder.detents_per_turn, 1e-3)
    base_ms = turns[0][0] - round(abs(turns[0][1]) / speed * 1000) - 50
    at_s, angles, angle = [0.0], [0.0], 0
    for at_ms, detents in turns:
        end_s = (at_ms - base_ms) / 1000
        begin_s = max(at_s[-1], end_s - abs(detents) / speed)
        at_s += [begin_s, max(end_s, begin_s)]
        angles += [float(angle), float(angle + detents)]
        angle += detents
    end_s = at_s[-1] + (REST_MS + 1000) / 1000
    moved = Motion(np.array([*at_s, end_s]), np.array([*angles, float(angle)]), ())
    # Each source of chance has its own stream: what is drawn for the last edge does not move the first one.
    part, bounce_a, bounce_b, looks = (np.random.default_rng([seed, number]) for number in range(4))
    phases = encoder.contacts(chain.encoder, moved, part)
    pins = tuple(
        filter.solve(chain.filter, contact.bouncing(chain.contact, phase, generator))[0]
        for phase, generator in zip(phases, (bounce_a, bounce_b), strict=True)
    )
    counted_s, detents_counted = decoder.decode(
        chain.decoder,
        chain.encoder,
        pins[0].first << 1 | pins[1].first,
        *reader.read(chain.reader, pins[0], pins[1], end_s, looks),
    )
    return [
        (base_ms + int(np.ceil(moment * 1000)), int(number))
        for moment, number in zip(counted_s.tolist(), detents_counted.tolist(), strict=True)
    ]
