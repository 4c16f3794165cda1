"""Departures name where the least way was left: each planned mistake gives its own, and no other."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.analysis.cost.gestures import HOLD, PRESS, Gesture
from knobmenu.machine.state import Mode
from knobmenu.review.attempts import Attempt, read_attempts
from knobmenu.review.departures import Departure, Kind
from knobmenu.review.edits import Edit, Point
from knobmenu.review.measures import count_overshoots
from knobmenu.review.study_form import Setup, read_study
from tests.review.designs import clean
from tests.review.participants import Participant, Plan, Seat, least, one_too_far, pausing, sit

PLAIN = {
    "name": "Amplifier",
    "order": "fixed",
    "variants": {"only": "clean.toml"},
    "tasks": {"treble": {"text": "Set the treble to 2.", "done": {"equal": ["treble", 2]}}},
}
"""The least way: press (menu), turn 3 (to Tone), press, press (treble), turn 2, press."""


@pytest.fixture(scope="module")
def setup() -> Setup:
    return read_study(PLAIN, lambda file: clean())


def attempt(setup: Setup, participant: Participant) -> Attempt:
    (found,) = read_attempts(setup, *sit(setup, participant, 0))
    return found


def scripted(*gestures: Gesture | int, then_least: bool = True) -> Participant:
    """Return a participant who begins with these gestures and then does the least, or gives up."""

    def plan(seat: Seat, random: Random) -> Plan:
        yield from gestures
        if then_least:
            yield from seat.way()

    return plan


def turn(detents: int) -> Gesture:
    return Gesture("turn", detents)


def summed(departures: tuple[Departure, ...]) -> list[tuple[Kind, str, str, int]]:
    return [(one.kind, one.screen[1], one.key, one.gestures) for one in departures]


@pytest.mark.parametrize("participant", [least, pausing])
def test_who_does_the_least_never_leaves_it(setup: Setup, participant: Participant) -> None:
    assert attempt(setup, participant).departures == ()


def test_a_wrong_entry_is_a_wrong_turn_until_the_way_is_found_again(setup: Setup) -> None:
    # Into Bass, two detents there, and out again.
    found = attempt(setup, scripted(PRESS, turn(2), PRESS, turn(1), HOLD))

    (only,) = found.departures
    assert (only.kind, only.screen, only.key) == ("wrong-turn", (Mode.BROWSING, "main"), "bass")
    assert only.expected == "tone"
    assert only.gestures == 3
    assert found.extra_gestures is not None
    assert found.extra_gestures >= only.gestures


def test_an_entry_that_acts_in_its_list_is_a_wrong_turn_without_a_screen(setup: Setup) -> None:
    found = attempt(setup, scripted(PRESS, turn(1), PRESS))

    assert summed(found.departures) == [("wrong-turn", "main", "light", 1)]
    assert (None, "light") in found.path


def test_leaving_the_menu_before_the_task_is_done_is_found(setup: Setup) -> None:
    found = attempt(setup, scripted(PRESS, HOLD))

    (only,) = found.departures
    assert (only.kind, only.screen) == ("left", (Mode.BROWSING, "main"))


def test_turning_past_the_entry_and_back_is_found(setup: Setup) -> None:
    found = attempt(setup, scripted(PRESS, turn(3), turn(1), turn(-1)))

    assert summed(found.departures) == [("passed-entry", "main", "tone", 2)]


def test_a_value_turned_too_far_is_an_overshoot(setup: Setup) -> None:
    found = attempt(setup, one_too_far)

    assert summed(found.departures) == [("overshoot", "treble", "treble", 1)]
    assert found.overshoots == 1


def test_another_value_that_is_kept_is_found_until_it_is_edited_again(setup: Setup) -> None:
    found = attempt(setup, scripted(PRESS, turn(3), PRESS, PRESS, turn(1), PRESS))

    (only,) = found.departures
    assert (only.kind, only.key) == ("wrong-value", "treble")
    assert only.gestures == 2  # keeps 1, and opens the editor again


def test_an_edit_that_is_undone_is_found(setup: Setup) -> None:
    found = attempt(setup, scripted(PRESS, turn(3), PRESS, PRESS, turn(1), HOLD))

    assert [one.kind for one in found.departures] == ["revert"]
    assert found.reverts == 1


def test_a_screen_that_is_left_for_want_of_a_touch_is_found(setup: Setup) -> None:
    idle_ms = clean().idle.after_ms
    found = attempt(setup, scripted(PRESS, turn(3), PRESS, idle_ms + 1000))

    (only,) = found.departures
    assert (only.kind, only.screen) == ("time-out", (Mode.BROWSING, "tone"))
    assert only.seconds >= idle_ms / 1000


def test_who_gives_up_without_a_mistake_is_found_where_that_was(setup: Setup) -> None:
    found = attempt(setup, scripted(PRESS, turn(3), then_least=False))

    assert not found.succeeded
    assert [(one.kind, one.screen) for one in found.departures] == [("gave-up", (Mode.BROWSING, "main"))]


def test_a_detour_that_never_ends_lasts_until_the_attempt_does(setup: Setup) -> None:
    found = attempt(setup, scripted(PRESS, turn(2), PRESS, 5000, then_least=False))

    (only,) = found.departures
    assert only.kind == "wrong-turn"
    assert only.ended_ms == found.begun_ms + found.lasted_ms


def values() -> st.SearchStrategy[list[int]]:
    return st.lists(st.integers(-5, 5), min_size=2, max_size=20)


@given(values(), st.integers(-5, 5))
def test_overshoots_of_an_edit_are_as_many_as_the_measure_counts(seen: list[int], target: int) -> None:
    edit = Edit("volume", target, tuple(Point(100 * place, value, place) for place, value in enumerate(seen)))

    assert len(edit.overshoots) == count_overshoots(seen, target)
    for past, back in edit.overshoots:
        assert past.value != target
        assert back.real_ms >= past.real_ms


@given(values(), st.integers(-5, 5))
def test_a_target_is_reached_no_later_than_the_value_is_equal_to_it(seen: list[int], target: int) -> None:
    points = tuple(Point(100 * place, value, place) for place, value in enumerate(seen))
    equal: Iterator[Point] = (point for point in points if point.value == target)

    assert Edit("volume", target, points).reached.real_ms <= next(equal, points[-1]).real_ms
