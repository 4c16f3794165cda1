"""What is so of simulated surroundings, over generated designs: every kind of behaviour, reading each other."""

from __future__ import annotations

from collections.abc import Sequence

import attrs
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.events import Event, LongPress, Press, Report, Turn, Wait
from knobmenu.session.interleaving import interleave_reports
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from tests.strategies import simulated_designs

MOST_REPORTS = 2000
"""A design that reports more in a trace is left out; so are those that answer themselves for ever."""

LAST_MS = 60_000

gestures = st.lists(st.tuples(st.sampled_from((Press, LongPress, Turn, Wait)), st.integers(1, 8000)), max_size=6)


def trace(done: Sequence[tuple[type, int]]) -> list[Event]:
    at_ms, events = 0, []
    for kind, gap in done:
        at_ms += gap
        events.append(Turn(at_ms, gap % 7 - 3 or 1) if kind is Turn else kind(at_ms))
    return [*events, Wait(LAST_MS)]


def reports(design: Design, events: Sequence[Event]) -> list[Event]:
    told: list[Event] = []
    for event in interleave_reports(design, events):
        if isinstance(event, Report):
            told.append(event)
            assume(len(told) < MOST_REPORTS)
    assume(all(sum(other.at_ms == event.at_ms for other in told[at : at + 100]) < 50 for at, event in enumerate(told)))
    return told


@settings(max_examples=40)
@given(simulated_designs(), gestures, st.lists(st.integers(0, LAST_MS), max_size=10))
def test_time_told_more_often_changes_no_report(
    design: Design, done: list[tuple[type, int]], told_at: list[int]
) -> None:
    design = attrs.evolve(design, idle=attrs.evolve(design.idle, after_ms=0))
    events = trace(done)
    often = sorted([*events, *(Wait(at_ms) for at_ms in told_at)], key=lambda event: event.at_ms)

    assert reports(design, often) == reports(design, events)


@settings(max_examples=40)
@given(simulated_designs(), st.lists(st.integers(1, 9000), max_size=12), st.integers(0, 10**9))
def test_a_session_reports_the_same_whatever_the_wall_clock(design: Design, gaps: list[int], start: int) -> None:
    design = attrs.evolve(design, simulation_speed=1)
    assume(len(reports(design, [Wait(LAST_MS)])) < MOST_REPORTS)

    def session(begun: int, woken: Sequence[int]) -> list[Event]:
        trial = Session(Timeline([design]), begun)
        for after_ms in (*woken, LAST_MS):
            trial.pass_time(begun + after_ms)
        return [event for event in trial.list_events() if isinstance(event, Report)]

    woken = [at_ms for number in range(len(gaps)) if (at_ms := sum(gaps[: number + 1])) < LAST_MS]

    assert session(start, woken) == session(0, [])


@settings(max_examples=40)
@given(simulated_designs(), st.lists(st.tuples(st.sampled_from((Press, LongPress)), st.integers(1, 8000)), max_size=4),
       st.sampled_from((2, 10, 60)))  # fmt: skip
def test_speed_changes_nothing_but_the_clock_of_the_reports(
    design: Design, done: list[tuple[type, int]], speed: int
) -> None:
    still = attrs.evolve(design, idle=attrs.evolve(design.idle, after_ms=0))
    slow_trace = [attrs.evolve(event, at_ms=event.at_ms * speed) for event in trace(done)]

    slow = reports(attrs.evolve(still, simulation_speed=1), slow_trace)
    fast = reports(attrs.evolve(still, simulation_speed=speed), trace(done))

    assert [(report.key, report.value) for report in fast if isinstance(report, Report)] == [
        (report.key, report.value) for report in slow if isinstance(report, Report)
    ]
    assert [report.at_ms for report in fast] == [-(-report.at_ms // speed) for report in slow]
