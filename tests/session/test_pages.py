"""Moments that are not used are packed, and are the same when they are wanted again."""

import contextlib

import attrs
from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.errors import EventError
from knobmenu.session.pages import Moment, Pages
from knobmenu.session.session import Session
from knobmenu.session.trying import Part
from tests.strategies import designs


def _as_it_was(moment: Moment) -> tuple[object, ...]:
    return moment.number, moment.parent, moment.remark, moment.switched_on, *map(_part_as_it_was, moment.parts)


def _part_as_it_was(part: Part) -> tuple[object, ...]:
    return attrs.astuple(part, recurse=False)


def _walked(trial: Session, moves: list[tuple[str, int]], other: Design) -> None:
    now = 0
    for move, number in moves:
        now += 40 * number
        match move:
            case "turn":
                trial.spin(number - 6 or 1, now)
            case "click":
                trial.click(now)
            case "hold":
                trial.long_press(now)
            case "time":
                trial.pass_time(now)
            case "back":
                trial.back(now, number)
            case "newest":
                trial.on(now, trial.history.kept)
            case "line":
                trial.other_line(now)
            case "play":
                trial.play_again(now)
            case "redesign":
                trial.redesign(len(trial.designs) - 1, other if number % 2 else trial.designs[0])


moves = st.tuples(
    st.sampled_from(("turn", "turn", "turn", "click", "hold", "time", "back", "newest", "line", "play", "redesign")),
    st.integers(1, 20),
)


@settings(deadline=None)
@given(
    one=designs(),
    other=designs(),
    done=st.lists(moves, min_size=10, max_size=40),
    live=st.integers(1, 2),
    page=st.integers(1, 8),
    data=st.data(),
)
def test_a_moment_that_was_packed_is_as_it_was_when_it_was_new(
    one: Design, other: Design, done: list[tuple[str, int]], live: int, page: int, data: st.DataObject
) -> None:
    # Its name would not do: a translation may need it.
    knob = attrs.evolve(one.knob, clockwise="down" if one.knob.clockwise == "up" else "up")
    trial = Session([one, attrs.evolve(one, knob=knob)], 0)
    with contextlib.suppress(EventError):
        # A trace that was played on another design may not be playable on this one.
        _walked(trial, done, other)
    moments = [trial.history.moment(number) for number in range(trial.history.kept)]
    pages = Pages(moments[0], live, page)
    for moment in moments[1:]:
        pages.add(moment, moments[moment.parent])
    assert len(pages) == len(moments)
    for number in data.draw(st.permutations(range(len(moments)))):
        assert _as_it_was(pages.moment(number)) == _as_it_was(moments[number])


def test_a_design_that_changed_in_the_past_is_heeded_at_the_newest_step(kiln: Design) -> None:
    trial = Session([kiln], 0)
    trial.spin(3, 100)
    trial.back(1000)
    trial.redesign(0, attrs.evolve(kiln, name="B"))
    trial.on(2000)
    trial.spin(3, 3000)
    moments = [trial.history.moment(number) for number in range(trial.history.kept)]
    pages = Pages(moments[0], 1, 3)
    for moment in moments[1:]:
        pages.add(moment, moments[moment.parent])
    assert [pages.moment(number).parts[0].design.name for number in range(7)] == [kiln.name] * 4 + ["B"] * 3


def test_a_page_that_is_used_is_kept_as_it_is(kiln: Design) -> None:
    trial = Session([kiln], 0)
    trial.spin(40, 100)
    moments = [trial.history.moment(number) for number in range(41)]
    pages = Pages(moments[0], 1, 4)
    for moment in moments[1:]:
        pages.add(moment, moments[moment.parent])
    assert pages.moment(40) is moments[40]
    assert pages.moment(36) is moments[36]
    worked_out = pages.moment(7)
    assert worked_out is not moments[7]
    assert pages.moment(7) is worked_out
    assert pages.moment(40) is moments[40]
