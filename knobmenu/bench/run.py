"""One chain, one speed, one seed: everything that happens on the way from the hand to the count."""

from __future__ import annotations

from functools import lru_cache

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench import motion
from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.contact import Contact
from knobmenu.bench.corners import Corner, make_nominal
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.engine import NOISES, Edges, Front, Pins
from knobmenu.bench.errors import BenchError
from knobmenu.bench.figures import format_number
from knobmenu.bench.filter import Filter
from knobmenu.bench.firmware import Counting, Firmware
from knobmenu.bench.motion import Motion
from knobmenu.bench.pin import make_pin
from knobmenu.bench.randomness import Source, make_stream
from knobmenu.bench.signal import Floats, Signal
from knobmenu.bench.tally import Miscount
from knobmenu.errors import Problem

MOST_SAMPLES = 50_000_000
"""Most samples of one run that must be kept; a chain that needs more is refused instead of filling the memory."""


@attrs.frozen(eq=False)
class Run:
    """What happened, stage by stage; what `knobmenu.bench.plot` draws."""

    chain: Chain
    """Of which chain."""
    seed: int
    """With which random seed."""
    corner: Corner
    """With which parts."""
    turns_per_s: float
    """How fast the knob was to be turned. [turns/s]"""
    motion: Motion
    """How the knob was turned."""
    contacts: tuple[Signal, Signal]
    """Phases A and B at the contacts, with bounce."""
    pins: tuple[Signal, Signal]
    """Phases A and B as the pins see them; 1 is closed, which is low."""
    counting: Counting
    """What the firmware sampled and counted."""

    @property
    def stroke_numbers(self) -> NDArray[np.int64]:
        """Which stroke each count belongs to: the one that had last begun, counted from 0."""
        begins_s = [begin_s for begin_s, _, _ in self.motion.strokes]
        return np.maximum(np.searchsorted(begins_s, self.counting.counted_s, side="right") - 1, 0)


@attrs.frozen(kw_only=True)
class Count(Miscount):
    """How a run compares with the truth."""

    true: int
    """Detents that were turned, whatever the direction. [detents]"""
    counted: int
    """Detents that were counted, whatever the direction. [detents]"""
    net: int
    """Where the count ended. [detents]"""


def turn(chain: Chain, turns_per_s: float, seed: int) -> Motion:
    """Turn the knob of a chain at a speed.

    Args:
        chain: states how and how far.
        turns_per_s: requested speed; a recorded motion keeps its own. [turns/s]
        seed: settles what is random about the hand.
    """
    return _turn(chain.turning, turns_per_s * chain.encoder.detents_per_turn, seed)


def _turn(turning: Turning, detents_per_s: float, seed: int) -> Motion:
    generator = make_stream(seed, Source.HAND)
    match turning.kind:
        case "steady":
            return motion.make_steady(turning.detents, detents_per_s)
        case "flicks":
            return motion.make_flicks(turning.detents, detents_per_s, generator)
        case "reversals":
            return motion.make_reversals(turning.detents, detents_per_s, generator)
        case "dither":
            # Seen at a full-period contact, half a detent away is where its neighbour's rest begins.
            return motion.make_dither(abs(turning.detents), detents_per_s, generator)
        case "recorded":
            return motion.make_recorded(np.array(turning.recorded_ms) / 1000, np.array(turning.recorded_detents))


def run(chain: Chain, seed: int, turns_per_s: float | None = None, corner: Corner | None = None) -> Run:
    """Send one motion through a chain.

    Args:
        chain: the chain.
        seed: the same seed gives the same run.
        turns_per_s: another speed than the chain's own. [turns/s]
        corner: the filters of both phases; both that of the chain, if not given.

    Raises:
        BenchError: the run would keep more than `MOST_SAMPLES` samples.
    """
    speed = chain.turning.turns_per_s if turns_per_s is None else turns_per_s
    corner = corner or make_nominal(chain.filter)
    hand = chain.turning, chain.encoder, chain.contact, seed, speed
    if abs(chain.turning.detents) <= _FEW_DETENTS:
        edges = _filter_phase(0, corner.a, *hand), _filter_phase(1, corner.b, *hand)
        return _finish(chain, seed, corner, speed, *_turn_contacts(*hand), edges)
    moved, levels, contacts = _turn_contacts.__wrapped__(*hand)
    pins = Pins(corner, levels, seed).feed(moved.end_s, contacts)
    return _finish(chain, seed, corner, speed, moved, levels, contacts, pins)


def turn_along(chain: Chain, moved: Motion, seed: int) -> Run:
    """Send a motion through a chain; see `run`."""
    front = Front(chain.encoder, chain.contact, seed, float(moved.detents[0]))
    contacts = front.feed(moved.end_s, moved.at_s, moved.detents)
    corner = make_nominal(chain.filter)
    pins = Pins(corner, front.levels, seed).feed(moved.end_s, contacts)
    return _finish(chain, seed, corner, chain.turning.turns_per_s, moved, front.levels, contacts, pins)


_FEW_DETENTS = 300
"""What motions of at most so many detents make of contacts and pins is kept, for the sake of memory. [detents]"""


@lru_cache(maxsize=1024)
def _turn_contacts(
    turning: Turning, encoder: Encoder, contact: Contact, seed: int, turns_per_s: float
) -> tuple[Motion, tuple[int, int], Edges]:
    """Turn a knob up to its contacts; chains that differ only behind them share it."""
    moved = _turn(turning, turns_per_s * encoder.detents_per_turn, seed)
    front = Front(encoder, contact, seed, float(moved.detents[0]))
    return moved, front.levels, front.feed(moved.end_s, moved.at_s, moved.detents)


@lru_cache(maxsize=2048)
def _filter_phase(
    phase: int, parts: Filter, turning: Turning, encoder: Encoder, contact: Contact, seed: int, turns_per_s: float
) -> Floats:
    """Turn a knob up to one of its pins, 0 for phase A and 1 for B.

    Chains that differ only in their firmware share it, and so do corners that differ only in the other phase.
    """
    moved, levels, contacts = _turn_contacts(turning, encoder, contact, seed, turns_per_s)
    return make_pin(parts, levels[phase], seed, NOISES[phase]).feed(contacts[phase], moved.end_s)


def _finish(
    chain: Chain,
    seed: int,
    corner: Corner,
    turns_per_s: float,
    moved: Motion,
    levels: tuple[int, int],
    contacts: Edges,
    pins: Edges,
) -> Run:
    _refuse_too_many_samples(chain, moved)
    (first_a, first_b), (a_s, b_s) = levels, pins
    counting = Firmware(chain, first_a << 1 | first_b, seed).feed(a_s, b_s, moved.end_s)
    return Run(
        chain,
        seed,
        corner,
        turns_per_s,
        moved,
        (Signal(first_a, contacts[0]), Signal(first_b, contacts[1])),
        (Signal(first_a, a_s), Signal(first_b, b_s)),
        counting,
    )


def _refuse_too_many_samples(chain: Chain, moved: Motion) -> None:
    """Refuse a run in which too many samples follow the edges."""
    look = chain.reader
    if look.kind == "interrupt" or look.debounce not in ("integrator", "equal"):
        return
    bursts = [burst.bounces for burst in (chain.contact.on_make, chain.contact.on_break) if burst is not None]
    edges = 4 * float(np.abs(np.diff(moved.detents)).sum()) / chain.encoder.detents_per_period
    samples = min(edges * (1 + 2 * max(bursts, default=0.0)) * (look.samples + 1), moved.end_s * 1000 / look.period_ms)
    if samples > MOST_SAMPLES:
        raise BenchError(
            [
                Problem(
                    "reader.period_ms",
                    f"{look.period_ms:g} ms over {format_number(moved.end_s)} s, {samples:.0f} samples to keep",
                    f"at most {MOST_SAMPLES} samples",
                    "turn fewer detents, or faster, or sample less often",
                )
            ]
        )


def count(done: Run) -> Count:
    """Compare a run with the truth, stroke by stroke, so that an extra detent here does not hide a lost one there."""
    lost = extra = against = 0
    strokes, counted = len(done.motion.strokes), done.counting.counted
    ups = np.bincount(done.stroke_numbers, np.maximum(counted, 0), strokes).astype(int)
    downs = np.bincount(done.stroke_numbers, np.maximum(-counted, 0), strokes).astype(int)
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
        counted=int(np.abs(counted).sum()),
        lost=lost,
        extra=extra,
        reversed=against,
        net=int(counted.sum()),
    )


@lru_cache(maxsize=8192)
def count_run(chain: Chain, seed: int, turns_per_s: float, corner: Corner) -> Count:
    """Run a chain and compare with the truth; see `run` and `count`.

    A verdict and its plan ask for many runs more than once (two remedies in either order, a walk of what was judged
    before), so counts are kept; they are small, the runs are not.
    """
    return count(run(chain, seed, turns_per_s, corner))
