"""What the hand does becomes device time, events and moments."""

import attrs

from knobmenu.design.settings import Number
from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.events import Event, LongPress, Press, Report, Turn, Wait
from knobmenu.machine.state import Mode, get_value
from knobmenu.session.hand import STUCK_MS
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline


def session(*designs: Design) -> Session:
    return Session(Timeline(designs), real_ms=10_000)


def list_kinds(trial: Session) -> list[type[Event]]:
    return [type(event) for event in trial.list_events()]


def list_modes(trial: Session) -> list[Mode]:
    return [part.state.mode for part in trial.parts]


def test_device_time_runs_with_real_time(kiln: Design) -> None:
    trial = session(kiln)
    trial.turn(1, 10_250)
    trial.turn(1, 10_400)
    assert trial.list_events() == (Turn(250, 1), Turn(400, 1))


def test_a_quick_spin_is_accelerated_as_the_knob_would_be(kiln: Design) -> None:
    trial = session(kiln)
    trial.spin(3, 10_500)
    assert [event.times for event in trial.list_events() if isinstance(event, Turn)] == [1, 10, 10]


def test_a_press_is_as_long_as_the_real_times_say(kiln: Design) -> None:
    trial = session(kiln)
    trial.press("key", 10_100, "space")
    trial.release("key", 10_599, "space")
    trial.press("mouse", 11_000)
    trial.release("mouse", 11_500)
    assert trial.list_events() == (Press(599), LongPress(1500))


def test_a_hold_is_long_while_it_is_still_held(kiln: Design) -> None:
    trial = session(kiln)
    trial.press("sticky", 10_100)
    assert trial.find_due_ms() == 10_600
    assert trial.pass_time(10_600)
    assert list_kinds(trial) == [LongPress]
    assert trial.hand.down


def test_a_long_press_made_to_measure_lets_go_by_itself(kiln: Design) -> None:
    trial = session(kiln)
    trial.long_press(10_100)
    trial.pass_time(10_650)
    assert list_kinds(trial) == [LongPress]
    assert not trial.hand.down


def test_a_lost_release_lets_go_after_half_a_minute(kiln: Design) -> None:
    trial = session(kiln)
    trial.press("key", 10_000, "space")
    trial.pass_time(10_000 + STUCK_MS)
    assert not trial.hand.down


def test_losing_the_focus_lets_the_knob_go(kiln: Design) -> None:
    trial = session(kiln)
    trial.press("mouse", 10_100)
    trial.blur(10_200)
    assert not trial.hand.down
    assert list_kinds(trial) == [Press]


def test_a_press_while_another_source_holds_is_ignored(kiln: Design) -> None:
    trial = session(kiln)
    trial.press("sticky", 10_100)
    trial.click(10_150)
    trial.press("key", 10_150, "space")
    trial.release("key", 10_180, "space")
    assert trial.hand.by == "sticky"
    assert trial.list_events() == ()


def test_time_alone_saves_and_goes_home(kiln: Design) -> None:
    trial = session(kiln)
    trial.turn(1, 10_100)
    trial.click(10_200)
    due = trial.find_due_ms()
    assert due == 11_100
    assert trial.pass_time(due)
    while (due := trial.find_due_ms()) is not None:
        assert trial.pass_time(due)
    assert list_modes(trial) == [Mode.HOME]
    assert [event for event in trial.list_events() if isinstance(event, Wait)] == [Wait(1100), Wait(5260)]


def test_time_stands_still_in_the_past_and_runs_on_with_a_turn(kiln: Design) -> None:
    trial = session(kiln)
    trial.turn(1, 10_100)
    trial.turn(1, 10_200)
    trial.go_back(10_300)
    assert trial.find_due_ms() is None
    trial.turn(1, 90_000)
    assert trial.at_ms == 200
    trial.turn(1, 90_050)
    assert trial.at_ms == 250
    assert trial.history.branches == 2


def test_going_back_clears_what_is_held(kiln: Design) -> None:
    trial = session(kiln)
    trial.turn(1, 10_100)
    trial.press("sticky", 10_200)
    trial.go_back(10_300)
    assert not trial.hand.down
    trial.go_forward(10_400)
    trial.pass_time(20_000)
    assert LongPress not in list_kinds(trial)


def test_frozen_time_stands_still_and_every_gesture_still_works(kiln: Design) -> None:
    trial = session(kiln)
    trial.freeze(10_100)
    trial.turn(1, 50_000)
    trial.click(60_000)
    trial.long_press(70_000)
    assert list_kinds(trial) == [Wait, Turn, Press, LongPress]
    assert trial.at_ms < 2000
    trial.freeze(80_000)
    assert trial.live


def test_variants_hear_what_their_own_knobs_make_of_one_hand(kiln: Design, other_kiln: Design) -> None:
    trial = session(kiln, other_kiln)
    trial.turn(2, 10_100)
    one, other = trial.parts
    assert (get_value(kiln, one.state, "warm"), get_value(other_kiln, other.state, "warm")) == (42, 38)
    trial.press("key", 10_200, "space")
    trial.release("key", 10_250, "space")
    assert list_modes(trial) == [Mode.BROWSING, Mode.HOME]
    trial.pass_time(10_550)
    assert list_modes(trial) == [Mode.BROWSING, Mode.BROWSING]
    trial.go_back(10_600)
    assert list_modes(trial) == [Mode.BROWSING, Mode.HOME]


def test_what_it_cost_is_counted_since_home(kiln: Design) -> None:
    trial = session(kiln)
    trial.turn(3, 10_100)
    trial.click(10_200)
    trial.turn(-1, 10_700)
    cost = trial.parts[0].cost
    assert (cost.detents, cost.presses, cost.lasted_ms, cost.came_home) == (1, 1, 440, False)
    trial.long_press(11_000)
    trial.pass_time(12_000)
    cost = trial.parts[0].cost
    assert (cost.detents, cost.presses, cost.long_presses, cost.came_home) == (1, 1, 1, True)
    trial.turn(1, 13_000)
    assert trial.parts[0].cost.detents == 1


def test_a_changed_design_keeps_place_and_values(kiln: Design) -> None:
    trial = session(kiln)
    trial.turn(5, 10_100)
    trial.click(10_200)
    warm = kiln.settings[0]
    assert isinstance(warm, Number)
    wider = attrs.evolve(kiln, settings=(attrs.evolve(warm, high=200), *kiln.settings[1:]))
    assert trial.timeline.redesign(0, wider) == ()
    assert list_modes(trial) == [Mode.BROWSING]
    assert get_value(wider, trial.parts[0].state, "warm") == 45
    trial.go_back(10_300, 2)
    assert trial.parts[0].design is wider
    assert list_modes(trial) == [Mode.HOME]


def test_a_value_that_a_changed_design_cannot_take_is_said(kiln: Design) -> None:
    trial = session(kiln)
    warm = kiln.settings[0]
    assert isinstance(warm, Number)
    dropped = trial.timeline.redesign(
        0, attrs.evolve(kiln, settings=(attrs.evolve(warm, low=50, initial=50), *kiln.settings[1:]))
    )
    assert any("warm" in sentence for sentence in dropped)


def test_playing_again_gives_the_same_as_a_device_that_is_told_the_same(kiln: Design) -> None:
    trial = session(kiln)
    trial.turn(5, 10_100)
    trial.click(10_200)
    trial.turn(1, 10_900)
    events = trial.list_events()
    trial.timeline.redesign(0, attrs.evolve(kiln, name="Another"))
    trial.play_again(11_000)
    assert trial.list_events() == events
    device = Device(trial.designs[0])
    device.tell_all(events)
    assert trial.parts[0].state == device.state
    assert trial.history.branches == 2


def test_told_words_come_after_the_present_moment(kiln: Design) -> None:
    trial = session(kiln)
    trial.turn(1, 10_100)
    trial.tell([Report(100, "inside", 300)], 10_200)
    assert trial.parts[0].state.reports == (300,)
    assert trial.at_ms == 200


def test_a_long_day_can_be_gone_back_to_its_beginning(kiln: Design) -> None:
    trial = Session(Timeline([kiln], live_pages=1), 0)
    events = []
    for number in range(1200):
        trial.turn(1 if number % 3 else -1, number * 50)
        events.append(trial.parts[0].event)
    assert len(trial.history) == 1201
    assert trial.list_events() == tuple(events)
    trial.go(1, 100_000)
    assert trial.parts[0].event == events[0]
