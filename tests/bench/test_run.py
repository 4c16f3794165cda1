"""One chain, one seed: what comes out, and how it is compared with the truth."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

from knobmenu.bench.chain import Chain, MotionKind, Turning, change
from knobmenu.bench.contact import PRESETS, Contact
from knobmenu.bench.corners import Corner, list_worst_corners, make_nominal
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.engine import Front, Pins
from knobmenu.bench.errors import BenchError
from knobmenu.bench.filter import Filter
from knobmenu.bench.firmware import Counting, Firmware
from knobmenu.bench.motion import Motion
from knobmenu.bench.reader import Reader
from knobmenu.bench.run import MOST_SAMPLES, Count, Run, count, count_run, run, turn
from knobmenu.bench.signal import Signal

STROKES = ((0.25, 1.0, 3), (1.0, 2.0, -2), (2.0, 3.0, 0))
QUIET = Signal(0, np.zeros(0))


def counted(*told: tuple[float, int]) -> Count:
    """Compare what was told with three strokes: three clockwise, two back, and one that rocks the knob."""
    motion = Motion(np.array([0.0, 3.0]), np.zeros(2), STROKES)
    at_s, detents = np.array([at for at, _ in told]), np.array([number for _, number in told], dtype=np.int64)
    none = np.zeros(0)
    counting = Counting(none, none.astype(np.uint8), at_s, detents)
    return count(Run(Chain(), 1, make_nominal(Filter()), 1.0, motion, (QUIET, QUIET), (QUIET, QUIET), counting))


def test_a_count_that_is_right_has_no_errors() -> None:
    found = counted((0.5, 1), (0.6, 1), (0.7, 1), (1.5, -1), (1.6, -1))

    assert found == Count(true=5, counted=5, lost=0, extra=0, reversed=0, net=1)
    assert found.errors == 0


def test_an_extra_detent_in_one_stroke_does_not_hide_a_lost_one_in_another() -> None:
    found = counted((0.4, 1), (0.5, 1), (0.6, 1), (0.7, 1), (1.5, -1))

    assert found == Count(true=5, counted=5, lost=1, extra=1, reversed=0, net=3)


def test_what_is_counted_against_the_hand_is_reversed_and_its_own_detent_is_lost() -> None:
    found = counted((0.4, 1), (0.5, 1), (0.6, -1), (1.5, -1), (1.6, -1))

    assert found == Count(true=5, counted=5, lost=1, extra=0, reversed=1, net=-1)


def test_whatever_is_counted_while_a_knob_is_rocked_is_extra() -> None:
    found = counted((0.4, 1), (0.5, 1), (0.6, 1), (1.5, -2), (2.1, 1), (2.2, -1))

    assert found == Count(true=5, counted=7, lost=0, extra=2, reversed=0, net=1)


def test_what_is_counted_before_the_first_stroke_belongs_to_it() -> None:
    assert counted((0.0, 1), (0.5, 2), (1.5, -2)).errors == 0


def test_nothing_counted_is_everything_lost() -> None:
    assert counted() == Count(true=5, counted=0, lost=5, extra=0, reversed=0, net=0)


@pytest.mark.parametrize(
    ("kind", "true"), [("steady", 40), ("flicks", 40), ("reversals", 40), ("dither", 0), ("recorded", 4)]
)
def test_the_built_in_chain_counts_every_kind_of_motion_right_at_a_turn_in_two_seconds(
    kind: MotionKind, true: int
) -> None:
    turning = Turning(
        kind=kind, detents=40, turns_per_s=0.5, recorded_ms=(0.0, 500.0, 900.0), recorded_detents=(0.0, 3.0, 2.0)
    )
    found = count(run(Chain(turning=turning), 1))

    assert (found.true, found.errors) == (true, 0)


def test_a_counter_clockwise_turn_is_counted_down() -> None:
    found = count(run(Chain(turning=Turning(detents=-40, turns_per_s=0.5)), 1))

    assert (found.net, found.errors) == (-40, 0)


def test_the_wanted_speed_is_the_chains_own_or_the_one_that_is_said() -> None:
    chain = Chain(turning=Turning(kind="steady", detents=20, turns_per_s=2.0))
    own, said = turn(chain, 2.0, 1), turn(chain, 0.5, 1)

    assert own.end_s - 0.5 == pytest.approx(0.5)
    assert said.end_s - 0.5 == pytest.approx(2.0)
    assert run(chain, 1).motion.end_s == own.end_s
    assert run(chain, 1, 0.5).motion.end_s == said.end_s


def test_the_same_seed_is_the_same_run_and_another_one_is_not() -> None:
    one, same, other = (run(Chain(), seed) for seed in (3, 3, 4))

    assert one.contacts[0].changes_s.tolist() == same.contacts[0].changes_s.tolist()
    assert one.counting.counted_s.tolist() == same.counting.counted_s.tolist()
    assert one.contacts[0].changes_s.tolist() != other.contacts[0].changes_s.tolist()


def test_a_run_keeps_every_stage() -> None:
    done = run(Chain(contact=PRESETS["encoder-3ms"]), 1)

    assert len(done.contacts[0].changes_s) > 200
    assert done.pins[0].changes_s.tolist() == done.contacts[0].changes_s.tolist()
    assert len(done.counting.samples_s) == len(done.counting.codes)
    assert len(done.counting.counted_s) == len(done.counting.counted) == 100


def test_a_long_even_loop_needs_no_memory_and_is_not_refused() -> None:
    """A billion looks, of which only those that follow an edge are kept."""
    chain = Chain(
        turning=Turning(kind="steady", detents=4, turns_per_s=0.0002), contact=Contact(), reader=Reader(period_ms=0.001)
    )
    done = run(chain, 1)

    assert done.motion.end_s / 1e-6 > 20 * MOST_SAMPLES
    assert count(done).errors == 0


@pytest.mark.parametrize(
    "reader",
    [
        Reader(period_ms=0.001, jitter_ms=0.001),
        Reader(period_ms=0.001, blocked_every_ms=5.0, blocked_for_ms=1.0),
    ],
    ids=["jitter", "blocked"],
)
def test_neither_does_an_uneven_one(reader: Reader) -> None:
    """Each sample's moment is known without those before it."""
    chain = Chain(turning=Turning(kind="steady", detents=4, turns_per_s=0.001), contact=PRESETS["clean"], reader=reader)

    assert count(run(chain, 1)).errors == 0


def test_looks_after_each_edge_are_counted_too() -> None:
    chain = Chain(
        turning=Turning(kind="steady", detents=20_000),
        reader=Reader(period_ms=0.001, debounce="equal", samples=1000),
        contact=Contact(),
    )

    with pytest.raises(BenchError, match="samples to keep"):
        run(chain, 1)


def test_a_half_period_and_a_quarter_period_encoder_are_counted_too() -> None:
    for detents_per_period in (2, 4):
        part = Encoder(pulses_per_turn=12, detents_per_period=detents_per_period)
        found = count(run(attrs.evolve(Chain(), encoder=part, contact=Contact()), 1, 0.3))
        assert (found.true, found.errors) == (100, 0)


KEPT = Chain(turning=Turning(detents=20), contact=PRESETS["encoder-3ms"])
CHANGES: tuple[dict[str, float | str], ...] = (
    {},
    {"decoder.kind": "one-edge"},
    {"reader.kind": "interrupt"},
    {"reader.debounce": "lockout"},
    {"encoder.pulses_per_turn": 12},
    {"contact.preset": "encoder-10ms"},
    {"turning.kind": "reversals"},
    {"filter.noise_v": 0.02},
    {"filter.input": "schmitt"},
)
"""Each changes another part of the chain that a kept count must tell apart."""


def count_from_nothing(chain: Chain, seed: int, turns_per_s: float, corner: Corner) -> Count:
    """Count a run stage by stage; nothing that was kept takes part."""
    moved = turn(chain, turns_per_s, seed)
    front = Front(chain.encoder, chain.contact, seed, float(moved.detents[0]))
    contacts = front.feed(moved.end_s, moved.at_s, moved.detents)
    a_s, b_s = Pins(corner, front.levels, seed).feed(moved.end_s, contacts)
    counting = Firmware(chain, front.levels[0] << 1 | front.levels[1], seed).feed(a_s, b_s, moved.end_s)
    return count(Run(chain, seed, corner, turns_per_s, moved, (QUIET, QUIET), (QUIET, QUIET), counting))


def test_a_count_that_is_kept_is_that_of_a_run_of_its_own() -> None:
    """Of chains that differ in one part each, at every corner, whichever of them came first."""
    filtered = change(KEPT, {"filter.series_ohm": 10_000.0, "filter.capacitor_f": 100e-9})
    asked = [
        (chain, seed, speed, corner)
        for chain in (change(filtered, changes) for changes in CHANGES)
        for corner in (make_nominal(chain.filter), *list_worst_corners(chain.filter, chain.tolerance))
        for seed in (1, 2)
        for speed in (0.5, 3.0)
    ]
    expected = [count_from_nothing(*each) for each in asked]

    assert [count_run(*each) for each in asked] == expected
    assert [count_run(*each) for each in reversed(asked)] == expected[::-1]
    assert len(set(expected)) > len(CHANGES)
