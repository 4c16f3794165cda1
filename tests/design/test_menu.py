"""What readouts and actions declare for those who analyse a design."""

import attrs
import pytest

from knobmenu.design.home import Home
from knobmenu.design.menu import Action, Menu, Readout
from knobmenu.design.settings import Switch, TextSetting
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError
from knobmenu.events import Report
from knobmenu.machine.advance import advance
from knobmenu.machine.state import get_value, make_initial_state

SMALL = Design(
    name="Small",
    home=Home(press="main"),
    settings=(Switch(key="mute", label="Mute"),),
    actions=(Action(key="reset", label="Reset", resets=("mute",)),),
    readouts=(Readout(key="signal", label="Signal", low=-5, high=5),),
    menus=(Menu(key="main", label="Main", entries=("mute", "reset", "signal")),),
)


def test_a_report_outside_of_the_declared_range_is_taken_as_it_is() -> None:
    state, _ = advance(SMALL, make_initial_state(SMALL), Report(10, "signal", 99))
    assert get_value(SMALL, state, "signal") == 99


@pytest.mark.parametrize(
    ("fields", "path"),
    [
        ({"low": 3, "high": 2, "initial": 3}, "high"),
        ({"low": 1}, "initial"),
        ({"high": -1}, "initial"),
        ({"high": 5, "names": ((6, "Six"),)}, "names.6"),
    ],
)
def test_a_range_that_excludes_what_the_readout_shows_is_refused(fields: dict[str, object], path: str) -> None:
    with pytest.raises(DesignError) as refused:
        Readout(key="signal", label="Signal", **fields)  # type: ignore[arg-type]
    assert [problem.path for problem in refused.value.problems] == [path]


@pytest.mark.parametrize(("resets", "place"), [(("muet",), 0), (("mute", "signal"), 1), (("mute", "mute"), 1)])
def test_an_action_resets_settings_of_its_design_once_each(resets: tuple[str, ...], place: int) -> None:
    with pytest.raises(DesignError) as refused:
        attrs.evolve(SMALL, actions=(Action(key="reset", label="Reset", resets=resets),))
    assert [problem.path for problem in refused.value.problems] == [f"actions.reset.resets[{place}]"]


@pytest.mark.parametrize(("turn", "advice"), [("zane", 'Did you mean "zone"?'), ("owner", "")])
def test_a_setting_that_home_cannot_turn_is_not_taken_for_a_slip(turn: str, advice: str) -> None:
    settings = Switch(key="zone", label="Zone"), TextSetting(key="owner", label="Owner")

    with pytest.raises(DesignError) as refused:
        Design(name="Lamp", settings=settings, home=Home(turn=turn))

    assert [(problem.path, problem.advice) for problem in refused.value.problems] == [("home.turn", advice)]
