"""One step from the levels on the wires to events, against its three parts called one by one."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import Acceleration, Knob
from knobmenu.design.home import Home
from knobmenu.design.settings import Number
from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.events import Event, HeldTurn, Press, Turn, Wait
from knobmenu.knob import button, contacts, quadrature
from knobmenu.knob.acceleration import AccelerationState, accelerate
from tests.strategies import knobs

Reading = tuple[int, int, bool, int]

READINGS = st.lists(
    st.tuples(st.integers(0, 1), st.integers(0, 1), st.booleans(), st.sampled_from((0, 1, 5, 30, 300, 700, 2500))),
    max_size=60,
)
"""Levels, and how long after the reading before they are read. [ms]"""


def timed(readings: list[Reading], from_ms: int = 0) -> list[Reading]:
    at_ms, timed_ = from_ms, []
    for level_a, level_b, pressed, after_ms in readings:
        at_ms += after_ms
        timed_.append((level_a, level_b, pressed, at_ms))
    return timed_


def read(knob: Knob, readings: list[Reading]) -> list[Event]:
    state = contacts.start(knob, 0, 0)
    events: list[Event] = []
    for reading in readings:
        state, more = contacts.read(knob, state, *reading)
        events += more
    return events


@given(knobs(), READINGS)
def test_contacts_are_the_decoder_the_button_and_the_acceleration_in_a_row(knob: Knob, readings: list[Reading]) -> None:
    wheel, switch, turn = quadrature.start(knob, 0, 0), button.ButtonState(), AccelerationState()
    expected: list[Event] = []
    for level_a, level_b, pressed, at_ms in timed(readings):
        switch, events = button.read(knob, switch, pressed, at_ms)
        wheel, detents = quadrature.read(knob, wheel, level_a, level_b)
        if detents:
            switch, more = button.turn(knob, switch, detents, 1, at_ms)
            events += more
        for event in events:
            turn, event = accelerate(knob, turn, event)
            expected.append(event)
    assert read(knob, timed(readings)) == expected


@given(knobs(), READINGS)
def test_reading_only_when_something_changes_or_is_due_gives_the_same_events(
    knob: Knob, readings: list[Reading]
) -> None:
    often: list[Reading] = []
    state = contacts.start(knob, 0, 0)
    last = (0, 0, False)
    for level_a, level_b, pressed, at_ms in timed(readings):
        while (due := contacts.find_due_ms(knob, state)) is not None and due < at_ms:
            often.append((*last, max(due, state.switch.at_ms)))
            state, _ = contacts.read(knob, state, *often[-1])
        last = (level_a, level_b, pressed)
        often.append((*last, at_ms))
        state, _ = contacts.read(knob, state, *often[-1])
    assert read(knob, often) == read(knob, timed(readings))


@given(knobs(), READINGS, st.integers(0, 60))
def test_moving_the_clock_back_changes_the_times_of_events_alone(
    knob: Knob, readings: list[Reading], when: int
) -> None:
    day_ms = 86_400_000
    expected, events, base_ms = [], [], 0
    kept = moved = contacts.start(knob, 0, 0)
    for number, (level_a, level_b, pressed, at_ms) in enumerate(timed(readings, day_ms)):
        if number == when:
            base_ms = at_ms - day_ms
            moved = contacts.rebase_time(moved, base_ms)
        kept, more = contacts.read(knob, kept, level_a, level_b, pressed, at_ms)
        moved, others = contacts.read(knob, moved, level_a, level_b, pressed, at_ms - base_ms)
        expected += [(type(event), event.at_ms) for event in more]
        events += [(type(event), event.at_ms + base_ms) for event in others]
    assert events == expected


QUICK = Knob(acceleration=(Acceleration(faster_than_ms=50, times=5),), turns_while_held=True)

DESIGN = Design(
    name="Volume",
    knob=QUICK,
    settings=(Number(key="volume", label="Volume", low=0, high=100, initial=50, accelerates=True),),
    home=Home(turn="volume"),
)

CLOCKWISE = ((1, 0), (1, 1), (0, 1), (0, 0))


def detents(count: int, from_ms: int, pressed: bool = False) -> list[Reading]:
    """Turn clockwise, a quarter of a period each 5 ms."""
    return [(*CLOCKWISE[place % 4], pressed, from_ms + 5 * (place + 1)) for place in range(4 * count)]


def test_turns_of_contacts_carry_their_steps() -> None:
    assert read(QUICK, detents(3, 0)) == [Turn(20, 1), Turn(40, 1, times=5), Turn(60, 1, times=5)]


def test_a_turn_while_held_is_not_accelerated_and_does_not_start_acceleration() -> None:
    pressed: list[Reading] = [(0, 0, True, 0), (0, 0, True, 5)]
    events = read(QUICK, [*pressed, *detents(2, 10, pressed=True), (0, 0, False, 60), *detents(1, 65)])
    assert events == [HeldTurn(30, 1), HeldTurn(50, 1), Turn(85, 1)]


def test_a_device_takes_the_events_of_its_contacts_as_they_are() -> None:
    device = Device(DESIGN)
    for reading in ((0, 0, False, 0), *detents(3, 0)):
        device.read_contacts(*reading)
    assert device.list_events() == (Turn(20, 1), Turn(40, 1, times=5), Turn(60, 1, times=5))
    assert device.get_value("volume") == 61
    device.tell(Press(100))
    device.tell(Wait(200))
