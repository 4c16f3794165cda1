"""The push switch from its contact to the level that the firmware accepts, over time."""

from __future__ import annotations

import numpy as np

from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import PRESETS, BouncingContact
from knobmenu.bench.pin import make_pin
from knobmenu.bench.randomness import Source
from knobmenu.bench.sampler import Sampler
from knobmenu.bench.signal import NO_MOMENTS, Floats, Signal


class SwitchLine:
    """A push switch at rest, behind the same kind of filter and read by the same reader as the phases."""

    def __init__(self, chain: Chain, seed: int) -> None:
        """Begin at rest.

        Args:
            chain: its switch, filter and reader are used.
            seed: the random seed.
        """
        self._contact = BouncingContact(PRESETS[chain.pressing.preset], 0, seed, Source.SWITCH)
        self._pin = make_pin(chain.filter, 0, seed, Source.NOISE_SWITCH)
        self._sampler = Sampler(chain.reader, 0, seed)
        self._accepted = 0

    @property
    def settled(self) -> bool:
        """Whether nothing more is accepted until the switch is pushed or released."""
        return self._contact.settled and self._pin.settled and self._sampler.settled

    def feed(self, ideal_s: Floats, until_s: float) -> Signal:
        """Let time pass.

        Args:
            ideal_s: when the switch was pushed or released since the call before, none after `until_s`. [s]
            until_s: up to when, inclusive. [s]

        Returns:
            The accepted level since then, 1 while closed.
        """
        pin_s = self._pin.feed(self._contact.feed(ideal_s, until_s), until_s)
        samples_s, codes = self._sampler.feed(pin_s, NO_MOMENTS, until_s)
        levels = codes >> 1
        first = self._accepted
        changed = levels != np.concatenate(([first], levels[:-1]))[: len(levels)]
        self._accepted ^= int(changed.sum()) & 1
        return Signal(first, samples_s[changed])
