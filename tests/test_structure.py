"""Designs, events and effects are written as Python that makes them again."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

import knobmenu
from knobmenu.machine.effects import AtLimit, Committed
from knobmenu.structure import Structure
from tests.strategies import designs, traces

NAMES = {name: getattr(knobmenu, name) for name in knobmenu.__all__}


@given(st.data())
def test_what_is_written_of_a_design_and_of_its_events_makes_them_again(data: st.DataObject) -> None:
    design = data.draw(designs())
    events = data.draw(traces(design))

    assert eval(repr(design), NAMES) == design
    assert eval(repr(events), NAMES) == events


def test_each_kind_is_written_with_its_own_name_and_equals_no_other() -> None:
    made: list[Structure] = [knobmenu.Press(5), knobmenu.LongPress(5), knobmenu.Wait(5)]
    made += [Committed("volume", 5), knobmenu.SaveDue("volume", 5), AtLimit("volume", "high")]

    assert [repr(one) for one in made] == [
        "Press(at_ms=5)",
        "LongPress(at_ms=5)",
        "Wait(at_ms=5)",
        "Committed(key='volume', value=5)",
        "SaveDue(key='volume', value=5)",
        "AtLimit(key='volume', end='high')",
    ]
    assert len(set(made)) == len(made)
