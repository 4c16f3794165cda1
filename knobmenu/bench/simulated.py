"""The simulated encoder: turns and presses go through a signal chain before they are read.

It is a `knobmenu.session.source.KnobSource`. It works in real time, so it knows neither device time nor the past.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.chain_file import load
from knobmenu.bench.decoder import DecoderKind
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.live import FIRST_TRY, SimulatedKnob, SimulatedSwitch
from knobmenu.bench.tally import Tally
from knobmenu.design.hardware import Knob
from knobmenu.events import Event, Turn
from knobmenu.session.source import Reading

MOST_PULSES = 250
"""Most pulses in one turn that a chain's file may say. [periods per revolution]"""

POLL_MS = 15
"""How often one asks what was counted, while something is under way. [ms]"""


class NamedChain(NamedTuple):
    """A chain and its name."""

    chain: Chain
    name: str


class SimulatedEncoder:
    """A knob and a push switch of one chain, used by one hand."""

    bounces = True

    def __init__(self, named: NamedChain, real_ms: int, seed: int = 1) -> None:
        """Begin at rest.

        Args:
            named: What lies between hand and count.
            real_ms: Real time now. [ms]
            seed: The random seed.
        """
        self.named = named
        self._seed = seed
        self._asked_ms = real_ms
        self._begin()

    def _begin(self) -> None:
        self._knob = SimulatedKnob(self.named.chain, self._seed)
        self._switch = SimulatedSwitch(self.named.chain, self._seed)
        # Both share one clock, so that the same loop blocks both.
        self._knob.turn(0, self._asked_ms)
        self._switch.push(False, self._asked_ms)

    @property
    def tally(self) -> Tally:
        """What was turned and counted since the knob was taken."""
        return self._knob.tally

    @property
    def last(self) -> Tally:
        """The movement that settled last, alone."""
        return self._knob.last

    @property
    def settled(self) -> bool:
        """Whether nothing is in progress."""
        return self._knob.settled and self._switch.settled

    @property
    def due_ms(self) -> int | None:
        """When to poll the count next; None while nothing is in progress. [ms]"""
        return None if self.settled else self._asked_ms + POLL_MS

    def turn(self, clockwise: int, real_ms: int) -> list[Reading]:
        """Turn the knob; return the events that the firmware has counted by now."""
        return [*self.wait(real_ms), *_to_turns(self._knob.turn(clockwise, real_ms))]

    def push(self, down: bool, real_ms: int) -> list[Reading]:
        """Press or release the switch; return the events that the firmware has detected by now."""
        return _to_levels(self._switch.push(down, real_ms))

    def wait(self, real_ms: int) -> list[Reading]:
        """Advance time; return the events that the firmware has counted by now."""
        self._asked_ms = max(self._asked_ms, real_ms)
        readings = [*_to_turns(self._knob.wait(real_ms)), *_to_levels(self._switch.wait(real_ms))]
        # Events of the same millisecond keep their order.
        return sorted(readings, key=lambda reading: reading.at_ms)

    def reset(self) -> None:
        """Restart at rest: drop what was in progress, and clear the tally."""
        self._seed += 1
        self._begin()


def make_first_try(knob: Knob) -> NamedChain:
    """Return a typical first chain with the encoder of a design.

    They count one edge of one phase; where a period has several detents, both its edges.

    Args:
        knob: The design's knob; an encoder of more pulses than the bench knows has as many as it knows.
    """
    part = Encoder(pulses_per_turn=min(knob.pulses_per_turn, MOST_PULSES), detents_per_period=knob.detents_per_period)
    decoder: DecoderKind = "one-edge" if knob.detents_per_period == 1 else "two-edges"
    return NamedChain(attrs.evolve(FIRST_TRY, encoder=part, decoder=decoder), "a first try")


def read_chain(path: Path) -> NamedChain:
    """Read a chain's file.

    Raises:
        BenchError: The file cannot be read, or says what cannot be.
    """
    return NamedChain(load(path), path.name)


def send_through(chain: Chain, events: Iterable[Event], seed: int) -> tuple[list[Event], Tally]:
    """Send the turns among events through a chain; other events pass unchanged.

    Args:
        chain: The chain, at rest.
        events: In order.
        seed: The random seed.

    Returns:
        The events as the firmware would report them until everything is at rest, and how it counted.
    """
    knob = SimulatedKnob(chain, seed)
    reported: list[Event] = []
    at_ms = 0
    knob.turn(0, at_ms)
    for event in events:
        at_ms = event.at_ms
        counted = knob.turn(event.detents, at_ms) if isinstance(event, Turn) else knob.wait(at_ms)
        reported += [Turn(*one) for one in counted]
        if not isinstance(event, Turn):
            reported.append(event)
    while not knob.settled:
        at_ms += POLL_MS
        reported += [Turn(*one) for one in knob.wait(at_ms)]
    return reported, knob.tally


def _to_turns(counted: list[tuple[int, int]]) -> list[Reading]:
    return [Reading(at_ms, detents) for at_ms, detents in counted]


def _to_levels(found: list[tuple[int, bool]]) -> list[Reading]:
    return [Reading(at_ms, 0, down) for at_ms, down in found]
