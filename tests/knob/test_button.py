"""The push switch's timing.

The long press of half a second is the value of several published platform guidelines (500 ms). What a press of each
length does is a table of our own; the rules at equal times are the project's choice.
"""

from __future__ import annotations

import itertools

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import Knob
from knobmenu.errors import EventError
from knobmenu.events import LATEST_MS, DoublePress, Event, HeldTurn, LongPress, Press, Turn
from knobmenu.knob import button
from knobmenu.knob.button import ButtonState

PLAIN = Knob(debounce_ms=5, long_press_ms=500)
DOUBLE = attrs.evolve(PLAIN, double_press_ms=300)
HELD = attrs.evolve(PLAIN, turns_while_held=True)

Act = tuple[int, bool | int]
"""When [ms], and a level (true or false) or a turn by detents (a number)."""


def told(knob: Knob, acts: list[Act], end_ms: int = 5000) -> list[Event]:
    state = ButtonState()
    events: list[Event] = []
    for at_ms, what in acts:
        if isinstance(what, bool):
            state, some = button.read(knob, state, what, at_ms)
        else:
            state, some = button.turn(knob, state, what, 1, at_ms)
        events += some
    state, some = button.wait(knob, state, end_ms)
    return [*events, *some]


CASES: list[tuple[str, Knob, list[Act], list[Event]]] = [
    ("a press is sent at its release, debounced", PLAIN, [(100, True), (200, False)], [Press(205)]),
    ("a bounce shorter than the debounce is nothing", PLAIN, [(100, True), (104, False)], []),
    (
        "a bouncing press is one press",
        PLAIN,
        [(100, True), (101, False), (103, True), (200, False), (202, True), (204, False)],
        [Press(209)],
    ),
    ("a press of 499 ms is short", PLAIN, [(100, True), (599, False)], [Press(604)]),
    ("a press of 500 ms is long", PLAIN, [(100, True), (600, False)], [LongPress(605)]),
    ("a long press is sent when it becomes long", PLAIN, [(100, True), (3000, False)], [LongPress(605)]),
    ("without debounce the edges count", attrs.evolve(PLAIN, debounce_ms=0), [(9, True), (10, False)], [Press(10)]),
    ("a lone press waits for the gap", DOUBLE, [(100, True), (200, False)], [Press(505)]),
    (
        "two presses within the gap are a double press",
        DOUBLE,
        [(100, True), (200, False), (499, True), (550, False)],
        [DoublePress(555)],
    ),
    (
        "a second press at the end of the gap is its own",
        DOUBLE,
        [(100, True), (200, False), (500, True), (550, False)],
        [Press(505), Press(855)],
    ),
    (
        "a second press that becomes long was no double press",
        DOUBLE,
        [(100, True), (200, False), (300, True), (900, False)],
        [Press(805), LongPress(805)],
    ),
    ("a turn while up is a turn", HELD, [(50, -2)], [Turn(50, -2)]),
    ("a held turn uses the press up", HELD, [(100, True), (200, 1), (2000, False)], [HeldTurn(200, 1)]),
    (
        "a turn before the press is accepted is plain",
        HELD,
        [(100, True), (104, 1), (200, False)],
        [Turn(104, 1), Press(205)],
    ),
    (
        "a held turn after a long press is still held",
        HELD,
        [(100, True), (700, 1), (800, False)],
        [LongPress(605), HeldTurn(700, 1)],
    ),
    (
        "without held turns a turn is plain and the press goes on",
        PLAIN,
        [(100, True), (200, 3), (700, False)],
        [Turn(200, 3), LongPress(605)],
    ),
    (
        "a turn in the gap lets the press go first",
        DOUBLE,
        [(100, True), (200, False), (300, 1)],
        [Press(300), Turn(300, 1)],
    ),
    (
        "a held turn in a second press lets the first go",
        attrs.evolve(DOUBLE, turns_while_held=True),
        [(100, True), (200, False), (300, True), (400, 1), (450, False)],
        [Press(400), HeldTurn(400, 1)],
    ),
]


@pytest.mark.parametrize(("knob", "acts", "events"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_what_is_told(knob: Knob, acts: list[Act], events: list[Event]) -> None:
    assert told(knob, acts) == events


@st.composite
def knobs(draw: st.DrawFn) -> Knob:
    debounce = draw(st.integers(0, 12))
    return Knob(
        debounce_ms=debounce,
        long_press_ms=draw(st.integers(50, 90)),
        double_press_ms=draw(st.sampled_from((0, 20, 60))),
        turns_while_held=draw(st.booleans()),
    )


@st.composite
def histories(draw: st.DrawFn) -> list[Act]:
    at_ms, acts = 0, []
    for _ in range(draw(st.integers(0, 25))):
        at_ms += draw(st.one_of(st.integers(0, 15), st.integers(0, 120)))
        acts.append((at_ms, draw(st.one_of(st.booleans(), st.sampled_from((1, -1))))))
    return acts


@given(knobs(), histories(), st.sets(st.integers(0, 3200), max_size=60))
def test_one_late_call_tells_what_many_early_ones_tell(knob: Knob, acts: list[Act], looks: set[int]) -> None:
    late = told(knob, acts)
    state = ButtonState()
    early: list[Event] = []
    for at_ms, what in sorted([*acts, *((at_ms, None) for at_ms in looks)], key=lambda act: act[0]):
        if what is None:
            state, some = button.wait(knob, state, at_ms)
        elif isinstance(what, bool):
            state, some = button.read(knob, state, what, at_ms)
        else:
            state, some = button.turn(knob, state, what, 1, at_ms)
        early += some
    early += button.wait(knob, state, 5000)[1]

    assert early == late


@given(knobs(), histories())
def test_a_caller_who_comes_back_when_due_hears_each_event_at_its_own_time(knob: Knob, acts: list[Act]) -> None:
    state = ButtonState()
    for at_ms, what in acts:
        while (due := button.find_due_ms(knob, state)) is not None and due <= at_ms:
            state, some = button.wait(knob, state, due)
            assert all(event.at_ms == due for event in some)
        if isinstance(what, bool):
            state, some = button.read(knob, state, what, at_ms)
        else:
            state, some = button.turn(knob, state, what, 1, at_ms)
        assert all(event.at_ms == at_ms for event in some)


@given(knobs(), histories())
def test_events_come_in_order_and_no_turn_is_lost(knob: Knob, acts: list[Act]) -> None:
    events = told(knob, acts)
    assert [event.at_ms for event in events] == sorted(event.at_ms for event in events)
    turned = sum(event.detents for event in events if isinstance(event, Turn | HeldTurn))
    assert turned == sum(what for _, what in acts if not isinstance(what, bool))


@given(knobs(), histories())
def test_a_press_needs_the_switch_to_have_closed(knob: Knob, acts: list[Act]) -> None:
    presses = sum(isinstance(event, Press | LongPress) for event in told(knob, acts))
    presses += 2 * sum(isinstance(event, DoublePress) for event in told(knob, acts))
    levels = [False, *(what for _, what in acts if isinstance(what, bool))]
    closings = sum(after and not before for before, after in itertools.pairwise(levels))
    assert presses <= closings


def test_nothing_is_due_while_nothing_is_awaited() -> None:
    assert button.find_due_ms(PLAIN, ButtonState()) is None
    pressed, _ = button.read(PLAIN, ButtonState(), True, 7)
    assert button.find_due_ms(PLAIN, pressed) == 12


def test_time_that_goes_back_or_past_the_last_moment_is_refused() -> None:
    state, _ = button.wait(PLAIN, ButtonState(), 100)
    with pytest.raises(EventError, match=r"at_ms: expected a whole number from 100 \(the call before\) to \d+, got 99"):
        button.read(PLAIN, state, True, 99)
    with pytest.raises(EventError):
        button.wait(PLAIN, state, LATEST_MS + 1)


def test_a_press_at_the_end_of_time_is_no_trouble() -> None:
    state, _ = button.read(PLAIN, ButtonState(), True, LATEST_MS - 2)
    assert button.wait(PLAIN, state, LATEST_MS)[1] == ()
