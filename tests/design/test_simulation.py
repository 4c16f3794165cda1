"""Simulated surroundings that cannot work are refused when the design loads, and their nearest neighbours are not."""

from __future__ import annotations

import pytest

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
