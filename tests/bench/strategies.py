"""Generated parts of a chain: legal motions, encoders, contacts, filters and readers."""

from __future__ import annotations

from typing import Any, Literal

import attrs
import numpy as np
from hypothesis import strategies as st

from knobmenu.bench import filter, motion
from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import Burst, Contact
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.filter import Filter
from knobmenu.bench.motion import Motion
from knobmenu.bench.reader import Reader
from knobmenu.bench.run import Run, turn_along
from knobmenu.bench.signal import Signal, merge_moments
from tests.bench import stages

seeds = st.integers(0, 2**32 - 1)


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@st.composite
def encoders(draw: st.DrawFn) -> Encoder:
    """Parts that rest where their code says: each edge stays on its side of the rests, and of the other phase."""
    tolerance = draw(numbers(0, 20))
    return Encoder(
        pulses_per_turn=draw(st.integers(1, 30)),
        detents_per_period=draw(st.sampled_from((1, 2, 4))),
        phase_error_deg=draw(numbers(-1, 1)) * min(44 - tolerance, 88 - 2 * tolerance),
        dwell_tolerance_deg=tolerance,
    )


@st.composite
def motions(draw: st.DrawFn) -> Motion:
    """Motions that begin and end at rest on a detent."""
    generator = np.random.default_rng(draw(seeds))
    detents = draw(st.integers(1, 12)) * draw(st.sampled_from((1, -1)))
    per_s = draw(numbers(1, 50))
    kind = draw(st.sampled_from(("steady", "flicks", "reversals", "dither", "recorded")))
    if kind == "steady":
        return motion.make_steady(detents, per_s)
    if kind == "flicks":
        return motion.make_flicks(detents, per_s, generator)
    if kind == "reversals":
        return motion.make_reversals(detents, per_s, generator)
    if kind == "dither":
        return motion.make_dither(abs(detents), per_s, generator)
    angles = draw(st.lists(numbers(-6, 6), min_size=1, max_size=8))
    at_s = np.cumsum([0.0, *draw(st.lists(numbers(0.01, 1), min_size=len(angles) + 1, max_size=len(angles) + 1))])
    return motion.make_recorded(at_s, np.array([0.0, *angles, float(draw(st.integers(-6, 6)))]))


bursts: st.SearchStrategy[Burst] = st.builds(
    lambda longest_ms, part, bounces, no_bounce_fraction: Burst(
        mean_ms=longest_ms * part, longest_ms=longest_ms, bounces=bounces, no_bounce_fraction=no_bounce_fraction
    ),
    numbers(0.01, 30),
    numbers(0.05, 1),
    numbers(1, 10),
    numbers(0, 1),
)
contacts: st.SearchStrategy[Contact] = st.builds(Contact, on_make=st.none() | bursts, on_break=st.none() | bursts)


@st.composite
def filters(draw: st.DrawFn) -> Filter:
    """Filters without noise whose thresholds lie between closed contact and supply; with or without a capacitor."""
    supply_v = draw(numbers(1, 12))
    pull_up_ohm, contact_ohm = draw(numbers(1e3, 1e5)), draw(numbers(0.01, 50))
    low, high = sorted((draw(numbers(0.1, 0.9)), draw(numbers(0.1, 0.9))))
    return Filter(
        supply_v=supply_v,
        pull_up_ohm=pull_up_ohm,
        series_ohm=draw(st.just(0.0) | numbers(10, 1e5)),
        capacitor_f=draw(st.just(0.0) | numbers(1e-10, 1e-6)),
        contact_ohm=contact_ohm,
        rising_v=supply_v * high,
        falling_v=supply_v * low,
        noise_v=0.0,
    )


@st.composite
def readers(draw: st.DrawFn, *, debounce: tuple[Literal["none", "lockout", "integrator", "equal"], ...]) -> Reader:
    """Readers of both phases, with everything that puts a look off."""
    kind: Any = draw(st.sampled_from(("polled", "timer", "interrupt")))
    period_ms = draw(numbers(0.05, 20))
    blocked_for_ms, masked_for_ms = (draw(st.just(0.0) | numbers(0.01, 50)) for _ in range(2))
    chosen = draw(st.sampled_from(debounce))
    return Reader(
        kind=kind,
        period_ms=period_ms,
        jitter_ms=draw(st.just(0.0) | numbers(0, 1)) * period_ms,
        latency_ms=draw(numbers(0, 1)),
        service_ms=draw(numbers(0, 1)),
        blocked_for_ms=blocked_for_ms,
        blocked_every_ms=blocked_for_ms and blocked_for_ms * draw(numbers(1.01, 10)),
        masked_for_ms=masked_for_ms,
        masked_every_ms=masked_for_ms and masked_for_ms * draw(numbers(1.01, 10)),
        debounce="none" if kind == "interrupt" and chosen in ("integrator", "equal") else chosen,
        lockout_ms=draw(numbers(0.1, 20)),
        samples=draw(st.integers(1, 6)),
    )


@st.composite
def chains(
    draw: st.DrawFn, debounce: tuple[Literal["none", "lockout", "integrator", "equal"], ...] = ("none",)
) -> Chain:
    """Whole chains that end in the transition table."""
    return Chain(
        encoder=draw(encoders()),
        contact=draw(contacts),
        filter=draw(filters()),
        reader=draw(readers(debounce=debounce)),
        decoder="table",
    )


def settling_s(chain: Chain) -> float:
    """Return how long after an edge of an ideal contact the firmware surely knows of it. [s]

    The longest burst, then the slower way through the filter, then the longest time until a sample.
    """
    bursts_ms = [burst.longest_ms for burst in (chain.contact.on_make, chain.contact.on_break) if burst is not None]
    delays_s = (filter.compute_opening_delay_s(chain.filter), filter.compute_closing_delay_s(chain.filter))
    look = chain.reader
    samples_ms = look.latency_ms + look.service_ms if look.kind == "interrupt" else look.period_ms + look.jitter_ms
    return max(bursts_ms, default=0.0) / 1000 + max(delays_s) + (samples_ms + look.held_up[0]) / 1000


def scaled(moved: Motion, factor: float) -> Motion:
    """Do the same motion slower by a factor."""
    return Motion(
        moved.at_s * factor,
        moved.detents,
        tuple((begin * factor, end * factor, true) for begin, end, true in moved.strokes),
    )


def send(chain: Chain, moved: Motion, seed: int) -> Run:
    """Send a motion of one's own through a chain."""
    return turn_along(chain, moved, seed)


def shortest_gap_s(chain: Chain, moved: Motion, seed: int) -> float:
    """Return the shortest time between two edges of the ideal contacts, of either phase; infinity without edges. [s]"""
    phases = stages.contacts(chain.encoder, moved, seed)
    gaps_s = np.diff(merge_moments(*phases))
    return float(gaps_s.min()) if len(gaps_s) else float("inf")


def slow_enough(chain: Chain, moved: Motion, seed: int, margin: float) -> Motion | None:
    """Do a motion so slowly that each edge is known before the next one comes; nothing where that takes too long.

    Args:
        chain: the chain.
        moved: the motion; its rests are slowed too.
        seed: the one that `send` will be given.
        margin: how many times slower than just enough, above 1. [unitless]
    """
    needed_s = max(settling_s(chain), 1e-6) * margin
    factor = max(needed_s / shortest_gap_s(chain, moved, seed), needed_s / (motion.SETTLING_S * 0.9))
    slower = scaled(moved, factor)
    return slower if slower.end_s * 1000 < 200_000 * chain.reader.period_ms else None


def clean(chain: Chain) -> Chain:
    """Return the chain with contacts that do not bounce, without a filter, and looked at at every edge."""
    reader = Reader(kind="interrupt", latency_ms=0.0, service_ms=0.0)
    return attrs.evolve(chain, contact=Contact(), filter=Filter(), reader=reader)


@st.composite
def trains(draw: st.DrawFn, longest_s: float, apart_s: float) -> tuple[Signal, int]:
    """A contact at rest and then bursts, each of up to a length and the next one long after it.

    Returns:
        The contact, and how many edges it would have without bounce.
    """
    number = draw(st.integers(1, 4))
    edges: list[float] = []
    for nth in range(number):
        begin_s = (nth + 1) * apart_s
        bounces = draw(st.integers(0, 5))
        shares = draw(st.lists(numbers(0, 1), min_size=2 * bounces, max_size=2 * bounces))
        edges += [begin_s, *sorted(begin_s + share * longest_s for share in shares)]
    return Signal(draw(st.integers(0, 1)), np.array(edges)), number
