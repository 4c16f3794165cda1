"""One device, wired: gestures and contacts in, screens and effects out, and every past state at hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu import Acceleration, Design, Device, EventError, Home, Knob, Menu, Number, Switch
from knobmenu.device.pages import PAGE
from knobmenu.events import Press, Turn
from tests.strategies import Story, stories


@pytest.fixture
def lamp() -> Device:
    return Device(
        Design(
            name="Lamp",
            knob=Knob(acceleration=(Acceleration(faster_than_ms=40, times=4),)),
            settings=[
                Number(key="level", label="Level", low=0, high=100, initial=20, accelerates=True),
                Switch(key="night", label="Night light"),
            ],
            menus=[Menu(key="main", label="Menu", entries=["night", "back"])],
            home=Home(turn="level", press="main"),
        )
    )


def test_gestures_happen_a_tenth_of_a_second_apart(lamp: Device) -> None:
    lamp.turn(2)
    lamp.press()
    lamp.wait(50)

    assert (lamp.get_value("level"), lamp.state.at_ms) == (22, 250)


def test_quick_detents_are_accelerated_and_a_reversal_is_not(lamp: Device) -> None:
    lamp.turn(1, at_ms=100)
    lamp.turn(1, at_ms=120)
    lamp.turn(-1, at_ms=140)

    assert lamp.get_value("level") == 20 + 1 + 4 - 1


def test_going_back_is_choosing_a_moment_and_a_turn_in_the_past_begins_a_branch(lamp: Device) -> None:
    for _ in range(3):
        lamp.turn(1)
    lamp.go(1)
    lamp.turn(-5)

    assert lamp.get_value("level") == 16
    assert list(lamp.history.walk_path()) == [0, 1, 4]
    assert [lamp.history.get_parent(number) for number in range(5)] == [-1, 0, 1, 2, 1]
    assert lamp.go(3).state.at_ms == 300
    assert lamp.get_value("level") == 23


def test_acceleration_after_going_back_is_that_of_the_past(lamp: Device) -> None:
    lamp.turn(1, at_ms=100)
    lamp.turn(1, at_ms=110)
    lamp.go(0)
    lamp.turn(1, at_ms=105)

    assert lamp.get_value("level") == 21


def test_there_is_no_moment_that_never_was(lamp: Device) -> None:
    with pytest.raises(IndexError, match="moment 1: expected 0 to 0"):
        lamp.go(1)


def test_a_refused_event_leaves_the_device_as_it_was(lamp: Device) -> None:
    lamp.turn(1)
    with pytest.raises(EventError):
        lamp.press(at_ms=50)

    assert (lamp.history.number, len(lamp.history)) == (1, 2)


def test_contacts_turn_and_press_it(lamp: Device) -> None:
    """One period of the phases, A leading, is one detent clockwise: the Linux kernel's rotary-encoder description.

    D. Mack, "rotary-encoder, a generic driver for GPIO connected devices", docs.kernel.org.
    """
    at_ms = 0
    for level_a, level_b in ((0, 0), (1, 0), (1, 1), (0, 1), (0, 0)):
        at_ms += 10
        lamp.read_contacts(level_a, level_b, False, at_ms)
    assert lamp.get_value("level") == 21

    lamp.read_contacts(0, 0, True, 100)
    lamp.read_contacts(0, 0, False, 200)
    moments = lamp.read_contacts(0, 0, False, 300)

    assert [moment.event for moment in moments] == [Press(205)], "reported when the release is debounced, 5 ms after it"
    assert lamp.state.path


def test_going_back_forgets_what_was_read_from_the_wires(lamp: Device) -> None:
    lamp.read_contacts(0, 0, True, 10)
    lamp.turn(1, at_ms=20)
    lamp.go(0)

    assert lamp.read_contacts(0, 0, False, 600) == (), "the press of that other time is not let go in this one"


def test_what_falls_due_is_known(lamp: Device) -> None:
    assert lamp.due_ms is None
    lamp.turn(1, at_ms=100)
    assert lamp.due_ms == 100 + lamp.design.save_after_ms


@given(stories(), st.data())
def test_every_past_state_is_kept_and_going_on_from_it_is_going_on_as_then(story: Story, data: st.DataObject) -> None:
    design, events = story
    device = Device(design)
    device.tell_all(events)
    there = data.draw(st.integers(0, len(events)))
    before = list(device.history)

    device.go(there)
    again = device.tell_all(events[there:])

    assert list(device.history)[: len(before)] == before
    assert [moment.state for moment in again] == [moment.state for moment in before[there + 1 :]]
    assert [moment.effects for moment in again] == [moment.effects for moment in before[there + 1 :]]


@given(stories())
def test_the_events_that_led_here_lead_here_again(story: Story) -> None:
    design, events = story
    device = Device(design)
    device.tell_all(events)
    twin = Device(design)
    twin.tell_all(device.list_events(), final=True)

    assert twin.state == device.state
    assert twin.screen == device.screen


def test_a_turn_that_is_final_is_not_accelerated_again(lamp: Device) -> None:
    lamp.turn(1, at_ms=100)
    lamp.tell(Turn(110, 1), final=True)
    assert lamp.get_value("level") == 22

    lamp.turn(1, at_ms=120)
    assert lamp.get_value("level") == 26, "the final turn is the one before the next"


def test_a_turn_whose_steps_are_given_keeps_them(lamp: Device) -> None:
    lamp.tell(Turn(100, 1, 3))
    assert lamp.get_value("level") == 23


@given(stories(), st.data())
def test_moments_that_were_packed_are_as_they_were(story: Story, data: st.DataObject) -> None:
    """More than one page of moments, of which one page is kept."""
    design, events = story
    device = Device(design, live_pages=1)
    moments = [device.present, *device.tell_all(events)]
    while len(moments) < 3 * PAGE:
        device.go(data.draw(st.integers(0, len(moments) - 1)) if len(moments) < 5 else len(moments) - 1)
        moments.append(device.wait(1))

    for number in data.draw(st.lists(st.integers(0, len(moments) - 1), max_size=8)):
        assert device.go(number) == moments[number]
