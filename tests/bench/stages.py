"""Each stage of the engine over a whole signal: one feed from power-on to the end of time."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from knobmenu.bench.contact import BouncingContact, Contact
from knobmenu.bench.decoder import Counter, Counts, DecoderKind
from knobmenu.bench.encoder import Encoder, Shaft
from knobmenu.bench.filter import Filter, Pin
from knobmenu.bench.motion import Motion
from knobmenu.bench.randomness import Source
from knobmenu.bench.reader import Reader
from knobmenu.bench.sampler import Sampler
from knobmenu.bench.schedule import Beginning
from knobmenu.bench.signal import Bytes, Floats, Signal

PHASES = (Source.PHASE_A, Source.PHASE_B)


def contacts(part: Encoder, moved: Motion, seed: int) -> tuple[Signal, Signal]:
    """Close and open ideal contacts along a motion."""
    shaft = Shaft(part, seed, float(moved.detents[0]))
    first_a, first_b = shaft.levels
    a_s, b_s = shaft.feed(moved.at_s, moved.detents, math.inf)
    return Signal(first_a, a_s), Signal(first_b, b_s)


def bouncing(contact: Contact, ideal: Signal, seed: int, source: Source = Source.PHASE_A) -> Signal:
    """Let an ideal contact bounce."""
    return Signal(ideal.first, BouncingContact(contact, ideal.first, seed, source).feed(ideal.changes_s, math.inf))


def bouncing_phases(contact: Contact, ideal: Iterable[Signal], seed: int) -> tuple[Signal, Signal]:
    """Let both phases bounce."""
    a, b = (bouncing(contact, phase, seed, source) for phase, source in zip(ideal, PHASES, strict=True))
    return a, b


def filtered(parts: Filter, contact: Signal) -> Signal:
    """Find what the pin sees of a contact."""
    return Signal(contact.first, Pin(parts, contact.first).feed(contact.changes_s, math.inf))


def read(
    reader: Reader, a: Signal, b: Signal, end_s: float, seed: int, beginning: Beginning | None = None
) -> tuple[Floats, Bytes]:
    """Sample two pins until the end."""
    sampler = Sampler(reader, a.first << 1 | b.first, seed, beginning)
    return sampler.feed(before(a, end_s), before(b, end_s), end_s)


def before(signal: Signal, end_s: float) -> Floats:
    """Return the changes of a signal up to a moment. [s]"""
    return signal.changes_s[: np.searchsorted(signal.changes_s, end_s, side="right")]


def decode(kind: DecoderKind, part: Encoder, first: int, at_s: Floats, codes: Bytes) -> tuple[Floats, Counts]:
    """Count detents from codes."""
    return Counter(kind, part, first).feed(at_s, codes)
