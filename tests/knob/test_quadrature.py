"""The decoder, against the Linux kernel's published description of its rotary-encoder driver.

D. Mack, *rotary-encoder - a generic driver for GPIO connected devices*, 2009,
https://docs.kernel.org/input/devices/rotary-encoder.html, and the quarter-period handler of
drivers/input/misc/rotary_encoder.c, which names the eight transitions that mean something.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import Knob
from knobmenu.errors import EventError
from knobmenu.knob import quadrature

FULL = Knob(detents_per_turn=24, pulses_per_turn=24, detents_per_period=1)
HALF = Knob(detents_per_turn=24, pulses_per_turn=12, detents_per_period=2)
QUARTER = Knob(detents_per_turn=24, pulses_per_turn=6, detents_per_period=4)
FORMS = (FULL, HALF, QUARTER)

CLOCKWISE_CODES = (0b00, 0b10, 0b11, 0b01)
KERNEL_CLOCKWISE = {0x31, 0x10, 0x02, 0x23}
"""Previous code in the high digit, code in the low one; as the kernel's quarter-period handler lists them."""
KERNEL_COUNTER_CLOCKWISE = {0x13, 0x01, 0x20, 0x32}


def told(knob: Knob, codes: list[int]) -> list[int]:
    """Detents told at each code after the first, which is the one at power-on."""
    state = quadrature.start(knob, codes[0] >> 1, codes[0] & 1)
    detents = []
    for code in codes[1:]:
        state, some = quadrature.read(knob, state, code >> 1, code & 1)
        detents.append(some)
    return detents


def codes_of(quarters: list[int], first: int = 0) -> list[int]:
    """The codes of a motion by single quarters, from the quarter `first`."""
    position = first
    codes = [CLOCKWISE_CODES[position % 4]]
    for quarter in quarters:
        position += quarter
        codes.append(CLOCKWISE_CODES[position % 4])
    return codes


def test_all_sixteen_transitions_are_those_of_the_kernel() -> None:
    for before in range(4):
        for after in range(4):
            (detents,) = told(QUARTER, [before, after])
            state = quadrature.start(QUARTER, before >> 1, before & 1)
            state, _ = quadrature.read(QUARTER, state, after >> 1, after & 1)
            transition = before << 4 | after
            if transition in KERNEL_CLOCKWISE:
                assert (detents, state.invalid) == (1, 0)
            elif transition in KERNEL_COUNTER_CLOCKWISE:
                assert (detents, state.invalid) == (-1, 0)
            elif before == after:
                assert (detents, state.invalid) == (0, 0)
            else:
                assert state.invalid == 1, "the kernel gives no direction to a double change"


@pytest.mark.parametrize(("knob", "detents"), [(FULL, 1), (HALF, 2), (QUARTER, 4)])
def test_a_clockwise_period_tells_one_two_or_four_detents(knob: Knob, detents: int) -> None:
    # The kernel's steps-per-period: 1 full, 2 half, 4 quarter.
    assert sum(told(knob, [0b00, 0b10, 0b11, 0b01, 0b00])) == detents
    assert sum(told(knob, [0b00, 0b01, 0b11, 0b10, 0b00])) == -detents


def test_events_come_at_the_kernels_places_in_the_period() -> None:
    # Event d, the falling edge of B with A low, is the parking position; event b, the rising edge of B, is half-way.
    assert told(FULL, [0b00, 0b10, 0b11, 0b01, 0b00]) == [0, 0, 0, 1]
    assert told(HALF, [0b00, 0b10, 0b11, 0b01, 0b00]) == [0, 1, 0, 1]
    assert told(QUARTER, [0b00, 0b10, 0b11, 0b01, 0b00]) == [1, 1, 1, 1]


def test_half_way_and_back_is_no_detent() -> None:
    half_way_and_back = [0b00, 0b10, 0b11, 0b10, 0b00]
    assert told(FULL, half_way_and_back) == [0, 0, 0, 0]
    assert told(HALF, half_way_and_back) == [0, 1, 0, -1]
    assert told(QUARTER, half_way_and_back) == [1, 1, -1, -1]


@pytest.mark.parametrize("knob", FORMS)
def test_clockwise_down_turns_every_sign(knob: Knob) -> None:
    down = attrs.evolve(knob, clockwise="down")
    codes = [0b00, 0b10, 0b11, 0b01, 0b00, 0b01, 0b10]
    assert told(down, codes) == [-detents for detents in told(knob, codes)]


def naive(knob: Knob, first: int, quarters: list[int]) -> int:
    """Rests passed by a motion, worked out from the position and not from the decoder's table."""
    apart = 4 // knob.detents_per_period
    rest = round(first / apart) * apart if first % apart else first
    position, detents = first, 0
    for quarter in quarters:
        position += quarter
        while position >= rest + apart:
            rest, detents = rest + apart, detents + 1
        while position <= rest - apart:
            rest, detents = rest - apart, detents - 1
    return detents


motions = st.lists(st.sampled_from((1, -1, 0)), max_size=200)


@given(st.sampled_from(FORMS), motions)
def test_any_legal_motion_is_counted_exactly(knob: Knob, quarters: list[int]) -> None:
    assert sum(told(knob, codes_of(quarters))) == naive(knob, 0, quarters)


@given(st.sampled_from(FORMS), motions)
def test_a_motion_run_backwards_from_rest_to_rest_mirrors_the_count(knob: Knob, quarters: list[int]) -> None:
    home = -sum(quarters)
    there = [*quarters, *[1 if home > 0 else -1] * (abs(home) % 4)]
    end = sum(there) % 4
    backwards = [-quarter for quarter in reversed(there)]
    assert end % (4 // knob.detents_per_period) == 0
    assert sum(told(knob, codes_of(backwards, first=end))) == -sum(told(knob, codes_of(there)))


@given(st.sampled_from(FORMS), st.lists(st.sampled_from((-2, -1, 0, 1, 2)), max_size=100))
def test_at_rest_a_decoded_position_differs_from_the_truth_by_whole_periods_only(
    knob: Knob, quarters: list[int]
) -> None:
    home = [1] * (-sum(quarters) % 4)
    decoded = sum(told(knob, codes_of(quarters + home)))
    true = sum(quarters + home) * knob.detents_per_period // 4
    assert (decoded - true) % knob.detents_per_period == 0


@given(st.sampled_from(FORMS), st.lists(st.integers(0, 3), max_size=200), st.integers(0, 200))
def test_many_readings_at_once_are_the_readings_one_by_one(knob: Knob, codes: list[int], cut: int) -> None:
    state = quadrature.start(knob, 0, 0)
    one_by_one, detents = state, []
    for code in codes:
        one_by_one, some = quadrature.read(knob, one_by_one, code >> 1, code & 1)
        detents.append(some)

    state, first = quadrature.decode(knob, state, bytes(codes[:cut]))
    state, rest = quadrature.decode(knob, state, bytes(codes[cut:]))

    assert (state, first + rest) == (one_by_one, detents)


@given(st.sampled_from(FORMS), st.lists(st.integers(0, 3), min_size=1, max_size=100))
def test_every_double_change_is_counted_as_invalid_and_nothing_else_is(knob: Knob, codes: list[int]) -> None:
    state = quadrature.start(knob, codes[0] >> 1, codes[0] & 1)
    state, _ = quadrature.decode(knob, state, bytes(codes))
    doubles = sum(before ^ after == 3 for before, after in itertools.pairwise(codes))
    assert state.invalid == doubles


def test_a_double_change_goes_on_in_the_direction_last_moved() -> None:
    assert sum(told(FULL, [0b00, 0b10, 0b11, 0b00])) == 1
    assert sum(told(FULL, [0b00, 0b01, 0b11, 0b00])) == -1


def test_the_count_of_invalid_transitions_stops_where_16_bits_end() -> None:
    state = quadrature.QuadratureState(0, quadrature.MOST_INVALID)
    assert quadrature.read(FULL, state, 1, 1)[0].invalid == 65_535
    assert quadrature.decode(FULL, state, b"\x03\x00\x03")[0].invalid == 65_535


class Followed(NamedTuple):
    """A position by quarters, as the decoder's description follows it."""

    code: int
    from_rest: int
    """Quarters from the last rest."""
    direction: int
    """The direction last moved; clockwise before any."""


def follow(knob: Knob, at: Followed, code: int) -> tuple[Followed, int, bool]:
    """Move to a code: where that is, the detents on the way, and whether a level in between was missed."""
    apart = 4 // knob.detents_per_period
    change = (CLOCKWISE_CODES.index(code) - CLOCKWISE_CODES.index(at.code)) % 4
    direction = {0: at.direction, 1: 1, 2: at.direction, 3: -1}[change]
    quarters = at.from_rest + direction * (change if change < 3 else 1)
    detents = abs(quarters) // apart * (1 if quarters > 0 else -1)
    return Followed(code, quarters - detents * apart, direction), detents, change == 2


def _rows(rests: tuple[int, ...], offsets: tuple[int, ...]) -> list[Followed]:
    """What each row of a table stands for, in order; a rest is given by its quarters from the code 00."""
    return [
        Followed(CLOCKWISE_CODES[(rest + offset) % 4], offset, direction)
        for rest in rests
        for offset in offsets
        for direction in (1, -1)
    ]


ROWS = {
    1: _rows((0,), (0, 1, -1, 2, -2, 3, -3)),
    2: _rows((0, 2), (0, 1, -1)),
    4: _rows((0, 1, 2, 3), (0,)),
}
"""By detents per period."""


@pytest.mark.parametrize("knob", FORMS)
def test_every_entry_of_a_table_is_what_following_the_position_gives(knob: Knob) -> None:
    rows = ROWS[knob.detents_per_period]
    assert len(quadrature.TABLES[knob.detents_per_period]) == 4 * len(rows)
    for row, at in enumerate(rows):
        for code in range(4):
            then, detents, invalid = follow(knob, at, code)
            state, sent = quadrature.read(knob, quadrature.QuadratureState(row), code >> 1, code & 1)
            assert (rows[state.row], sent, state.invalid) == (then, detents, invalid), f"row {row}, code {code:02b}"


@pytest.mark.parametrize("knob", FORMS)
def test_a_decoder_starts_clockwise_where_the_code_at_power_on_lies_from_the_rest_at_00(knob: Knob) -> None:
    rests = range(0, 4, 4 // knob.detents_per_period)
    for code in range(4):
        quarters = {0b00: 0, 0b10: 1, 0b11: 2, 0b01: 3 if 3 in rests else -1}[code]
        row = quadrature.start(knob, code >> 1, code & 1).row
        assert ROWS[knob.detents_per_period][row] == Followed(code, 0 if quarters in rests else quarters, 1)


@pytest.mark.parametrize("table", quadrature.TABLES.values())
def test_every_entry_leads_to_a_row_of_its_own_table(table: bytes) -> None:
    rows = len(table) // 4
    assert len(table) == rows * 4
    assert all(entry & 15 < rows and entry >> 4 & 7 <= 4 for entry in table)


def test_a_level_that_is_none_is_refused() -> None:
    with pytest.raises(EventError, match=r"level_b: expected 0 \(open\) or 1 \(closed\), got 2"):
        quadrature.start(FULL, 0, 2)
    state = quadrature.start(FULL, 0, 0)
    with pytest.raises(EventError, match="level_a"):
        quadrature.read(FULL, state, -1, 0)
    with pytest.raises(EventError, match=r"codes\[1\]: expected a whole number from 0 to 3, got 4"):
        quadrature.decode(FULL, state, b"\x00\x04")
