"""The knob's angle becomes two contacts: edges where the part has them, and when the data sheets' arithmetic says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given

from knobmenu.bench import motion
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import Floats, Signal, get_codes, merge_moments
from tests.bench.stages import contacts
from tests.bench.strategies import encoders, motions, seeds


def turned(part: Encoder, moved: Motion, seed: int = 1) -> tuple[Signal, Signal]:
    return contacts(part, moved, seed)


def read(part: Encoder, moved: Motion) -> list[int]:
    """Return the codes, from power-on and after each edge."""
    a, b = turned(part, moved)
    return [a.first << 1 | b.first, *get_codes(a, b, merge_moments(a, b)).tolist()]


def edges_deg(signal: Signal, detents_per_s: float, detents_per_period: int) -> Floats:
    """Return where a steady turn had its edges, in electrical degrees from its beginning. [deg]"""
    return (signal.changes_s - motion.SETTLING_S) * detents_per_s / detents_per_period * 360


@pytest.mark.parametrize(
    ("rpm", "pulses_per_turn", "quarter_ms"),
    [(60, 24, 10.417), (15, 24, 41.667), (60, 20, 12.5), (60, 15, 16.667), (60, 30, 8.333)],
)
def test_edges_follow_each_other_as_fast_as_the_data_sheets_figures_make_them(
    rpm: int, pulses_per_turn: int, quarter_ms: float
) -> None:
    """60000 / (rpm * pulses * 4) ms, calculated at speeds that data sheets state.

    60 rpm is the most of https://dtsheet.com/model/2985517 and https://xonelec.com/mpn/teconnectivity/dpl12v2424a20fg,
    and 15 rpm is where the first of them states its bounce.
    """
    part = Encoder(pulses_per_turn=pulses_per_turn)
    a, b = turned(part, motion.make_steady(10, rpm / 60 * part.detents_per_turn))

    assert np.diff(merge_moments(a, b)) * 1000 == pytest.approx(quarter_ms, abs=1e-3)


@pytest.mark.parametrize(
    ("detents_per_turn", "pulses_per_turn", "detents_per_period"),
    [
        # Order tables of 11 mm encoders: 24 detents and 12 pulses, 24 and 24 (issus/altium-library, PEC11R data sheet);
        # 30 and 15, 18 and 9 (https://fdocuments.in/document/11mm-size-metal-shaft-type-rs-components-docs-shaft-
        # insulated-shaft-hollow-shaft.html).
        (24, 12, 2),
        (24, 24, 1),
        (30, 15, 2),
        (18, 9, 2),
    ],
)
def test_a_turn_of_a_published_part_has_its_detents_and_its_pulses(
    detents_per_turn: int, pulses_per_turn: int, detents_per_period: int
) -> None:
    part = Encoder(pulses_per_turn=pulses_per_turn, detents_per_period=detents_per_period)
    a, b = turned(part, motion.make_steady(part.detents_per_turn, 20.0))

    assert part.detents_per_turn == detents_per_turn
    assert len(a.changes_s) == len(b.changes_s) == 2 * pulses_per_turn


def test_clockwise_phase_a_leads_and_counter_clockwise_phase_b() -> None:
    """The codes, A << 1 | B, of one period: 00 10 11 01 00, and back.

    The description of the Linux driver for rotary encoders has them in this order:
    https://docs.kernel.org/input/devices/rotary-encoder.html
    """
    assert read(Encoder(), motion.make_steady(1, 5.0)) == [0, 2, 3, 1, 0]
    assert read(Encoder(), motion.make_steady(-1, 5.0)) == [0, 1, 3, 2, 0]


@pytest.mark.parametrize(("detents_per_period", "rests"), [(1, [0]), (2, [0, 3]), (4, [0, 2, 3, 1])])
def test_the_knob_rests_where_its_form_has_its_detents(detents_per_period: int, rests: list[int]) -> None:
    part = Encoder(detents_per_period=detents_per_period)
    for detents in range(1, 9):
        assert read(part, motion.make_steady(detents, 5.0))[-1] == rests[detents % len(rests)]


def test_an_even_part_has_its_edges_every_quarter_of_a_period() -> None:
    a, b = turned(Encoder(), motion.make_steady(3, 5.0))

    assert edges_deg(a, 5.0, 1) == pytest.approx([45, 225, 405, 585, 765, 945])
    assert edges_deg(b, 5.0, 1) == pytest.approx([135, 315, 495, 675, 855, 1035])


@pytest.mark.parametrize("error_deg", [-40.0, 15.0, 40.0])
def test_a_phase_error_moves_every_edge_of_phase_b_and_none_of_a(error_deg: float) -> None:
    a, b = turned(Encoder(phase_error_deg=error_deg), motion.make_steady(3, 5.0))

    assert edges_deg(a, 5.0, 1) == pytest.approx([45, 225, 405, 585, 765, 945])
    assert edges_deg(b, 5.0, 1) - error_deg == pytest.approx([135, 315, 495, 675, 855, 1035])


def test_a_dwell_tolerance_scatters_the_edges_within_it_the_same_way_in_every_turn() -> None:
    part = Encoder(pulses_per_turn=12, dwell_tolerance_deg=10.0)
    a, _ = turned(part, motion.make_steady(36, 5.0))
    off_deg = edges_deg(a, 5.0, 1) - (45 + 180 * np.arange(72))

    assert np.abs(off_deg).max() <= 10
    assert np.ptp(off_deg) > 10
    assert off_deg[:24] == pytest.approx(off_deg[24:48], abs=1e-6)
    assert off_deg[:24] == pytest.approx(off_deg[48:], abs=1e-6)


def test_another_seed_is_another_part() -> None:
    part = Encoder(dwell_tolerance_deg=10.0)

    assert list(turned(part, motion.make_steady(3, 5.0), 1)[0].changes_s) != list(
        turned(part, motion.make_steady(3, 5.0), 2)[0].changes_s
    )


@given(encoders(), motions(), seeds)
def test_the_phases_change_one_at_a_time_and_end_where_the_angle_is(part: Encoder, moved: Motion, seed: int) -> None:
    a, b = turned(part, moved, seed)
    here = [0, 2, 3, 1].index(a.first << 1 | b.first)
    place = here
    every = sorted([(at, 2) for at in a.changes_s.tolist()] + [(at, 1) for at in b.changes_s.tolist()])
    code = a.first << 1 | b.first
    for _, phase in every:
        code ^= phase
        step = [0, 2, 3, 1].index(code) - place % 4
        place += 1 if step in (1, -3) else -1

    assert here == 0
    assert all(moved.at_s[0] <= at <= moved.end_s for at, _ in every)
    detents = round(float(moved.detents[-1] - moved.detents[0]))
    assert place * part.detents_per_period == detents * 4


def test_a_knob_that_does_not_move_has_no_edges() -> None:
    still = motion.make_recorded(np.array([0.0, 1.0]), np.array([2.0, 2.0]))
    a, b = turned(Encoder(), still)

    assert len(a.changes_s) == len(b.changes_s) == 0
    assert (a.first, b.first) == (0, 0)
