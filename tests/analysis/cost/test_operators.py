"""The keystroke-level model gives what is published, and says where every operator comes from."""

from __future__ import annotations

import attrs
import pytest

from knobmenu.analysis.cost.gestures import DOUBLE, HOLD, PRESS, Gesture
from knobmenu.analysis.cost.operators import Seconds, load_operators
from knobmenu.analysis.cost.routes import Model, find_least_routes
from knobmenu.machine.state import make_initial_state
from tests.demos.playing import demo


def test_the_published_worked_example_is_reproduced_operator_by_operator() -> None:
    """Totals of Card, Moran and Newell 1980 as a later paper cites them: a check box 2.73 s, one scroll 3.79 s."""
    operators = load_operators()

    assert [operators.get_seconds(name).typical for name in ("P", "M", "K")] == [1.10, 1.35, 0.28]
    assert operators.get_seconds("D").typical == pytest.approx(0.9 * 1 + 0.16 * 1)
    assert operators.add_up("P M K").typical == pytest.approx(2.73)
    assert operators.add_up("P M K D").typical == pytest.approx(3.79)


def test_every_operator_names_its_source_and_the_detent_says_that_it_is_an_assumption() -> None:
    operators = load_operators().by_name

    assert all(operator.source for operator in operators.values())
    assert operators["detent"].source.startswith("Assumption: no operator for a detent is published.")


def test_a_hold_takes_the_long_press_of_the_design() -> None:
    design = demo("instrument")

    assert load_operators().time_gesture(design, HOLD) == Seconds(0.6, 0.6, 0.6)


def test_a_press_costs_the_double_press_time_more_where_there_is_one() -> None:
    design, operators = demo("instrument"), load_operators()
    single = attrs.evolve(
        design, knob=attrs.evolve(design.knob, double_press_ms=0), home=attrs.evolve(design.home, double_press="")
    )

    more = operators.time_gesture(design, PRESS).typical - operators.time_gesture(single, PRESS).typical
    assert more == pytest.approx(0.25)
    assert operators.time_gesture(design, DOUBLE).typical == pytest.approx(0.56)


def test_a_way_is_homed_once_and_prepared_once_a_screen() -> None:
    model = Model(demo("radio"))
    route = find_least_routes(model, make_initial_state(model.design), ["bass"]).routes["bass"]

    # Press, turn to Tone, press, press: three screens are read, from home to the list that holds Bass.
    assert [gesture.kind for gesture in route.way] == ["press", "turn", "press", "press"]
    expected = model.operators.add_up("H M K M detent K M K")
    assert attrs.astuple(route.seconds) == pytest.approx(attrs.astuple(expected))


def test_a_run_of_held_turning_is_pressed_down_once() -> None:
    operators = load_operators()
    run = operators.time_gesture(demo("radio"), Gesture("held", 3))

    assert run.typical == pytest.approx(0.28 + 3 * 0.24)
