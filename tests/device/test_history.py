"""Nothing is lost by going back."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.device.history import History
from knobmenu.device.pages import Cause


def unexplained(moment: int, cause: Cause) -> int:
    raise AssertionError("nothing is worked out again here")


def history() -> History[int]:
    """Return a history whose moments are their own numbers."""
    return History(0, unexplained)


def add(past: History[int]) -> int:
    return past.add(len(past))


def test_a_moment_added_in_the_past_begins_a_branch_and_keeps_the_other() -> None:
    past = history()
    first, second = add(past), add(past)
    past.go(past.place - 1)
    third = add(past)
    assert past.get_parent(third) == first
    assert (past.branches, past.branch) == (2, 2)
    assert past.go_to_next_branch() == second
    assert past.go_to_next_branch() == third


def test_going_beyond_the_ends_goes_to_the_ends() -> None:
    past = history()
    add(past)
    assert past.go(-5) == 0
    assert past.go(99) == 1


def test_a_moment_on_another_branch_is_found_by_its_number() -> None:
    past = history()
    left = add(past)
    past.go(0)
    add(past)
    assert past.go_to(left) == left
    assert past.branch == 1


def test_there_is_no_moment_before_power_on_and_none_after_the_newest() -> None:
    past = history()
    for number in (-1, 1):
        for find in (past.__getitem__, past.go_to, past.get_parent):
            with pytest.raises(IndexError, match=f"moment {number}: expected 0 to 0"):
                find(number)
    for place in (-1, 1):
        with pytest.raises(IndexError, match=f"place {place}: expected 0 to 0"):
            past.get(place)


@given(data=st.data())
def test_every_moment_can_be_reached(data: st.DataObject) -> None:
    past = history()
    for is_added in data.draw(st.lists(st.booleans(), max_size=30)):
        if is_added:
            add(past)
        else:
            past.go(data.draw(st.integers(0, past.last)))
    for number in data.draw(st.permutations(range(len(past)))):
        assert past.go_to(number) == past.number == past[number] == number
        path = list(past.walk_path())
        assert (path[0], path[-1]) == (0, number)
        assert all(past.get_parent(after) == before for before, after in pairwise(path))


@given(data=st.data())
def test_a_branch_is_what_a_list_of_lists_says(data: st.DataObject) -> None:
    past = history()
    model: list[tuple[int, ...]] = [(0,)]
    walked, place = 0, 0
    moves = ("add", "back", "next branch", "number", "add")
    for move in data.draw(st.lists(st.sampled_from(moves), max_size=40)):
        if move == "add":
            branch = (*model[walked][: place + 1], add(past))
            if place + 1 < len(model[walked]):
                model.append(branch)
                walked = len(model) - 1
            else:
                model[walked] = branch
            place += 1
        elif move == "next branch":
            walked = (walked + 1) % len(model)
            place = len(model[walked]) - 1
            past.go_to_next_branch()
        elif move == "number":
            number = data.draw(st.integers(0, len(past) - 1))
            if number not in model[walked]:
                walked = next(index for index, branch in enumerate(model) if number in branch)
            place = model[walked].index(number)
            past.go_to(number)
        else:
            place = data.draw(st.integers(0, len(model[walked]) - 1))
            past.go(place)
        assert [past.get(one) for one in range(past.last + 1)] == list(model[walked])
        assert [past.find_place(number) for number in model[walked]] == list(range(past.last + 1))
        assert all(past.find_place(number) is None for number in range(len(past)) if number not in model[walked])
        assert (past.place, past.branch, past.branches) == (place, walked + 1, len(model))
        assert tuple(past.walk_path()) == model[walked][: place + 1]
        assert past.in_past is (place + 1 < len(model[walked]))
