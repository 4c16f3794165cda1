"""Replays a captured knob through any reader and decoder: what would this firmware have counted?"""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import numpy as np

from knobmenu.bench.capture.measure import Measured, read_contact
from knobmenu.bench.capture.recording import Capture
from knobmenu.bench.chain import Chain
from knobmenu.bench.firmware import Counting, Firmware
from knobmenu.bench.motion import SETTLING_S
from knobmenu.bench.pin import AnyPin, make_pin
from knobmenu.bench.randomness import Source
from knobmenu.bench.signal import Signal
from knobmenu.bench.tally import Directions


def replay(capture: Capture, measured: Measured, chain: Chain, seed: int, *, filtered: bool = False) -> Directions:
    """Count what a chain's firmware counts of a whole capture; see `replay_pieces`."""
    up = down = 0
    for counting in replay_pieces(capture, measured, chain, seed, filtered=filtered):
        counted = counting.counted
        up, down = up + int(counted[counted > 0].sum()), down - int(counted[counted < 0].sum())
    return Directions(up, down)


def replay_pieces(
    capture: Capture, measured: Measured, chain: Chain, seed: int, *, filtered: bool = False
) -> Iterator[Counting]:
    """Send a capture through a chain's reader and decoder, piece by piece, in bounded memory.

    Args:
        capture: the capture.
        measured: which pins it is about, and how they are wired.
        chain: its reader and decoder are used, and its filter where `filtered`; the detents per period are those of
            the capture.
        seed: settles the noise, where in its period the reader begins, and its jitter.
        filtered: whether the capture was taken at the contacts, so that the filter is still to come.
    """
    part = attrs.evolve(chain.encoder, detents_per_period=measured.detents_per_period)
    chain = attrs.evolve(chain, encoder=part)
    firmware: Firmware | None = None
    pins: list[AnyPin] = []
    for a, b, end_s in _walk_contacts(capture, measured):
        if firmware is None:
            firmware = Firmware(chain, a.first << 1 | b.first, seed)
            if filtered:
                wires = ((a.first, Source.NOISE_A), (b.first, Source.NOISE_B))
                pins = [make_pin(chain.filter, level, seed, source) for level, source in wires]
        edges = [contact.changes_s for contact in (a, b)]
        if filtered:
            edges = [pin.feed(contact_s, end_s) for pin, contact_s in zip(pins, edges, strict=True)]
        yield firmware.feed(edges[0], edges[1], end_s)


def _walk_contacts(capture: Capture, measured: Measured) -> Iterator[tuple[Signal, Signal, float]]:
    """Walk both contacts to a little past the end, so that what a filter or a loop delays still arrives."""
    last = (0, 0)
    for piece in capture.walk_pieces():
        a, b = (read_contact(piece.get_pin(name), measured.closed_is_low) for name in (measured.pin_a, measured.pin_b))
        last = a.last, b.last
        yield a, b, piece.end_s
    yield Signal(last[0], np.zeros(0)), Signal(last[1], np.zeros(0)), measured.end_s + SETTLING_S
