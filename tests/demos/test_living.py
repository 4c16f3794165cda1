"""Every demo lives while it is tried: it does what its simulation says."""

from __future__ import annotations

from importlib.resources import files

import pytest

from knobmenu.design.simulation import walk_actions
from knobmenu.events import Event, Report
from knobmenu.files.toml import loads
from knobmenu.machine.state import get_value
from knobmenu.session.interleaving import interleave_reports
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from knobmenu.trace import parse_trace
from tests.demos.playing import demo


def reported(name: str, trace: str, readout: str) -> list[int]:
    told: list[Event] = list(interleave_reports(demo(name), parse_trace(trace)))
    return [event.value for event in told if isinstance(event, Report) and event.key == readout]


def test_the_proofer_warms_rises_and_is_done_after_ninety_seconds() -> None:
    trace = "press 3 press 1 press wait 100000"

    assert reported("proofer", trace, "phase") == [1, 2, 0, 3]
    assert max(reported("proofer", trace, "now")) == 270
    assert reported("proofer", trace, "left") == [*range(89, -1, -1)]


def test_the_darkroom_timer_shines_for_ten_seconds() -> None:
    told = [
        event
        for event in interleave_reports(demo("darkroom"), parse_trace("press wait 20000"))
        if isinstance(event, Report)
    ]
    shone = [event.at_ms for event in told if event.key == "shining"]

    assert shone[1] - shone[0] == 10_100


def test_the_instrument_measures_what_it_puts_out() -> None:
    measured = reported("instrument", "hold wait 20000", "input-level")

    assert measured
    assert all(abs(value) <= 3 for value in measured)


def test_the_reception_of_the_radio_comes_and_goes() -> None:
    assert reported("radio", "wait 20000", "signal") == [2, 1, 3, 2, 1]


@pytest.mark.parametrize("name", ["radio", "proofer", "darkroom", "instrument"])
def test_a_key_of_the_moderator_overrides_a_readout(name: str) -> None:
    design = demo(name)
    trial = Session(Timeline([design]), 0)

    for bound in design.simulation_keys:
        assert trial.press_simulation_key(bound.key, 1000) == (bound.label,)
        assert get_value(design, trial.parts[0].state, bound.readout) in bound.values

    assert trial.press_simulation_key("f9", 2000) == ()


def test_each_exposure_of_the_darkroom_timer_counts_a_print() -> None:
    trace = "press wait 20000 press wait 20000 press wait 20000"

    assert reported("darkroom", trace, "prints") == [1, 2, 3]


def test_draining_the_proofer_empties_its_pan_and_it_stays_empty() -> None:
    trace = "press 9 press press hold wait 100000"
    design = demo("proofer")
    drained = [event for event in interleave_reports(design, parse_trace(trace)) if isinstance(event, Report)]

    assert [event.value for event in drained if event.key == "draining"] == [5, 4, 3, 2, 1, 0]
    assert [event.value for event in drained if event.key == "water"] == [0]


ACTIONS = [(name, action.key) for name in ("proofer", "darkroom", "instrument") for action in demo(name).actions]


@pytest.mark.parametrize(("name", "action"), ACTIONS)
def test_every_action_of_a_demo_is_answered(name: str, action: str) -> None:
    behaviours = demo(name).simulation

    assert action in {key for behaviour in behaviours for _, key in walk_actions(behaviour)}


@pytest.mark.parametrize("name", ["radio", "proofer", "darkroom", "instrument"])
def test_every_readout_of_a_demo_can_change(name: str) -> None:
    design = demo(name)
    moved = {behaviour.key for behaviour in design.simulation} | {bound.readout for bound in design.simulation_keys}

    # What version it is never changes.
    assert {readout.key for readout in design.readouts} - moved <= {"version"}


def test_the_shipped_box_warms_to_what_is_set_and_stops_when_its_time_is_over() -> None:
    box = loads(files("knobmenu.terminal").joinpath("demo.toml").read_text(encoding="utf-8"))
    trace = parse_trace("press 5 press 1 press wait 200000")
    told = [event for event in interleave_reports(box, trace) if isinstance(event, Report)]

    assert [event.value for event in told if event.key == "heat"] == [1, 0]
    assert max(event.value for event in told if event.key == "inside") == 270
