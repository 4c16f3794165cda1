"""The whole way from the shaft to the count, stage by stage, as time goes on.

Each stage keeps what it is in the middle of: a burst that is not over, a voltage on its way, a sample still to come.
What a stage has returned never changes by what comes later, and it does not matter in how many pieces time passes: a
whole run is one feed, a knob that is turned now is many.
"""

from __future__ import annotations

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import BouncingContact
from knobmenu.bench.encoder import Shaft
from knobmenu.bench.filter import Pin
from knobmenu.bench.firmware import Counting, Firmware
from knobmenu.bench.randomness import Source
from knobmenu.bench.signal import NO_MOMENTS, Floats

Edges = tuple[Floats, Floats]
"""Edges of phases A and B. [s]"""


@attrs.frozen(eq=False)
class Traces:
    """What happened while time passed, stage by stage."""

    contacts: Edges
    """At the contacts, with bounce."""
    pins: Edges
    """As the pins see them."""
    counting: Counting
    """What the firmware made of them."""


class Engine:
    """A chain at work."""

    def __init__(self, chain: Chain, seed: int, detents: float = 0.0) -> None:
        """Begin at rest.

        Args:
            chain: the chain.
            seed: settles everything random.
            detents: the angle at rest. [detents]
        """
        self._shaft = Shaft(chain.encoder, seed, detents)
        self.levels = self._shaft.levels
        """The levels of both phases at power-on, 1 while closed."""
        sources = (Source.PHASE_A, Source.PHASE_B)
        self._contacts = [
            BouncingContact(chain.contact, level, seed, source)
            for level, source in zip(self.levels, sources, strict=True)
        ]
        self._pins = [Pin(chain.filter, level) for level in self.levels]
        self._firmware = Firmware(chain, self.levels[0] << 1 | self.levels[1], seed)

    @property
    def settled(self) -> bool:
        """Whether nothing more will be counted on the course that was fed last."""
        return (
            self._shaft.settled
            and all(contact.settled for contact in self._contacts)
            and all(pin.settled for pin in self._pins)
            and self._firmware.settled
        )

    def angle(self, at_s: float) -> float:
        """Return the angle at a moment of the course that was fed last. [detents]"""
        return self._shaft.angle(at_s)

    def feed(self, until_s: float, at_s: Floats = NO_MOMENTS, detents: Floats = NO_MOMENTS) -> Traces:
        """Let time pass.

        Args:
            until_s: up to when, inclusive; not before the call before. [s]
            at_s: moments of a new course's knots, see `knobmenu.bench.encoder.Shaft.feed`. [s]
            detents: the angle at each. [detents]
        """
        ideal = self._shaft.feed(at_s, detents, until_s)
        contacts = [contact.feed(edges_s, until_s) for contact, edges_s in zip(self._contacts, ideal, strict=True)]
        pins = [pin.feed(edges_s, until_s) for pin, edges_s in zip(self._pins, contacts, strict=True)]
        counting = self._firmware.feed(pins[0], pins[1], until_s)
        return Traces((contacts[0], contacts[1]), (pins[0], pins[1]), counting)
