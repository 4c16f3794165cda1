"""No attempt takes fewer gestures than the report calls possible, whatever the knob's acceleration makes of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from itertools import groupby
from random import Random
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from knobmenu.analysis.cost.fast import is_accelerated, turn_to_value
from knobmenu.analysis.cost.gestures import PRESS, Gesture, Way, find_fast_gap_ms, perform_all
from knobmenu.analysis.cost.routes import Model, Route, find_least_route_to_condition
from knobmenu.design.domains import get_domain
from knobmenu.design.hardware import Acceleration, Knob
from knobmenu.design.home import Home, Idle
from knobmenu.design.kinds import Setting
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Number, Scale, Switch
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError
from knobmenu.machine.changing import get_number
from knobmenu.machine.state import Mode, NumberDraft, State, make_initial_state
from knobmenu.review.attempts import Attempt, read_attempts
from knobmenu.review.study_form import Setup, read_study
from tests.review.participants import Participant, Plan, Seat, Soon, sit
from tests.review.planted import planted_study
from tests.review.readers import exact, hesitant, lost, overshooting
from tests.sampling import sampled

SLOW_MS = 200
"""From one detent to the next where none is to count more. [ms]"""

AFTER_PRESS_MS = 61
"""The soonest after a press: it lasts 60 ms. [ms]"""

MOST_SAVED = 2
"""Detents that the first one at a value can save where the knob is turning already: docs/reference/report.md."""

_among = st.sampled_from


@st.composite
def accelerated(draw: st.DrawFn) -> tuple[Design, dict[str, Any]]:
    """A design with acceleration, and tasks for it."""
    times = sorted(draw(st.sets(st.integers(2, 25), min_size=1, max_size=3)), reverse=True)
    limits = sorted(draw(st.sets(_among((25, 50, 80, 120, 180)), min_size=len(times), max_size=len(times))))
    rules = [Acceleration(faster_than_ms=ms, times=steps) for ms, steps in zip(limits, times, strict=True)]

    def common(key: str) -> dict[str, Any]:
        return {
            "key": key,
            "label": key.capitalize(),
            "accelerates": draw(_among((True, True, False))),
            "ends": draw(_among(("stop", "stop", "wrap"))),
            "applies": draw(_among(("on-commit", "live"))),
            "on_idle": draw(_among(("revert", "commit"))),
            "on_long_press": draw(_among(("revert", "commit"))),
        }

    step, count = draw(_among((1, 1, 5))), draw(st.integers(10, 150))
    first = Number(low=0, high=step * count, step=step, initial=step * draw(st.integers(0, count)), **common("level"))
    parts: list[Setting] = [first]
    if draw(st.booleans()):
        values = sorted(draw(st.sets(st.integers(-100, 100), min_size=3, max_size=40)))
        parts.append(Scale(values=values, initial=draw(_among(values)), **common("range")))
    elif draw(st.booleans()):
        high = draw(st.integers(5, 30))
        parts[0] = Number(low=0, high="range", initial=draw(st.integers(0, high)), **common("level"))
        parts.append(Number(low=0, high=high, initial=high, **common("range")))
    parts.append(Switch(key="light", label="Light"))
    keys = [part.key for part in parts]
    inner = draw(st.permutations(keys))
    cut = draw(st.integers(0, len(inner)))
    design = Design(
        name="accelerated",
        knob=Knob(acceleration=rules, turns_while_held=draw(_among((False, False, True)))),
        settings=parts,
        menus=(
            Menu(key="main", label="Menu", entries=(*inner[:cut], "more", "back"), ends=draw(_among(("stop", "wrap")))),
            Menu(
                key="more", label="More", entries=(*inner[cut:], "back"), reopens=draw(_among(("first", "last-used")))
            ),
        ),
        home=Home(press="main", turn=draw(_among(("", *keys)))),
        idle=Idle(after_ms=draw(_among((0, 3000)))),
    )
    tasks: dict[str, Any] = {}
    for key, kind in (("level", "equal"), ("level", "at_least"), ("range", "equal")):
        if key not in keys:
            continue
        target = draw(_among([value for value in get_domain(design, key) if value != first_value(design, key)]))
        done = {kind: [key, target]}
        if draw(_among(range(4))) == 0:
            done = {"all": [done, {"equal": ["light", True]}]}
        tasks[f"{key}_{kind}"] = {"text": f"Set {key} to {target}.", "done": done, "give_up_s": 3600}
    return design, tasks


def first_value(design: Design, key: str) -> int:
    return get_number(design, make_initial_state(design).values, key)


def setup_of(design: Design, tasks: dict[str, Any]) -> Setup | None:
    """Return a study of those tasks that can be put before people; None where there is none."""
    able: dict[str, Any] = {}
    for key, task in tasks.items():
        with suppress(DesignError):
            read_study(plain(**{key: task}), lambda file: design)
            able[key] = task
    return read_study(plain(**able), lambda file: design) if able else None


@st.composite
def setups(
    draw: st.DrawFn,
    over: st.SearchStrategy[tuple[Design, dict[str, Any]]] = accelerated(),  # noqa: B008
) -> tuple[Design, Setup]:
    """A design with acceleration, and a study of those of its tasks that can be put before people."""
    design, tasks = draw(over)
    setup = setup_of(design, tasks)
    assume(setup is not None)
    assert setup is not None
    return design, setup


def plain(**tasks: Any) -> dict[str, Any]:
    asked = {"ease": False, "usability_scale": False, "practice_s": 0}
    return {"name": "Fast", **asked, "variants": {"only": "only"}, "tasks": tasks}


# Who turns fast.


def fast_route(seat: Seat) -> Route:
    route = find_least_route_to_condition(seat.model, seat.state(), seat.task.done, reports=True, fast=True)
    assert route is not None
    return route


def fast(seat: Seat, random: Random) -> Plan:
    """Do the least, with a pause before each value, and between detents exactly what makes them worth most."""
    for turning, value in _parts_of(fast_route(seat)):
        if value is not None:
            turning = _turn_from_rest(seat, *value)
        yield from _pace(seat.model.design, turning)


def eager(seat: Seat, random: Random) -> Plan:
    """Do the gestures of the least way at any speed, which may count more or less, and then the least from there."""
    for gesture in fast_route(seat).way:
        for _ in range(gesture.detents or 1):
            soonest_ms = random.choice((0, 0, 30, 90, 250))
            if gesture.kind != "turn":
                yield Soon(gesture, soonest_ms)
                yield AFTER_PRESS_MS if gesture.kind == "press" else 600
            else:
                yield Soon(Gesture("turn", 1 if gesture.amount > 0 else -1), soonest_ms)
    yield SLOW_MS
    yield from fast(seat, random)


def _parts_of(route: Route) -> Iterator[tuple[Way, tuple[str, int] | None]]:
    """Cut a way into presses and turns; of an accelerated value the setting and the value that it is turned to."""
    state = route.start
    for _, gestures in groupby(route.way, lambda gesture: gesture.kind == "turn"):
        part = tuple(gestures)
        key = turned_key(route.design, state)
        state, _ = perform_all(route.design, state, part)
        accelerates = key and is_accelerated(route.design.index.settings[key], route.design.knob)
        turns = part[0].kind == "turn" and accelerates
        yield part, (key, turned_value(route.design, state, key)) if turns else None


def turned_key(design: Design, state: State) -> str:
    """Return the setting that turning changes in a state, or nothing."""
    if isinstance(state.focus, NumberDraft):
        return state.focus.setting
    return design.home.turn if state.mode is Mode.HOME else ""


def turned_value(design: Design, state: State, key: str) -> int:
    focus = state.focus
    return focus.draft if isinstance(focus, NumberDraft) else get_number(design, state.values, key)


def _turn_from_rest(seat: Seat, key: str, value: int) -> Way:
    design, state = seat.model.design, seat.state()
    setting = design.index.settings[key]
    assert is_accelerated(setting, design.knob)
    start = turned_value(design, state, key)
    way = turn_to_value(design, state.values, setting, start, value, held=False, moving=False)
    assert way is not None
    return way


def _pace(design: Design, way: Way) -> Plan:
    for gesture in way:
        if gesture.kind != "turn":
            yield gesture
            continue
        gap_ms = SLOW_MS if gesture.times == 1 else find_fast_gap_ms(design, gesture.times)
        for _ in range(gesture.detents):
            yield Soon(Gesture("turn", 1 if gesture.amount > 0 else -1), gap_ms)


def limits_another(design: Design) -> bool:
    """Tell whether a setting limits another one, so that turning one can push the other."""
    return any(
        isinstance(limit, str) for one in design.settings for limit in (getattr(one, "low", 0), getattr(one, "high", 0))
    )


def attempts_of(setup: Setup, participant: Participant, seed: int) -> Iterator[Attempt]:
    return read_attempts(setup, *sit(setup, participant, seed, seed))


@settings(max_examples=sampled(whole=400, sample=25), deadline=None)
@given(setups(), st.integers(0, 99))
def test_no_attempt_takes_fewer_gestures_than_the_report_calls_possible(put: tuple[Design, Setup], seed: int) -> None:
    design, setup = put
    hands = () if design.knob.turns_while_held else (fast, eager)  # these do not hold the knob
    for participant in (exact, hesitant, overshooting, lost, *hands):
        for attempt in attempts_of(setup, participant, seed):
            assert attempt.extra_gestures is not None
            assert attempt.extra_gestures >= 0 or not attempt.succeeded


@settings(max_examples=sampled(whole=400, sample=25), deadline=None)
@given(
    setups(accelerated().filter(lambda made: not made[0].knob.turns_while_held and not limits_another(made[0]))),
    st.integers(0, 99),
)
def test_who_turns_fast_takes_the_fewest_gestures_but_for_the_first_detents(
    put: tuple[Design, Setup], seed: int
) -> None:
    design, setup = put
    for attempt in attempts_of(setup, fast, seed):
        task = setup.get_task(attempt.trial.task)
        state = setup.starts["only", task.key]
        route = fast_route(Seat(Model(design), task, lambda state=state: state))  # type: ignore[misc]
        values = sum(value is not None for _, value in _parts_of(route))
        trail = setup.trails["only", task.key]
        assert trail is not None
        assert attempt.succeeded
        assert trail.tally == route.tally
        assert trail.gestures <= trail.tally.gestures <= attempt.gestures <= trail.tally.gestures + MOST_SAVED * values


def test_a_value_that_the_hand_comes_to_turning_takes_exactly_the_fewest_gestures() -> None:
    """Worked out by hand: from 100 to 300 by tens is 20 detents, where the knob turns on from the list in time.

    The menu is opened by a press; frequency is its first entry, so nothing is turned before its editor, and the first
    detent is worth one step: 1 + 20 detents to 301, and one back.
    """
    setup = planted_study("none")
    trail = setup.trails["none", "frequency"]
    assert trail is not None
    assert (trail.tally.detents, trail.tally.presses, trail.gestures) == (20, 3, 23)
    (attempt,) = (one for one in attempts_of(setup, fast, 0) if one.trial.task == "frequency")
    assert (attempt.detents, attempt.presses, attempt.extra_gestures) == (22, 3, 2)
    assert attempt.seconds < trail.seconds.high


def tuner(times: int, **more: Any) -> Design:
    """A frequency below a list's first entry, which the knob turns on to."""
    return Design(
        name="tuner",
        knob=Knob(acceleration=(Acceleration(faster_than_ms=200, times=times),)),
        settings=(
            Switch(key="light", label="Light"),
            Number(key="frequency", label="Frequency", low=0, high=999, initial=100, accelerates=True, **more),
        ),
        menus=(Menu(key="main", label="Menu", entries=("light", "frequency", "back")),),
        home=Home(press="main"),
        idle=Idle(after_ms=3000),
    )


def the_attempt(design: Design, done: dict[str, Any], *parts: Gesture | Soon | int) -> Attempt:
    study = read_study(plain(tune={"text": "Tune.", "done": done}), lambda file: design)
    (attempt,) = attempts_of(study, lambda seat, random: iter(parts), 0)
    assert attempt.succeeded
    return attempt


TO_FREQUENCY = (PRESS, Soon(Gesture("turn", 1), SLOW_MS), Soon(PRESS, 0), AFTER_PRESS_MS)


def test_the_first_detent_at_a_value_counts_fast_where_the_knob_turned_just_before() -> None:
    twenty = [Soon(Gesture("turn", 1), 100)] * 20
    attempt = the_attempt(tuner(10), {"equal": ["frequency", 300]}, *TO_FREQUENCY, *twenty, PRESS)

    assert (attempt.detents, attempt.presses, attempt.extra_gestures) == (21, 3, 0)


def test_waiting_in_place_of_the_last_press_is_not_below_the_fewest_either() -> None:
    twenty = [Soon(Gesture("turn", 1), 100)] * 20
    design = tuner(10, on_idle="commit")
    attempt = the_attempt(design, {"equal": ["frequency", 300]}, *TO_FREQUENCY, *twenty, 6000)

    assert (attempt.presses, attempt.extra_gestures) == (2, 0)


def test_any_value_that_is_enough_counts_where_fast_turning_passes_the_first_one() -> None:
    """From 100 by sevens, 29 detents are the fewest to 300 or more: 303."""
    fast = [Soon(Gesture("turn", 1), 100)] * 29
    attempt = the_attempt(tuner(7), {"at_least": ["frequency", 300]}, *TO_FREQUENCY, *fast, PRESS)

    assert (attempt.detents, attempt.extra_gestures) == (30, 0)
