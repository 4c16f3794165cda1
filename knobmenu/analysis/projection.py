"""From states of the machine to abstract states, to compare the analysis with a brute-force search."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from typing import NamedTuple, assert_never

from knobmenu.analysis.abstraction import Abstraction, ValueClass
from knobmenu.analysis.reachability import Reached, find_edit_relation
from knobmenu.analysis.sites import TURNS, Site
from knobmenu.analysis.space import Bits
from knobmenu.design.menu import Action
from knobmenu.design.settings import Switch
from knobmenu.machine.changing import get_number
from knobmenu.machine.state import Asking, Holding, Mode, NumberDraft, State, TextDraft


class AbstractState(NamedTuple):
    """What conditions and gestures can distinguish of a state."""

    site: Site
    mode: Mode
    target: str
    """What is edited, or what a question or a request to hold is about; empty in a list and at home."""
    classes: tuple[tuple[str, ValueClass], ...]
    """The class of each setting of the cone, in order of keys."""


def project(abstraction: Abstraction, keys: Iterable[str], state: State) -> AbstractState:
    """Return the abstract state of a state."""
    design = abstraction.design
    values = {key: get_number(design, state.values, key) for key in keys}
    match state.focus:
        case NumberDraft() | TextDraft():
            target = state.focus.setting
        case Asking() | Holding():
            target = state.focus.target
        case None:
            target = ""
        case _:
            assert_never(state.focus)
    site = tuple(place.menu for place in state.path)
    classes = ((key, find_class_holding(abstraction, key, value)) for key, value in sorted(values.items()))
    return AbstractState(site, state.mode, target, tuple(classes))


def find_class_holding(abstraction: Abstraction, key: str, value: int) -> ValueClass:
    """Return the class of a setting that contains a value."""
    variable = abstraction.get_variable(key)
    classes = variable.classes[variable.keys.index(key)]
    return classes[bisect_left(classes, value, key=lambda item: item.high)]


def list_abstract_states(reached: Reached) -> set[AbstractState]:
    """List every abstract state that was reached, including those in editors and questions."""
    space, found = reached.model.space, set()
    keys = sorted(key for variable in space.variables for key in variable.keys)
    places = {key: place for place, variable in enumerate(space.variables) for key in variable.keys}

    def add(site: Site, mode: Mode, target: str, bits: Bits) -> None:
        while bits:
            states = space.split_number((bits & -bits).bit_length() - 1)
            classes = ((key, space.variables[places[key]].find_class(key, states[places[key]])) for key in keys)
            found.add(AbstractState(site, mode, target, tuple(classes)))
            bits &= bits - 1

    index = reached.model.space.abstraction.design.index
    for site, bits in reached.total.items():
        add(site, Mode.BROWSING if site else Mode.HOME, "", bits)
        for way in reached.model.list_ways(site):
            part = index.actions.get(way.target) or index.settings.get(way.target)
            if part is None or way.by in TURNS:
                continue
            able = bits & reached.mask(way.when)
            if part.confirm != "none":
                add(site, Mode.ASKING if part.confirm == "ask" else Mode.HOLDING, way.target, able)
            if not isinstance(part, Action | Switch):
                if part.applies == "live" and way.target in places:
                    variable = space.variables[places[way.target]]
                    able |= space.image(
                        able, ((places[way.target], find_edit_relation(space.abstraction, variable, way)),)
                    )
                add(site, Mode.EDITING, way.target, able)
    return found
