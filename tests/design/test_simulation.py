"""Simulated surroundings that cannot work are refused when the design loads, and their nearest neighbours are not."""

from __future__ import annotations

from typing import Any

import attrs
import pytest

from knobmenu.design.conditions import Less
from knobmenu.design.fields import INT32_HIGH, INT32_LOW
from knobmenu.design.home import Home
from knobmenu.design.menu import Action, Readout
from knobmenu.design.settings import Number, TextSetting
from knobmenu.design.simulation import (
    Approach,
    Behaviour,
    Case,
    Countdown,
    End,
    Noise,
    Ramp,
    SetBy,
    SimulationKey,
)
from knobmenu.design.whole import Design, strip_simulation
from knobmenu.errors import DesignError
from knobmenu.files.toml import loads

TANKS = """
format = 1
name = "Tanks"

[display]
kind = "character"

[home]
rows = ["{a} {b} {c}"]
press = "go"

[actions.go]
label = "Go"

[readouts.a]
label = "A"
[readouts.b]
label = "B"
[readouts.c]
label = "C"
"""

SET = 'kind = "set"\ncases = [{{ when = {{ less = ["c", 5] }}, value = "{}" }}]'
COPY = 'kind = "set"\ncases = [{{ action = "go", value = "{}" }}]'
NOISE = 'kind = "noise"\naround = "{}"\nspread = 1'
APPROACH = 'kind = "approach"\nto = "{}"\ntime_constant_ms = 1000'


def tanks(**behaviours: str) -> str:
    return TANKS + "".join(f"\n[simulation.{key}]\n{text}\n" for key, text in behaviours.items())


@pytest.mark.parametrize(
    ("behaviours", "cycle"),
    [
        ({"a": SET.format("b"), "b": SET.format("a")}, '"a" from "b" from "a"'),
        ({"a": NOISE.format("b"), "b": NOISE.format("c"), "c": SET.format("a")}, '"a" from "b" from "c" from "a"'),
        ({"a": NOISE.format("b"), "b": NOISE.format("c"), "c": NOISE.format("b")}, '"b" from "c" from "b"'),
    ],
)
def test_readouts_that_take_their_values_from_each_other_are_refused(behaviours: dict[str, str], cycle: str) -> None:
    with pytest.raises(DesignError) as caught:
        loads(tanks(**behaviours))

    (problem,) = caught.value.problems
    assert problem.path == f"simulation.{cycle[1]}"
    assert cycle in str(problem)


@pytest.mark.parametrize(
    "behaviours",
    [
        {"a": SET.format("b"), "b": COPY.format("a")},
        {"a": NOISE.format("b"), "b": NOISE.format("c"), "c": APPROACH.format("a")},
        {"a": APPROACH.format("b"), "b": APPROACH.format("a")},
    ],
)
def test_a_cycle_with_a_value_of_its_own_loads(behaviours: dict[str, str]) -> None:
    assert len(loads(tanks(**behaviours)).simulation) == len(behaviours)


@pytest.mark.parametrize("key", ["f1", "f10", "space", "l"])
def test_a_key_of_the_moderator_that_the_app_uses_is_refused(key: str) -> None:
    bound = f'\n[[simulation_keys]]\nkey = "{key}"\nlabel = "A"\nreadout = "a"\nvalues = [1]\n'

    with pytest.raises(DesignError, match="f2"):
        loads(TANKS + bound)
    assert loads(TANKS + bound.replace(f'"{key}"', '"f2"', 1)).simulation_keys


@pytest.mark.parametrize(
    ("case", "got"),
    [
        ('{ action = "go" }', "neither"),
        ('{ action = "go", value = 1, step = 1 }', "both"),
        ('{ when = { less = ["b", 1] }, step = 1 }', "a value, since a condition"),
    ],
)
def test_a_case_has_a_value_or_a_step_of_an_action(case: str, got: str) -> None:
    with pytest.raises(DesignError, match=got):
        loads(tanks(a=f'kind = "set"\ncases = [{case}]'))
    assert loads(tanks(a='kind = "set"\ncases = [{ action = "go", step = 1 }]')).simulation


LEVELS = Design(
    name="Levels",
    settings=[
        Number(key="target", label="Target", low=0, high=100, initial=20),
        Number(key="fine", label="Fine", low=0, high=100, initial=20, decimals=1),
        TextSetting(key="owner", label="Owner"),
    ],
    actions=[Action(key="go", label="Go"), Action(key="halt", label="Halt")],
    readouts=[
        Readout(key="level", label="Level", low=-5, high=50),
        Readout(key="free", label="Free"),
        Readout(key="exact", label="Exact", decimals=1),
    ],
    home=Home(turn="target"),
)
"""A device whose surroundings are tried out below."""


def _approach(to: int | str, key: str = "level", rest: int | str | None = None) -> Approach:
    return Approach(key=key, to=to, rest=rest, time_constant_ms=1000)


def _countdown(**fields: Any) -> Countdown:
    return Countdown(**{"key": "level", "begin": 9, "unit_ms": 1000, "started_by": ["go"], **fields})


def _set_by(**fields: Any) -> SetBy:
    return SetBy(key="level", cases=[Case(action="go", value=0), Case(**fields)])


LESS = Less("free", 3)

BEHAVIOURS = [
    ("simulation.levle", 'Did you mean "level"', [_approach(1, "levle")], [_approach(1)]),
    ("simulation.target", "expected a readout", [_approach(1, "target")], [_approach("target")]),
    ("simulation.level", "each readout once", [_approach(1), _approach(2)], [_approach(1), _approach(2, "free")]),
    ("simulation.level.to", 'Did you mean "target"', [_approach("tarket")], [_approach("target")]),
    ("simulation.level.to", "a setting or a readout", [_approach("owner")], [_approach("free")]),
    ("simulation.level.to", "another value", [_approach("level")], [_approach("free")]),
    ("simulation.level.to", "which has 1 decimals", [_approach("fine")], [_approach("fine", "exact")]),
    ("simulation.level.rest", "which has 1 decimals", [_approach(0, rest="exact")], [_approach(0, rest="free")]),
    ("simulation.exact.to", "which has 0 decimals", [_approach("target", "exact")], [_approach(5, "exact")]),
    ("simulation.level.to", "a value from -5 to 50", [_approach(51)], [_approach(50)]),
    ("simulation.level.rest", "a value from -5 to 50", [_approach(0, rest=-6)], [_approach(0, rest=-5)]),
    (
        "simulation.level.to",
        "a value from -5 to 50",
        [Ramp(key="level", to=51)],
        [Ramp(key="level", to=50, rest=-5), Ramp(key="free", to=INT32_HIGH, rest=INT32_LOW)],
    ),
    (
        "simulation.level.around",
        "a value from -5 to 50",
        [Noise(key="level", around=-6, spread=1)],
        [Noise(key="level", around=-5, spread=1)],
    ),
    ("simulation.level.begin", "a value from -5 to 50", [_countdown(begin=51)], [_countdown(begin=50)]),
    ("simulation.level.cases[1].value", "-5 to 50", [_set_by(when=LESS, value=51)], [_set_by(when=LESS, value=50)]),
    (
        "simulation.level.cases[1].action",
        'Did you mean "halt"',
        [_set_by(action="hatl", step=1)],
        [_set_by(action="halt", step=9999)],
    ),
    ("simulation.level.started_by[1]", "an action", [_countdown(started_by=["go", "og"])], [_countdown()]),
    (
        "simulation.level.stopped_by[0]",
        "an action",
        [_countdown(stopped_by=["target"])],
        [_countdown(stopped_by=["go"])],
    ),
    (
        "simulation.level.ends[0].readout",
        'Did you mean "free"',
        [_countdown(ends=[End(readout="fere", value=1)])],
        [_countdown(ends=[End(readout="free", value=1)])],
    ),
    (
        "simulation.level.ends[1].value",
        "a value from -5 to 50",
        [_countdown(ends=[End(readout="free", value=INT32_HIGH), End(readout="level", value=51)])],
        [_countdown(ends=[End(readout="free", value=INT32_LOW), End(readout="level", value=-5)])],
    ),
    (
        "simulation.level.cases[1].when",
        'unknown key "fere"',
        [_set_by(when=Less("fere", 3), value=1)],
        [_set_by(when=LESS, value=1)],
    ),
    (
        "simulation.level.when",
        'unknown key "fere"',
        [Noise(key="level", around=1, spread=0, when=Less("fere", 3))],
        [Noise(key="level", around=1, spread=0, when=LESS)],
    ),
]


@pytest.mark.parametrize(("path", "words", "refused", "accepted"), BEHAVIOURS)
def test_a_behaviour_that_does_not_fit_the_design_is_refused_and_its_neighbour_is_not(
    path: str, words: str, refused: list[Behaviour], accepted: list[Behaviour]
) -> None:
    assert attrs.evolve(LEVELS, simulation=accepted).simulation == tuple(accepted)

    with pytest.raises(DesignError) as caught:
        attrs.evolve(LEVELS, simulation=refused)
    (problem,) = caught.value.problems
    assert problem.path == path
    assert words in str(problem)


def _bind(key: str, readout: str = "level", values: tuple[int, ...] = (0, 50)) -> SimulationKey:
    return SimulationKey(key=key, label="Moves", readout=readout, values=values)


@pytest.mark.parametrize(
    ("path", "words", "refused", "accepted"),
    [
        ("simulation_keys[2].key", "each key once", ("f2", "f3", "f2"), ("f2", "f3", "f4")),
        ("simulation_keys[1].readout", 'Did you mean "level"', ("f2", ("f3", "levle")), ("f2", ("f3", "free"))),
        (
            "simulation_keys[0].values[1]",
            "a value from -5 to 50",
            (("f2", "level", (-5, -6, 50)),),
            (("f2", "level", (-5, 50)),),
        ),
    ],
)
def test_a_key_of_the_moderator_is_bound_once_and_reports_what_a_readout_can_be(
    path: str, words: str, refused: tuple[Any, ...], accepted: tuple[Any, ...]
) -> None:
    def bind(all_: tuple[Any, ...]) -> Design:
        keys = [_bind(one) if isinstance(one, str) else _bind(*one) for one in all_]
        return attrs.evolve(LEVELS, simulation_keys=keys)

    assert len(bind(accepted).simulation_keys) == len(accepted)
    with pytest.raises(DesignError) as caught:
        bind(refused)
    (problem,) = caught.value.problems
    assert problem.path == path
    assert words in str(problem)


@pytest.mark.parametrize(
    ("fields", "path", "got"),
    [
        ({"action": "go", "when": LESS, "value": 1}, "action", "both"),
        ({"value": 1}, "action", "neither"),
        ({"action": "go"}, "value", "neither"),
        ({"when": LESS}, "value", "neither"),
        ({"when": LESS, "value": 0, "step": 0}, "value", "both"),
        ({"when": LESS, "step": 0}, "step", "0"),
    ],
)
def test_a_case_has_one_cause_and_one_value(fields: dict[str, Any], path: str, got: str) -> None:
    with pytest.raises(DesignError) as caught:
        Case(**fields)
    (problem,) = caught.value.problems
    assert (problem.path, problem.got) == (path, got)


@pytest.mark.parametrize(
    "fields", [{"action": "go", "value": 0}, {"action": "go", "step": 0}, {"when": LESS, "value": 0}]
)
def test_zero_is_a_value_and_a_step_like_others(fields: dict[str, Any]) -> None:
    assert Case(**fields)


@pytest.mark.parametrize(
    "fields",
    [
        {"simulation": [_approach(1)]},
        {"simulation_keys": [_bind("f2")]},
        {"simulation_speed": 2},
        {"simulation": [_approach(1)], "simulation_keys": [_bind("f2")], "simulation_speed": 3600},
    ],
)
def test_the_device_alone_has_nothing_of_its_surroundings_and_is_otherwise_the_same(fields: dict[str, Any]) -> None:
    assert strip_simulation(attrs.evolve(LEVELS, **fields)) == LEVELS
    assert strip_simulation(LEVELS) is LEVELS
