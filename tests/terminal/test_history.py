"""Nothing is lost by going back."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.terminal.history import History
from knobmenu.terminal.trying import power_on


def history(design: Design, most: int = 1000) -> History:
    return History((power_on(design),), most)


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
def test_every_moment_can_be_reached_while_nothing_is_let_go(kiln: Design, data: st.DataObject) -> None:
    past = history(kiln)
    parts = past.present.parts
    for add in data.draw(st.lists(st.booleans(), max_size=30)):
        if add:
            past.add(parts)
        else:
            past.go(data.draw(st.integers(0, past.last)))
    assert past.kept == past.moment(past.kept - 1).number + 1  # type: ignore[union-attr]
    for number in range(past.kept):
        assert past.go_to(number).number == number
        walked = past.up_to_present()
        assert walked[0].number == 0
        assert all(after.parent == before.number for before, after in pairwise(walked))


@given(data=st.data())
def test_the_oldest_moments_are_let_go_and_the_newest_stay(kiln: Design, data: st.DataObject) -> None:
    past = history(kiln, most=12)
    parts = past.present.parts
    for back in data.draw(st.lists(st.integers(0, 3), min_size=20, max_size=60)):
        past.go(past.place - back)
        newest = past.add(parts)
        assert past.present is newest
        assert past.kept <= 12
        assert [past.at(place) for place in range(past.last + 1)][-1] is newest
        assert 1 <= past.line_number <= past.lines
    for number in range(newest.number - past.kept, newest.number + 1):
        moment = past.moment(number)
        if moment is not None:
            assert past.go_to(number) is moment
