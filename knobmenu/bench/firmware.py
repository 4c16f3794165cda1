"""The running firmware: it samples two pins, debounces them, and counts."""

from __future__ import annotations

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.decoder import Counter, Counts
from knobmenu.bench.sampler import Sampler
from knobmenu.bench.schedule import Beginning
from knobmenu.bench.signal import Bytes, Floats


@attrs.frozen(eq=False)
class Counting:
    """What a firmware sampled and counted."""

    samples_s: Floats
    """When it sampled, as far as that may have changed something. [s]"""
    codes: Bytes
    """The code that it accepted at each sample, ``A << 1 | B``."""
    counted_s: Floats
    """When it counted. [s]"""
    counted: Counts
    """What it counted each time. [detents]"""


class Firmware:
    """A reader and a decoder, running since power-on."""

    def __init__(self, chain: Chain, code: int, seed: int, beginning: Beginning | None = None) -> None:
        """Switch it on.

        Args:
            chain: its reader, decoder and encoder.
            code: of the pins, ``A << 1 | B``.
            seed: settles where in its period it begins, and its jitter.
            beginning: where it begins, where that is known.
        """
        self._sampler = Sampler(chain.reader, code, seed, beginning)
        self._counter = Counter(chain.decoder, chain.encoder, code)

    @property
    def settled(self) -> bool:
        """Whether nothing more will be counted while the pins stay as they are."""
        return self._sampler.settled

    def feed(self, a_s: Floats, b_s: Floats, until_s: float) -> Counting:
        """Let time pass.

        Args:
            a_s: the edges of pin A since the call before, in order, none after `until_s`. [s]
            b_s: those of pin B. [s]
            until_s: up to when, inclusive; not before the call before. [s]
        """
        samples_s, codes = self._sampler.feed(a_s, b_s, until_s)
        return Counting(samples_s, codes, *self._counter.feed(samples_s, codes))
