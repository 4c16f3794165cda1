from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import Acceleration, Knob
from knobmenu.errors import EventError
from knobmenu.knob import acceleration
from knobmenu.knob.acceleration import AccelerationState, choose_times, list_intervals

RULES = (Acceleration(faster_than_ms=20, times=10), Acceleration(faster_than_ms=60, times=3))
KNOB = Knob(acceleration=RULES)


def times_of(turns: list[tuple[int, int]], knob: Knob = KNOB) -> list[int]:
    state, told = AccelerationState(), []
    for at_ms, detents in turns:
        state, times = acceleration.choose_times(knob, state, detents, at_ms)
        told.append(times)
    return told


def test_the_first_fast_enough_rule_holds_and_its_limit_is_left_out() -> None:
    assert times_of([(1000, 1), (1060, 1), (1119, 1), (1139, 1), (1158, 1)]) == [1, 1, 3, 3, 10]


def test_the_first_turn_counts_once_even_at_power_on() -> None:
    assert times_of([(0, 1)]) == [1]


def test_a_reversal_starts_anew() -> None:
    assert times_of([(0, 1), (10, 1), (20, -1), (30, -1), (40, 1)]) == [1, 10, 1, 10, 1]


@given(st.integers(1, 50), st.booleans(), st.integers(0, 1000))
def test_what_is_remembered_of_a_turn_is_its_direction_and_its_time(amount: int, up: bool, at_ms: int) -> None:
    state, _ = choose_times(KNOB, AccelerationState(), amount if up else -amount, at_ms)
    assert state == AccelerationState(1 if up else -1, at_ms)


def test_detents_told_together_share_their_time() -> None:
    assert times_of([(0, 1), (60, 4)]) == [1, 10]
    assert times_of([(0, -1), (80, -4)]) == [1, 3]


@given(st.lists(st.tuples(st.integers(0, 200), st.sampled_from((-2, -1, 1, 2))), max_size=40))
def test_no_rules_no_acceleration_and_never_less_than_one(gaps: list[tuple[int, int]]) -> None:
    at_ms, turns = 0, []
    for gap, detents in gaps:
        at_ms += gap
        turns.append((at_ms, detents))
    assert times_of(turns, Knob()) == [1] * len(turns)
    assert set(times_of(turns)) <= {1, 3, 10}


def test_time_that_goes_back_is_refused() -> None:
    with pytest.raises(EventError, match=r"turn at 4 ms is earlier than the last one \(5 ms\)"):
        acceleration.choose_times(KNOB, AccelerationState(1, 5), 1, 4)


@given(st.lists(st.integers(1, 300), unique=True, max_size=4), st.integers(0, 400))
def test_a_second_detent_is_worth_what_the_interval_of_its_time_says(limits: list[int], gap_ms: int) -> None:
    rules = [Acceleration(faster_than_ms=limit, times=9 - place) for place, limit in enumerate(sorted(limits))]
    knob = Knob(acceleration=rules)
    intervals = list_intervals(knob)

    _, times = choose_times(knob, AccelerationState(1, 1000), 1, 1000 + gap_ms)

    (here,) = [one for one in intervals if one.from_ms <= gap_ms and (one.below_ms is None or gap_ms < one.below_ms)]
    assert times == here.times
    assert len(intervals) == len(limits) + 1
