"""Nothing is lost by going back."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.session.history import History
from knobmenu.session.trying import power_on


def history(design: Design) -> History:
    return History((power_on(design),))


def test_a_moment_added_in_the_past_begins_a_line_and_keeps_the_other(kiln: Design) -> None:
    past = history(kiln)
    parts = past.present.parts
    first, second = past.add(parts), past.add(parts)
    past.go(past.place - 1)
    third = past.add(parts)
    assert third.parent == first.number
    assert (past.lines, past.line_number) == (2, 2)
    assert past.other_line() is second
    assert past.other_line() is third


def test_going_beyond_the_ends_goes_to_the_ends(kiln: Design) -> None:
    past = history(kiln)
    past.add(past.present.parts)
    assert past.go(-5).number == 0
    assert past.go(99).number == 1


def test_a_moment_on_another_line_is_found_by_its_number(kiln: Design) -> None:
    past = history(kiln)
    left = past.add(past.present.parts)
    past.go(0)
    past.add(past.present.parts)
    assert past.go_to(left.number) is left
    assert past.line_number == 1


@given(data=st.data())
def test_every_moment_can_be_reached(kiln: Design, data: st.DataObject) -> None:
    past = history(kiln)
    parts = past.present.parts
    for add in data.draw(st.lists(st.booleans(), max_size=30)):
        if add:
            past.add(parts)
        else:
            past.go(data.draw(st.integers(0, past.last)))
    assert past.kept == past.moment(past.kept - 1).number + 1
    for number in range(past.kept):
        assert past.go_to(number).number == number
        walked = list(past.up_to_present())
        assert walked[0].number == 0
        assert all(after.parent == before.number for before, after in pairwise(walked))


def test_there_is_no_moment_before_power_on_and_none_after_the_newest(kiln: Design) -> None:
    past = history(kiln)
    for number in (-1, 1):
        with pytest.raises(KeyError):
            past.moment(number)
        with pytest.raises(KeyError):
            past.go_to(number)


@given(data=st.data())
def test_a_line_is_as_its_moments_say(kiln: Design, data: st.DataObject) -> None:
    past = history(kiln)
    parts = past.present.parts
    model: list[tuple[int, ...]] = [(0,)]
    walked, place = 0, 0
    for move in data.draw(st.lists(st.sampled_from(("add", "back", "other", "on again")), max_size=40)):
        if move == "add":
            line = (*model[walked][: place + 1], past.add(parts, switched_on=data.draw(st.booleans())).number)
            if place + 1 < len(model[walked]):
                model.append(line)
                walked = len(model) - 1
            else:
                model[walked] = line
            place += 1
        elif move == "other":
            walked = (walked + 1) % len(model)
            place = len(model[walked]) - 1
            past.other_line()
        else:
            place = data.draw(st.integers(0, len(model[walked]) - 1))
            past.go(place)
        assert [past.at(one).number for one in range(past.last + 1)] == list(model[walked])
        assert (past.place, past.line_number, past.lines) == (place, walked + 1, len(model))
        since = [moment.number for moment in past.up_to_present()]
        assert tuple(since) == model[walked][place + 1 - len(since) : place + 1]
        assert [past.moment(number).switched_on for number in since] == [True] + [False] * (len(since) - 1)
