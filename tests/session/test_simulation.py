"""What a design says of its surroundings happens, at its own times, whoever looks and however often."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import attrs
from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.design.conditions import AtLeast, Equal
from knobmenu.design.home import Home
from knobmenu.design.menu import Action, Menu, Readout
from knobmenu.design.settings import Number
from knobmenu.design.simulation import Approach, Behaviour, Case, Countdown, End, Noise, Ramp, SetBy
from knobmenu.design.whole import Design
from knobmenu.device.moment import Moment
from knobmenu.events import Event, LongPress, Press, Report, Turn, Wait
from knobmenu.session.behaviours import ApproachSegment, compute_fine_value, compute_noise
from knobmenu.session.decay import BITS, decay
from knobmenu.session.interleaving import interleave_reports
from knobmenu.session.session import Session
from knobmenu.session.surroundings import Response
from knobmenu.session.timeline import Timeline

HEATER = SetBy(key="heat", cases=[Case(action="start", value=1), Case(action="halt", value=0)])
OVEN = Approach(key="now", to="target", when=Equal("heat", 1), rest=200, time_constant_ms=60_000)
CLOCK = Countdown(
    key="left", begin="minutes", unit_ms=60_000, started_by=["start"], stopped_by=["halt"],
    ends=[End(readout="heat", value=0), End(readout="phase", value=3)],
)  # fmt: skip
PHASE = SetBy(
    key="phase", cases=[Case(when=AtLeast("now", 400), value=2), Case(when=Equal("heat", 1), value=1),
                        Case(when=Equal("heat", 0), value=0)],
)  # fmt: skip


def oven(*behaviours: Behaviour, speed: int = 1) -> Design:
    """An invented oven that a press at home starts and a long press stops."""
    return Design(
        name="Oven",
        settings=[
            Number(key="target", label="Target", low=0, high=3000, initial=500, decimals=1, applies="live"),
            Number(key="minutes", label="Minutes", low=1, high=90, initial=5),
        ],
        actions=[Action(key="start", label="Start"), Action(key="halt", label="Halt")],
        readouts=[
            Readout(key="now", label="Now", initial=200, decimals=1),
            Readout(key="heat", label="Heat"),
            Readout(key="left", label="Left", initial=5),
            Readout(key="phase", label="Phase"),
        ],
        menus=[Menu(key="main", label="Main", entries=["minutes"])],
        home=Home(turn="target", press="start", long_press="halt"),
        simulation=behaviours,
        simulation_speed=speed,
    )


def reports(design: Design, events: Sequence[Event]) -> list[Report]:
    return [event for event in interleave_reports(design, events) if isinstance(event, Report)]


def values(told: Sequence[Report], key: str) -> list[tuple[int, int]]:
    return [(report.at_ms, report.value) for report in told if report.key == key]


def test_an_action_sets_a_readout_at_once() -> None:
    assert reports(oven(HEATER), [Press(100), Wait(200)]) == [Report(100, "heat", 1)]


def test_a_countdown_ends_in_its_reports() -> None:
    told = reports(oven(HEATER, CLOCK), [Press(1000), Wait(600_000)])

    assert values(told, "left") == [(1000 + 60_000 * passed, 5 - passed) for passed in range(1, 6)]
    assert told[-2:] == [Report(301_000, "heat", 0), Report(301_000, "phase", 3)]


def test_a_countdown_from_zero_ends_at_once_whatever_happens_later() -> None:
    minutes = Number(key="minutes", label="Minutes", low=0, high=90, initial=0)
    still = oven(HEATER, CLOCK)
    readouts = [attrs.evolve(one, initial=0) if one.key == "left" else one for one in still.readouts]
    design = attrs.evolve(still, settings=[still.settings[0], minutes], readouts=readouts)
    begun, ended = Report(1000, "heat", 1), [Report(1000, "heat", 0), Report(1000, "phase", 3)]

    told = reports(design, [Press(1000), Wait(600_000)])

    assert told == reports(design, [Press(1000), Wait(1000), Wait(600_000)])
    assert told == [begun, *ended]


def test_a_countdown_that_is_set_to_zero_ends_at_once() -> None:
    told = reports(oven(HEATER, CLOCK), [Press(1000), Report(2000, "left", 0), Wait(600_000)])

    assert told[-2:] == [Report(2000, "heat", 0), Report(2000, "phase", 3)]


def test_a_stopped_countdown_shows_its_setting_again() -> None:
    long = [Press(0), Wait(130_000)]
    told = reports(oven(CLOCK), [*long, LongPress(130_000), Wait(140_000)])

    assert values(told, "left") == [(60_000, 4), (120_000, 3), (130_000, 5)]


def test_what_follows_from_the_end_comes_before_what_is_reported_there() -> None:
    told = reports(oven(HEATER, CLOCK, PHASE), [Press(0), Wait(400_000)])

    assert values(told, "phase")[-2:] == [(300_000, 0), (300_000, 3)]


@given(st.integers(0, 40_000_000), st.integers(1, 2_000_000))
def test_the_decay_is_the_exponential(elapsed_ms: int, time_constant_ms: int) -> None:
    """Against `math.exp` of the C library, which is good to about one part in 2**53."""
    exact = math.exp(-elapsed_ms / time_constant_ms)

    assert abs(decay(elapsed_ms, time_constant_ms) / 2**BITS - exact) < 1e-13


@given(st.integers(-3000, 3000), st.integers(-3000, 3000), st.integers(1, 10**6), st.integers(0, 10**7))
def test_a_first_order_response_is_within_one_unit_of_the_exact_one(
    start: int, goal: int, time_constant_ms: int, at_ms: int
) -> None:
    segment = ApproachSegment(goal, time_constant_ms, 0, start << 16)
    exact = goal + (start - goal) * math.exp(-at_ms / time_constant_ms)

    assert abs((compute_fine_value(segment, at_ms) + 2**15 >> 16) - exact) <= 0.51


def test_every_report_of_an_approach_is_within_one_unit_of_the_exact_response() -> None:
    told = values(reports(oven(HEATER, OVEN), [Press(5000), Wait(400_000)]), "now")

    assert len(told) > 100
    assert all(value != before for (_, before), (_, value) in pairwise(told)), "only changes"
    for at_ms, value in told:
        assert abs(value - (500 - 300 * math.exp(-(at_ms - 5000) / 60_000))) <= 1
    assert told[-1][1] == 500


def test_an_approach_turns_round_when_its_condition_ends() -> None:
    told = values(reports(oven(HEATER, OVEN), [Press(0), LongPress(60_000), Wait(120_000)]), "now")
    hottest = 500 - 300 * math.exp(-1)

    assert abs(max(value for _, value in told) - hottest) <= 1
    assert abs(told[-1][1] - (200 + (hottest - 200) * math.exp(-1))) <= 1


def test_a_ramp_takes_equal_steps_and_repeats() -> None:
    sweep = Ramp(key="now", to=206, step=2, every_ms=100, repeats=True)

    assert values(reports(oven(sweep), [Wait(500)]), "now") == [
        (100, 202), (200, 204), (300, 206), (400, 200), (500, 202),
    ]  # fmt: skip


def test_a_ramp_stops_where_it_is_when_its_condition_ends() -> None:
    ramp = Ramp(key="now", to=300, when=Equal("heat", 1), every_ms=100)

    told = values(reports(oven(HEATER, ramp), [Press(0), LongPress(1050), Wait(5000)]), "now")

    assert told[-1] == (1000, 210)


def test_noise_is_even_and_the_same_each_time() -> None:
    drawn = [compute_noise(7, number, 2) for number in range(20_000)]

    assert set(drawn) == {-2, -1, 0, 1, 2}
    # Chi-square with 4 degrees of freedom: 18.5 at 0.1 % (NIST/SEMATECH e-Handbook, table 1.3.6.7.4: 18.467).
    assert sum((drawn.count(value) - 4000) ** 2 / 4000 for value in range(-2, 3)) < 18.467
    assert drawn == [compute_noise(7, number, 2) for number in range(20_000)]
    assert drawn != [compute_noise(8, number, 2) for number in range(20_000)]


def test_a_measurement_has_noise_around_another_value() -> None:
    design = oven(Noise(key="now", around="target", spread=3, every_ms=500))
    told = values(reports(design, [Turn(10_000, 5), Wait(20_000)]), "now")

    assert all(abs(value - 500) <= 3 for at_ms, value in told if at_ms < 10_000)
    assert all(abs(value - 505) <= 3 for at_ms, value in told if at_ms > 10_500)


def test_a_report_by_hand_overrides_and_the_behaviour_continues_from_there() -> None:
    told = list(interleave_reports(oven(HEATER, OVEN), [Press(0), Report(60_000, "now", 900), Wait(120_000)]))
    last = [event for event in told if isinstance(event, Report)][-1]

    assert abs(last.value - (500 + 400 * math.exp(-1))) <= 1


EVERYTHING = (HEATER, attrs.evolve(OVEN, every_ms=3000), CLOCK, PHASE)
gestures = st.lists(
    st.tuples(st.sampled_from(("press", "long", "turn", "wait", "override")), st.integers(0, 30_000)), max_size=8
)


def _trace(done: Sequence[tuple[str, int]], factor: int = 1) -> list[Event]:
    at_ms = 0
    events: list[Event] = []
    for what, gap in done:
        at_ms += gap * factor
        match what:
            case "press":
                events.append(Press(at_ms))
            case "long":
                events.append(LongPress(at_ms))
            case "turn":
                events.append(Turn(at_ms, gap % 40 - 20 or 1))
            case "override":
                events.append(Report(at_ms, "now", gap % 600))
            case _:
                events.append(Wait(at_ms))
    return [*events, Wait(at_ms + 200_000 * factor)]


@settings(max_examples=40)
@given(gestures, st.lists(st.integers(0, 1_000_000), max_size=20))
def test_the_same_trace_gives_the_same_reports_however_often_time_is_told(
    done: Sequence[tuple[str, int]], told_at: list[int]
) -> None:
    design = oven(*EVERYTHING)
    events = _trace(done)
    often = sorted([*events, *(Wait(at_ms) for at_ms in told_at)], key=lambda event: event.at_ms)
    last_ms = events[-1].at_ms

    assert [event for event in reports(design, often) if event.at_ms <= last_ms] == reports(design, events)


@settings(max_examples=40)
@given(gestures, st.sampled_from((2, 10, 60)))
def test_speed_changes_nothing_but_the_clock(done: Sequence[tuple[str, int]], speed: int) -> None:
    slow = reports(oven(*EVERYTHING), _trace(done, speed))
    fast = reports(oven(*EVERYTHING, speed=speed), _trace(done))

    assert [(report.key, report.value) for report in fast] == [(report.key, report.value) for report in slow]
    assert [report.at_ms for report in fast] == [-(-report.at_ms // speed) for report in slow]


@settings(max_examples=40)
@given(gestures)
def test_a_trace_that_was_saved_with_its_reports_plays_the_same(done: Sequence[tuple[str, int]]) -> None:
    design = oven(*EVERYTHING)
    saved = list(interleave_reports(design, _trace(done)))

    assert list(interleave_reports(design, saved)) == saved


@settings(max_examples=40)
@given(st.lists(st.integers(1, 30_000), max_size=30))
def test_a_session_reports_at_the_same_times_whenever_it_is_woken(gaps: list[int]) -> None:
    def session(woken: Sequence[int]) -> list[Event]:
        trial = Session(Timeline([oven(*EVERYTHING)]), 1000)
        trial.click(2000)
        for real_ms in woken:
            trial.pass_time(real_ms)
        trial.pass_time(400_000)
        return [event for event in trial.list_events() if isinstance(event, Report)]

    at_ms, woken = 3000, []
    for gap in gaps:
        at_ms = min(at_ms + gap, 399_000)
        woken.append(at_ms)

    assert session(woken) == session([])
    assert session([])


def test_going_back_takes_the_surroundings_back() -> None:
    trial = Session(Timeline([oven(*EVERYTHING)], live_pages=1), 0)
    trial.click(100)
    trial.pass_time(400_000)
    before = trial.parts[0].response
    place = trial.history.place
    trial.go(3, 400_000)
    trial.go(place, 400_000)

    assert trial.parts[0].response == before


def test_any_callable_can_be_the_surroundings() -> None:
    def doubled(design: Design, memory: object, moment: Moment) -> Response:
        """Report twice the target, 50 ms after it changed."""
        target, now = moment.state.values[0][0], moment.state.reports[0]
        assert isinstance(target, int)
        return Response(None, None if now == 2 * target else Report(moment.at_ms + 50, "now", 2 * target))

    told = list(interleave_reports(oven(), [Turn(100, 1), Wait(1000)], doubled))

    assert told == [Report(50, "now", 1000), Turn(100, 1), Report(150, "now", 1002), Wait(1000)]


def test_two_readouts_that_set_each_other_for_ever_come_to_rest() -> None:
    heat = SetBy(key="heat", cases=[Case(when=Equal("phase", 1), value=0), Case(when=Equal("phase", 0), value=1)])
    phase = SetBy(key="phase", cases=[Case(when=Equal("heat", 1), value=1), Case(when=Equal("heat", 0), value=0)])
    trial = Session(Timeline([oven(heat, phase)]), 0)

    trial.pass_time(10)

    assert len(trial.history) < 400


def test_a_changed_design_keeps_what_is_under_way() -> None:
    design = oven(*EVERYTHING)
    timeline = Timeline([design])
    trial = Session(timeline, 0)
    trial.click(0)
    trial.pass_time(130_000)
    timeline.redesign(0, attrs.evolve(design, name="Oven 2"))
    trial.pass_time(185_000)

    left = [report.value for report in trial.list_events() if isinstance(report, Report) and report.key == "left"]
    assert left == [4, 3, 2]
