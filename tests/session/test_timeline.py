"""Moments of a session that were packed are as they were, whatever happened around them."""

import contextlib

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.device.pages import Pages
from knobmenu.errors import EventError
from knobmenu.events import Turn
from knobmenu.session.part import replay
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from tests.sampling import WHOLE
from tests.session.recorded import moves, turned_round, walk
from tests.session.test_recording import collect_everything
from tests.strategies import designs


def packed(timeline: Timeline, page: int) -> Timeline:
    """Let a new timeline pack its moments early, in pages of so many."""
    timeline.history._pages = Pages(timeline.history.present, replay, 1, page)
    return timeline


@settings(max_examples=1000 if WHOLE else 25)
@given(designs(), st.lists(moves, min_size=10, max_size=40), st.integers(1, 8))
def test_a_session_that_packs_early_is_the_one_that_does_not(
    one: Design, done: list[tuple[str, int]], page: int
) -> None:
    variants = one, turned_round(one)
    other = attrs.evolve(one, save_after_ms=(one.save_after_ms + 500) % 3_600_000)
    plain, small = Session(Timeline(variants), 5000), Session(packed(Timeline(variants), page), 5000)
    for trial in (plain, small):
        with contextlib.suppress(EventError):
            # A trace that was played on another design may not be playable on this one.
            walk(trial, other, done)

    assert collect_everything(small.timeline) == collect_everything(plain.timeline)


def test_a_design_that_changed_in_the_past_is_heeded_at_the_newest_moment(kiln: Design) -> None:
    trial = Session(packed(Timeline([kiln]), 3), 0)
    trial.spin(3, 100)
    trial.go_back(1000)
    trial.timeline.redesign(0, attrs.evolve(kiln, name="B"))
    trial.go_forward(2000)
    trial.spin(3, 3000)

    names = [snapshot.parts[0].design.name for snapshot in trial.history]
    assert names[:7] == [kiln.name] * 4 + ["B"] * 3


def test_a_design_that_comes_back_finds_its_moments_as_they_were(kiln: Design) -> None:
    """Also where it was read from its file again, and is another object."""
    timeline = Timeline([kiln])
    timeline.follow((Turn(100, 1),))
    timeline.redesign(0, attrs.evolve(kiln, name="B"))
    timeline.redesign(0, attrs.evolve(kiln))
    timeline.go(1)

    assert timeline.parts[0].event == Turn(100, 1)


def test_an_event_that_cannot_come_changes_nothing(kiln: Design) -> None:
    timeline = Timeline([kiln, kiln])
    timeline.follow((Turn(100, 1), Turn(100, 1)))
    with pytest.raises(EventError):
        timeline.follow((Turn(200, 1), Turn(50, 1)))

    assert (len(timeline.history), timeline.at_ms) == (2, 100)


def test_a_note_needs_a_moment_and_a_mark_stands_at_the_present_one(kiln: Design) -> None:
    timeline = Timeline([kiln])
    with pytest.raises(IndexError):
        timeline.note("nowhere", number=1)
    timeline.follow((Turn(100, 1),))
    timeline.mark("task 1", 2500)

    assert timeline.notes == []
    assert [(mark.number, mark.real_ms, mark.name) for mark in timeline.marks] == [(1, 2500, "task 1")]


def test_the_moment_before_a_changed_design_is_carried_over_into_it(kiln: Design) -> None:
    """Also where nothing asked for a moment between the change and going back."""
    timeline = Timeline([kiln])
    timeline.redesign(0, attrs.evolve(kiln, name="B"))
    timeline.go(0)

    assert [part.design.name for part in timeline.parts] == ["B"]
