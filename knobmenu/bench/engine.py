"""The whole chain from the shaft to the count, stage by stage, over time.

Each stage keeps what it is in the middle of: a burst that is not over, a voltage on its way, a sample still to come.
What a stage has returned never changes by what comes later, and it does not matter in how many pieces time passes: a
whole run is one feed, a knob that is turned now is many.
"""

from __future__ import annotations

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import BouncingContact, Contact
from knobmenu.bench.corners import Corner, make_nominal
from knobmenu.bench.encoder import Encoder, Shaft
from knobmenu.bench.firmware import Counting, Firmware
from knobmenu.bench.pin import make_pin
from knobmenu.bench.randomness import Source
from knobmenu.bench.signal import NO_MOMENTS, Floats

Edges = tuple[Floats, Floats]
"""Edges of phases A and B. [s]"""

NOISES = (Source.NOISE_A, Source.NOISE_B)
"""Noise at the pins of phases A and B."""


@attrs.frozen(eq=False)
class Traces:
    """What happened in a period of time, stage by stage."""

    contacts: Edges
    """At the contacts, with bounce."""
    pins: Edges
    """As the pins see them."""
    counting: Counting
    """What the firmware made of them."""


class Front:
    """A shaft and its two bouncing contacts: what the board is wired to."""

    def __init__(self, encoder: Encoder, contact: Contact, seed: int, detents: float = 0.0) -> None:
        """Begin at rest.

        Args:
            encoder: the part.
            contact: how its contacts bounce.
            seed: settles part and bursts.
            detents: the angle at rest. [detents]
        """
        self._shaft = Shaft(encoder, seed, detents)
        self.levels = self._shaft.levels
        """The levels of both phases at power-on, 1 while closed."""
        sources = (Source.PHASE_A, Source.PHASE_B)
        self._contacts = [
            BouncingContact(contact, level, seed, source) for level, source in zip(self.levels, sources, strict=True)
        ]

    @property
    def settled(self) -> bool:
        """Whether no edge will come any more on the course that was fed last."""
        return self._shaft.settled and all(contact.settled for contact in self._contacts)

    def get_angle(self, at_s: float) -> float:
        """Return the angle at a moment of the course that was fed last. [detents]"""
        return self._shaft.get_angle(at_s)

    def feed(self, until_s: float, at_s: Floats, detents: Floats) -> Edges:
        """Let time pass; see `Engine.feed`."""
        ideal = self._shaft.feed(at_s, detents, until_s)
        a, b = (contact.feed(edges_s, until_s) for contact, edges_s in zip(self._contacts, ideal, strict=True))
        return a, b


class Pins:
    """Two pins, each behind its filter."""

    def __init__(self, corner: Corner, levels: tuple[int, int], seed: int) -> None:
        """Begin settled.

        Args:
            corner: the filters of both phases.
            levels: of the contacts, 1 while closed.
            seed: settles the noise.
        """
        parts = corner.a, corner.b
        self._pins = [make_pin(*each) for each in zip(parts, levels, (seed, seed), NOISES, strict=True)]

    @property
    def settled(self) -> bool:
        """Whether no threshold will be passed any more while the contacts stay as they are."""
        return all(pin.settled for pin in self._pins)

    def feed(self, until_s: float, contacts: Edges) -> Edges:
        """Let time pass; see `Engine.feed`."""
        a, b = (pin.feed(edges_s, until_s) for pin, edges_s in zip(self._pins, contacts, strict=True))
        return a, b


class Engine:
    """A running chain."""

    def __init__(self, chain: Chain, seed: int, detents: float = 0.0) -> None:
        """Begin at rest.

        Args:
            chain: the chain.
            seed: settles everything random.
            detents: the angle at rest. [detents]
        """
        self._front = Front(chain.encoder, chain.contact, seed, detents)
        levels = self._front.levels
        self._pins = Pins(make_nominal(chain.filter), levels, seed)
        self._firmware = Firmware(chain, levels[0] << 1 | levels[1], seed)

    @property
    def settled(self) -> bool:
        """Whether nothing more will be counted on the course that was fed last."""
        return self._front.settled and self._pins.settled and self._firmware.settled

    def get_angle(self, at_s: float) -> float:
        """Return the angle at a moment of the course that was fed last. [detents]"""
        return self._front.get_angle(at_s)

    def feed(self, until_s: float, at_s: Floats = NO_MOMENTS, detents: Floats = NO_MOMENTS) -> Traces:
        """Let time pass.

        Args:
            until_s: up to when, inclusive; not before the call before. [s]
            at_s: moments of a new course's knots, see `knobmenu.bench.encoder.Shaft.feed`. [s]
            detents: the angle at each. [detents]
        """
        contacts = self._front.feed(until_s, at_s, detents)
        a, b = self._pins.feed(until_s, contacts)
        return Traces(contacts, (a, b), self._firmware.feed(a, b, until_s))
