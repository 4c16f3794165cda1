"""What is counted of the codes that are read: what people write first, and the project's own table, unchanged."""

from __future__ import annotations

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.decoder import DecoderKind
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.reader import Reader
from knobmenu.bench.run import count, run
from knobmenu.design.hardware import Knob
from knobmenu.knob import quadrature
from tests.bench.stages import decode

CLOCKWISE = (0, 2, 3, 1)
KINDS: tuple[DecoderKind, ...] = ("one-edge", "two-edges", "table")

codes = st.lists(st.integers(0, 3), max_size=60)


def told(kind: DecoderKind, read: list[int], detents_per_period: int = 1) -> list[tuple[int, int]]:
    """Return where in the reading something was counted, and what; the first code is the one at power-on."""
    seen = np.array(read[1:], dtype=np.uint8)
    part = Encoder(detents_per_period=detents_per_period)
    at_s, detents = decode(kind, part, read[0], np.arange(1.0, len(read)), seen)
    return list(zip(at_s.astype(int).tolist(), detents.tolist(), strict=True))


def total(kind: DecoderKind, read: list[int], detents_per_period: int = 1) -> int:
    return sum(detents for _, detents in told(kind, read, detents_per_period))


@pytest.mark.parametrize(
    ("kind", "detents_per_period", "counts"),
    [("one-edge", 1, 1), ("two-edges", 1, 2), ("table", 1, 1), ("table", 2, 2), ("table", 4, 4)],
)
def test_a_period_is_counted_as_often_as_the_decoding_is_named_for(
    kind: DecoderKind, detents_per_period: int, counts: int
) -> None:
    """X1, X2 and X4 decoding: National Instruments, cDAQ-9172 user guide, page 55, read at
    http://www.manualshelf.com/manual/national-instruments/ni-cdaq-9172/user-guide-english/page-55.html . The one-edge
    decoder here is what beginners write: it counts the closing edge of A in both directions, where X1 counts the
    opening one counter-clockwise.
    """
    period = [*CLOCKWISE, 0]

    assert total(kind, period, detents_per_period) == counts
    assert total(kind, period[::-1], detents_per_period) == -counts


def test_one_edge_counts_where_a_closes_and_asks_b() -> None:
    assert told("one-edge", [0, 2, 3, 1, 0]) == [(1, 1)]
    assert told("one-edge", [0, 1, 3, 2, 0]) == [(2, -1)]


def test_two_edges_count_wherever_a_changes() -> None:
    assert told("two-edges", [0, 2, 3, 1, 0]) == [(1, 1), (3, 1)]
    assert told("two-edges", [0, 1, 3, 2, 0]) == [(2, -1), (4, -1)]


def test_a_bounce_of_phase_a_is_counted_each_time_by_one_edge_and_not_at_all_by_the_table() -> None:
    """The clicks that beginners see: each touch of a bounce is one more."""
    bouncing = [0, 2, 0, 2, 0, 2, 3, 1, 0]

    assert total("one-edge", bouncing) == 3
    assert total("table", bouncing) == 1


def test_a_bounce_where_a_opens_is_counted_backwards_by_one_edge() -> None:
    """B is closed by then, so the touches look like the other direction."""
    assert told("one-edge", [0, 2, 3, 1, 3, 1, 3, 1, 0]) == [(1, 1), (4, -1), (6, -1)]


@given(codes, st.integers(0, 3), st.sampled_from((1, 2, 4)))
def test_the_table_is_the_one_that_ships_step_by_step(read: list[int], first: int, detents_per_period: int) -> None:
    knob = Knob(pulses_per_turn=20, detents_per_period=detents_per_period, detents_per_turn=20 * detents_per_period)
    state = quadrature.start(knob, first >> 1, first & 1)
    expected = []
    for nth, code in enumerate(read, 1):
        state, detents = quadrature.read(knob, state, code >> 1, code & 1)
        if detents:
            expected.append((nth, detents))

    assert told("table", [first, *read], detents_per_period) == expected


@given(codes, st.integers(0, 3), st.sampled_from(KINDS))
def test_a_code_that_is_read_twice_changes_nothing(read: list[int], first: int, kind: DecoderKind) -> None:
    once = [first, *read]
    twice = [code for code in once for _ in range(2)]

    assert [detents for _, detents in told(kind, twice)] == [detents for _, detents in told(kind, once)]


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_read_is_nothing_counted(kind: DecoderKind) -> None:
    assert told(kind, [0]) == []


def test_the_table_that_ignores_a_double_change_is_right_until_a_quarter_period_is_missed() -> None:
    """A 24-pulse knob, sampled every 5 ms: an even turn has a quarter period of 5 ms at 2.08 turns/s (calculated).

    The table that follows the last direction needs only every second quarter: 4.17 turns/s.
    """
    base = Chain(
        turning=Turning(kind="steady", detents=240),
        encoder=Encoder(pulses_per_turn=24),
        contact=PRESETS["clean"],
        reader=Reader(kind="timer", period_ms=5.0),
    )
    limits: dict[DecoderKind, float] = {"table-ignore": 1000 / (4 * 24 * 5.0), "table": 2 * 1000 / (4 * 24 * 5.0)}
    for kind, limit in limits.items():
        chain = attrs.evolve(base, decoder=kind)
        assert count(run(chain, 1, limit * 0.99)).errors == 0
        assert count(run(chain, 1, limit * 1.05)).errors > 0


def test_the_table_that_ignores_a_double_change_undoes_a_bounce_too() -> None:
    assert total("table-ignore", [0, 2, 0, 2, 3, 2, 3, 1, 0]) == 1
    assert total("table-ignore", [0, 2, 3, 2, 0]) == 0
