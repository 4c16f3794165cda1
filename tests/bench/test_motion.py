"""How a knob is turned: each kind of motion begins and ends at rest, goes where it says and as fast as it says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench import motion
from knobmenu.bench.motion import SETTLING_S, Motion
from tests.bench.strategies import motions, numbers, seeds

signed = st.integers(1, 60).flatmap(lambda detents: st.sampled_from((detents, -detents)))


def fresh(seed: int) -> np.random.Generator:
    return np.random.default_rng(seed)


def speeds(moved: Motion) -> list[float]:
    """Return the mean speed of each stroke, from its begin to where the knob rests. [detents/s]"""
    return [abs(true) / (end - SETTLING_S - begin) for begin, end, true in moved.strokes]


@given(motions())
def test_every_motion_goes_forward_in_time_and_rests_at_its_beginning_and_at_its_end(moved: Motion) -> None:
    assert moved.at_s[0] == 0
    assert np.all(np.diff(moved.at_s) >= 0)
    assert moved.strokes[0][0] == pytest.approx(SETTLING_S)
    assert np.all(moved.detents[moved.at_s <= SETTLING_S] == moved.detents[0])
    assert np.all(moved.detents[moved.at_s >= moved.end_s] == moved.detents[-1])


@given(motions())
def test_strokes_follow_each_other_and_end_with_the_motion(moved: Motion) -> None:
    for (_, end, _), (begin, _, _) in zip(moved.strokes, moved.strokes[1:], strict=False):
        assert begin == pytest.approx(end)
    assert moved.strokes[-1][1] == pytest.approx(moved.end_s)
    assert moved.true_detents == sum(abs(true) for *_, true in moved.strokes)


@given(signed, numbers(0.5, 100))
def test_a_steady_turn_has_one_speed(detents: int, per_s: float) -> None:
    moved = motion.make_steady(detents, per_s)

    assert speeds(moved) == [pytest.approx(per_s)]
    assert moved.detents[-1] == pytest.approx(detents)
    middle_s = SETTLING_S + abs(detents) / per_s / 2
    assert np.interp(middle_s, moved.at_s, moved.detents) == pytest.approx(detents / 2)


@given(signed, numbers(0.5, 100), seeds, st.integers(1, 12), numbers(0, 0.95))
def test_flicks_add_up_each_of_a_few_detents_and_near_the_wanted_speed(
    detents: int, per_s: float, seed: int, longest: int, pull: float
) -> None:
    moved = motion.make_flicks(detents, per_s, fresh(seed), longest=longest, pull=pull)
    parts = [true for *_, true in moved.strokes]

    assert sum(parts) == detents
    assert all(1 <= part * np.sign(detents) <= longest for part in parts)
    assert all(per_s * 0.7499 <= speed <= per_s * 1.2501 for speed in speeds(moved))
    # A hand that flicks never turns back within a flick, whatever the pull of the detents.
    assert np.all(np.diff(moved.detents) * np.sign(detents) >= -1e-9)


def test_a_flick_gathers_speed_and_loses_it() -> None:
    """The minimum-jerk course: rest, 15/8 of the mean speed in the middle, rest.

    T. Flash and N. Hogan, The coordination of arm movements, J. Neuroscience 5(7), 1985; the polynomial from memory,
    its greatest slope of 15/8 calculated.
    """
    moved = motion.make_flicks(8, 10.0, fresh(3), longest=8, pull=0.0)
    begin, end, true = moved.strokes[0]
    length_s = end - SETTLING_S - begin
    inside = (moved.at_s >= begin) & (moved.at_s <= end - SETTLING_S)
    slopes = np.diff(moved.detents[inside]) / np.diff(moved.at_s[inside]) / (true / length_s)

    assert slopes[0] < 0.01
    assert slopes[-1] < 0.01
    assert slopes.max() == pytest.approx(15 / 8, rel=0.01)
    assert np.argmax(slopes) == pytest.approx(len(slopes) / 2, abs=1)


def test_detents_hold_the_knob_near_them_and_hurry_it_over_the_hump() -> None:
    free, pulled = (motion.make_flicks(6, 10.0, fresh(3), longest=6, pull=pull) for pull in (0.0, 0.5))
    at_detent, at_hump = (
        np.abs(np.mod(free.detents + 0.5, 1) - 0.5) < 0.02,
        np.abs(np.mod(free.detents, 1) - 0.5) < 0.02,
    )

    assert np.allclose(free.detents[at_detent], pulled.detents[at_detent], atol=0.02)
    assert np.allclose(free.detents[at_hump], pulled.detents[at_hump], atol=0.02)
    quarter = np.abs(np.mod(free.detents, 1) - 0.25) < 0.05
    assert np.all(pulled.detents[quarter] < free.detents[quarter])


@given(st.integers(1, 60), numbers(0.5, 100), seeds)
def test_reversals_go_forth_and_back_by_turns(detents: int, per_s: float, seed: int) -> None:
    moved = motion.make_reversals(detents, per_s, fresh(seed))
    parts = [true for *_, true in moved.strokes]

    assert moved.true_detents == detents
    assert [np.sign(part) for part in parts] == [(-1) ** nth for nth in range(len(parts))]
    assert all(speed == pytest.approx(per_s) for speed in speeds(moved))


@given(st.integers(1, 60), numbers(0.5, 100), seeds, numbers(0, 0.49))
def test_a_dither_never_leaves_its_detent(times: int, per_s: float, seed: int, widest: float) -> None:
    moved = motion.make_dither(times, per_s, fresh(seed), widest=widest)

    assert np.abs(moved.detents).max() <= widest
    assert moved.detents[-1] == 0
    assert moved.true_detents == 0
    assert moved.end_s == pytest.approx(times / per_s + 2 * SETTLING_S)


def test_a_recorded_motion_is_repeated_and_its_strokes_end_where_it_turns_back() -> None:
    at_s = np.array([5.0, 6.0, 7.0, 8.0, 9.0, 9.5])
    moved = motion.make_recorded(at_s, np.array([1.0, 3.0, 3.0, 4.0, 2.0, 2.0]))

    assert [true for *_, true in moved.strokes] == [3, -2]
    assert [begin for begin, *_ in moved.strokes] == pytest.approx([0.25, 3.25])
    assert np.interp(0.25 + 0.5, moved.at_s, moved.detents) == 2.0
    assert moved.end_s == pytest.approx(4.5 + 2 * SETTLING_S)


@given(seeds)
def test_the_same_seed_is_the_same_hand(seed: int) -> None:
    one, other = (motion.make_flicks(30, 10.0, fresh(seed)) for _ in range(2))

    assert list(one.at_s) == list(other.at_s)
    assert list(one.detents) == list(other.detents)
