"""What is so of every chain that ends in the transition table, each with exactly the condition under which it is so."""

from __future__ import annotations

import attrs
import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st

from knobmenu.bench import motion
from knobmenu.bench.chain import Chain
from knobmenu.bench.contact import Burst, Contact
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.motion import Motion
from knobmenu.bench.reader import Reader
from knobmenu.bench.run import count
from knobmenu.bench.signal import Signal, get_codes, merge_moments
from tests.bench.stages import bouncing_phases, decode
from tests.bench.stages import contacts as contacts_of
from tests.bench.strategies import (
    chains,
    contacts,
    encoders,
    motions,
    numbers,
    seeds,
    send,
    settling_s,
    shortest_gap_s,
    slow_enough,
)


@given(chains(), motions(), seeds, numbers(1.001, 5))
def test_a_motion_whose_edges_are_each_known_before_the_next_is_counted_exactly(
    chain: Chain, moved: Motion, seed: int, margin: float
) -> None:
    """However the contacts bounce meanwhile: one phase chatters at a time, and the table steps to and fro with it."""
    slow = slow_enough(chain, moved, seed, margin)
    assume(slow is not None and shortest_gap_s(chain, moved, seed) > 0)
    assert slow is not None

    done = send(chain, slow, seed)

    assert shortest_gap_s(chain, slow, seed) > settling_s(chain)
    assert count(done).net == round(float(slow.detents[-1] - slow.detents[0]))


@given(chains(), motions(), seeds, numbers(1.001, 5))
def test_and_stroke_by_stroke_too_where_each_stroke_ends_on_a_detent(
    chain: Chain, moved: Motion, seed: int, margin: float
) -> None:
    """Of one or two detents a period; of four only where nothing chatters at the pins and the knob is not rocked.

    A stroke that turns back between two detents has no true number of its own; only where it all ends does. And what a
    stroke counts must be known before the next one begins.
    """
    corners = np.interp([end for _, end, _ in moved.strokes], moved.at_s, moved.detents)
    assume(np.all(corners == np.rint(corners)))
    slow = slow_enough(chain, moved, seed, margin)
    assume(slow is not None and shortest_gap_s(chain, moved, seed) > 0)
    assert slow is not None

    done = send(chain, slow, seed)
    ideal = contacts_of(chain.encoder, slow, seed)
    edges_s = np.concatenate(([0.0], merge_moments(*ideal)))
    ends_s = np.array([end for _, end, _ in slow.strokes])
    assume(np.all(ends_s - edges_s[np.searchsorted(edges_s, ends_s) - 1] > settling_s(chain)))
    if chain.encoder.detents_per_period == 4:
        assume([len(pin.changes_s) for pin in done.pins] == [len(phase.changes_s) for phase in ideal])
        assume(any(true for _, _, true in moved.strokes))
    found = count(done)

    assert found.errors == 0
    assert found.counted == found.true


def test_the_quarter_period_form_tells_each_bounce_forth_and_back() -> None:
    """Every code is a detent there, so it has nothing to tell a bounce by; its net count is right all the same."""
    chattering = Contact(on_make=Burst(mean_ms=1.0, longest_ms=1.0, bounces=3.0), on_break=None)
    at_every_edge = Reader(kind="interrupt", latency_ms=0.0, service_ms=0.0)
    one, four = (
        Chain(encoder=Encoder(detents_per_period=detents), contact=chattering, reader=at_every_edge)
        for detents in (1, 4)
    )

    full, quarter = (count(send(chain, motion.make_steady(40, 4.0), 1)) for chain in (one, four))

    assert (full.counted, full.net) == (40, 40)
    assert quarter.net == 40
    assert quarter.extra == quarter.reversed > 20


def walk(moves: list[int], quarters_per_detent: int) -> bytes:
    """Give the codes of a walk by quarters that is ended on a detent."""
    moves = [*moves, *[1] * (-sum(moves) % quarters_per_detent)]
    return bytes((0, 2, 3, 1)[place % 4] for place in np.cumsum([0, *moves]).tolist())


def total(part: Encoder, read: bytes) -> int:
    seen = np.frombuffer(read, dtype=np.uint8)
    return int(decode("table", part, int(seen[0]), np.arange(len(seen) - 1.0), seen[1:])[1].sum())


@given(st.sampled_from((1, 2, 4)), st.lists(st.sampled_from((1, -1)), max_size=60))
def test_codes_read_backwards_give_the_mirrored_count(detents_per_period: int, moves: list[int]) -> None:
    """Where every change is seen: between two rests on detents, with no double change."""
    part = Encoder(detents_per_period=detents_per_period)
    read = walk(moves, 4 // detents_per_period)

    assert total(part, read[::-1]) == -total(part, read)


def test_codes_with_a_double_change_need_not_mirror() -> None:
    """The table takes a double change for a movement on, and backwards another movement came before it."""
    part = Encoder()
    read = bytes((0, 2, 1, 0))

    assert (total(part, read), total(part, read[::-1])) == (1, -1)
    assert (total(part, bytes((0, 2, 1, 3, 2, 0))), total(part, bytes((0, 2, 3, 1, 2, 0)))) != (1, -1)


@given(encoders(), contacts, motions(), seeds)
def test_time_run_backwards_mirrors_the_count_bounce_and_all(
    part: Encoder, bouncing: Contact, moved: Motion, seed: int
) -> None:
    """Where every edge is seen, and no two edges come at the very same moment."""
    forward = bouncing_phases(bouncing, contacts_of(part, moved, seed), seed)
    backward = tuple(Signal(pin.last, (moved.end_s + 1 - pin.changes_s)[::-1]) for pin in forward)
    every = np.concatenate([pin.changes_s for pin in forward])
    assume(len(np.unique(every)) == len(every))

    def counted(a: Signal, b: Signal) -> int:
        at_s = merge_moments(a, b)
        return int(decode("table", part, a.first << 1 | b.first, at_s, get_codes(a, b, at_s))[1].sum())

    assert counted(*backward) == -counted(*forward)


@given(chains(debounce=("none", "lockout", "integrator", "equal")), motions(), seeds, numbers(0.01, 3))
def test_at_rest_a_decoded_position_differs_from_the_truth_by_whole_periods_only(
    chain: Chain, moved: Motion, seed: int, slower: float
) -> None:
    """However many edges are missed: once the code that the knob rests at is believed, only whole periods are gone."""
    rests_s = 1.0 + settling_s(chain) * 2 + chain.reader.samples * chain.reader.period_ms / 500
    moved = attrs.evolve(
        moved,
        at_s=np.append(moved.at_s * slower, moved.end_s * slower + rests_s),
        detents=np.append(moved.detents, moved.detents[-1]),
    )
    done = send(chain, moved, seed)
    ideal = contacts_of(chain.encoder, moved, seed)
    believed = int(done.counting.codes[-1]) if len(done.counting.codes) else ideal[0].first << 1 | ideal[1].first
    assume(believed == (ideal[0].last << 1 | ideal[1].last))

    truth = round(float(moved.detents[-1] - moved.detents[0]))
    assert (count(done).net - truth) % chain.encoder.detents_per_period == 0
