"""Values that are turned, against section 9.5 of docs/reference/spec.md: the values written out, the place moved."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.home import Home
from knobmenu.design.kinds import Turnable
from knobmenu.design.settings import Choice, Digits, Number, Option, Scale, Switch
from knobmenu.design.whole import Design
from knobmenu.events import Turn
from knobmenu.machine.advance import advance
from knobmenu.machine.changing import turn_value
from knobmenu.machine.effects import AtLimit
from knobmenu.machine.state import get_value, make_initial_state

OPTIONS = tuple(Option(key=key, label=key) for key in ("a", "b", "c"))
KINDS: list[tuple[Turnable, list[int]]] = [
    (Number(key="x", label="X", low=-4, high=8, initial=2, step=3), [-4, -1, 2, 5, 8]),
    (Number(key="x", label="X", low=-4, high=8, initial=2, step=3, ends="wrap"), [-4, -1, 2, 5, 8]),
    (Scale(key="x", label="X", values=(1, 2, 5, 10), initial=2), [1, 2, 5, 10]),
    (Scale(key="x", label="X", values=(1, 2, 5, 10), low=2, initial=2, ends="wrap"), [2, 5, 10]),
    (Choice(key="x", label="X", options=OPTIONS), [0, 1, 2]),
    (Choice(key="x", label="X", options=OPTIONS, ends="wrap"), [0, 1, 2]),
    (Digits(key="x", label="X", low=3, high=9, initial=3), [3, 4, 5, 6, 7, 8, 9]),
]


@given(st.sampled_from(KINDS), st.data(), st.integers(-20, 20))
def test_steps_move_the_place_in_the_list_of_values_and_stop_or_wrap_at_its_ends(
    kind: tuple[Turnable, list[int]], data: st.DataObject, steps: int
) -> None:
    """9.5.3 and 9.5.4."""
    setting, allowed = kind
    design = Design(name="One", settings=[setting], home=Home(turn="x"))
    value = data.draw(st.sampled_from(allowed))
    place = allowed.index(value) + steps
    wraps = getattr(setting, "ends", "stop") == "wrap"
    end = place % len(allowed) if wraps else min(max(place, 0), len(allowed) - 1)

    turned = turn_value(design, make_initial_state(design).values, setting, value, steps)

    assert turned == (allowed[end], not wraps and end != place)


@pytest.mark.parametrize(("before", "detents", "value", "ends"), [
    (False, 1, 1, []), (False, 2, 1, []), (True, 1, 1, ["high"]), (True, -1, 0, []), (False, -3, 0, ["low"]),
])  # fmt: skip
def test_a_switch_is_on_after_turning_up_and_off_after_turning_down(
    before: bool, detents: int, value: int, ends: list[str]
) -> None:
    """9.5.2: where it had that value, a limit is met."""
    design = Design(name="One", settings=[Switch(key="x", label="X", initial=before)], home=Home(turn="x"))

    state, effects = advance(design, make_initial_state(design), Turn(10, detents))

    assert get_value(design, state, "x") == value
    assert [effect.end for effect in effects if isinstance(effect, AtLimit)] == ends
