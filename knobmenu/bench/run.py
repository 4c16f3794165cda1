"""One chain, one speed, one seed: everything that happens on the way from the hand to the count."""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench import contact, decoder, encoder, filter, motion, reader
from knobmenu.bench.chain import Chain
from knobmenu.bench.errors import BenchError
from knobmenu.bench.motion import Motion
from knobmenu.bench.reader import Reader
from knobmenu.bench.signal import Bytes, Floats, Signal
from knobmenu.errors import Problem

MOST_LOOKS = 50_000_000
"""Most looks of one run that must be kept; a chain that needs more is refused instead of filling the memory."""


@attrs.frozen(eq=False)
class Run:
    """What happened, stage by stage; what `knobmenu.bench.plot` draws."""

    motion: Motion
    """How the knob was turned."""
    contacts: tuple[Signal, Signal]
    """Phases A and B at the contacts, with bounce."""
    pins: tuple[Signal, Signal]
    """Phases A and B as the pins see them; 1 is closed, which is low."""
    looks_s: Floats
    """When the firmware looked. [s]"""
    seen: Bytes
    """What it believed at each look, ``A << 1 | B``."""
    counted_s: Floats
    """When it counted. [s]"""
    counted: NDArray[np.int64]
    """What it counted each time, signed; clockwise is positive. [detents]"""


@attrs.frozen(kw_only=True)
class Count:
    """How a run compares with the truth."""

    true: int
    """Detents that were turned, whatever the direction. [detents]"""
    counted: int
    """Detents that were counted, whatever the direction. [detents]"""
    lost: int
    """Detents turned and never counted. [detents]"""
    extra: int
    """Counted in the right direction, but too many. [detents]"""
    reversed: int
    """Counted against the hand's direction. [detents]"""
    net: int
    """Where the count ended. [detents]"""

    @property
    def errors(self) -> int:
        """Everything that is wrong. [detents]"""
        return self.lost + self.extra + self.reversed


def turn(chain: Chain, turns_per_s: float, generator: np.random.Generator) -> Motion:
    """Turn the knob of a chain at a speed.

    Args:
        chain: says how and how far.
        turns_per_s: wanted speed; a recorded motion keeps its own. [turns/s]
        generator: draws the hand's chance.
    """
    wish = chain.turning
    speed = turns_per_s * chain.encoder.detents_per_turn
    if wish.kind == "steady":
        return motion.steady(wish.detents, speed)
    if wish.kind == "flicks":
        return motion.flicks(wish.detents, speed, generator)
    if wish.kind == "reversals":
        return motion.reversals(wish.detents, speed, generator)
    if wish.kind == "dither":
        # Seen at a full-period contact, half a detent away is where its neighbour's rest begins.
        return motion.dither(abs(wish.detents), speed, generator)
    return motion.recorded(np.array(wish.recorded_ms) / 1000, np.array(wish.recorded_detents))


def run(chain: Chain, seed: int, turns_per_s: float | None = None) -> Run:
    """Send one motion through a chain.

    Args:
        chain: the chain.
        seed: the same seed gives the same run.
        turns_per_s: another speed than the chain's own. [turns/s]

    Raises:
        BenchError: the run would keep more than `MOST_LOOKS` looks.
    """
    generator = np.random.default_rng(seed)
    moved = turn(chain, chain.turning.turns_per_s if turns_per_s is None else turns_per_s, generator)
    phases = encoder.contacts(chain.encoder, moved, generator)
    bounced = (
        contact.bouncing(chain.contact, phases[0], generator),
        contact.bouncing(chain.contact, phases[1], generator),
    )
    pins = (filter.solve(chain.filter, bounced[0])[0], filter.solve(chain.filter, bounced[1])[0])
    return finish(chain, moved, bounced, pins, generator)


def finish(
    chain: Chain,
    moved: Motion,
    contacts: tuple[Signal, Signal],
    pins: tuple[Signal, Signal],
    generator: np.random.Generator,
) -> Run:
    """Read and decode what the pins see."""
    looks = _kept_looks(chain.reader, moved.end_s, sum(len(pin.changes_s) for pin in pins))
    if looks > MOST_LOOKS:
        raise BenchError(
            [
                Problem(
                    "reader.period_ms",
                    f"{chain.reader.period_ms:g} ms over {moved.end_s:.3g} s, {looks:.3g} looks to keep",
                    f"at most {MOST_LOOKS} looks",
                    "turn fewer detents, or faster, or look less often",
                )
            ]
        )
    looks_s, seen = reader.read(chain.reader, *pins, moved.end_s, generator)
    first = pins[0].first << 1 | pins[1].first
    counted_s, counted = decoder.decode(chain.decoder, chain.encoder, first, looks_s, seen)
    return Run(moved, contacts, pins, looks_s, seen, counted_s, counted)


def _kept_looks(looking: Reader, end_s: float, edges: int) -> float:
    """Say how many looks must be kept: all that are not evenly spaced, and those that follow each edge."""
    if looking.kind == "interrupt":
        return edges
    uneven = looking.jitter_ms or looking.blocked_every_ms
    after_each = looking.looks + 1 if looking.debounce in ("integrator", "equal") else 1
    return edges * after_each + (end_s * 1000 / looking.period_ms if uneven else 0)


def count(done: Run) -> Count:
    """Compare a run with the truth, stroke by stroke, so that an extra detent here does not hide a lost one there."""
    lost = extra = against = 0
    begins = [begin for begin, _, _ in done.motion.strokes]
    # What is counted belongs to the stroke that had last begun.
    stroke_of = np.maximum(np.searchsorted(begins, done.counted_s, side="right") - 1, 0)
    ups = np.bincount(stroke_of, np.maximum(done.counted, 0), len(begins)).astype(int)
    downs = np.bincount(stroke_of, np.maximum(-done.counted, 0), len(begins)).astype(int)
    for (_, _, true), up, down in zip(done.motion.strokes, ups.tolist(), downs.tolist(), strict=True):
        forward, backward = (up, down) if true >= 0 else (down, up)
        if true == 0:
            extra += up + down
            continue
        lost += max(abs(true) - forward, 0)
        extra += max(forward - abs(true), 0)
        against += backward
    return Count(
        true=done.motion.true_detents,
        counted=int(np.abs(done.counted).sum()),
        lost=lost,
        extra=extra,
        reversed=against,
        net=int(done.counted.sum()),
    )
