"""The selection moves among the entries that are shown, as a list of those alone would have it."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest

from knobmenu.design.conditions import Equal
from knobmenu.design.home import Home
from knobmenu.design.menu import Entry, Menu
from knobmenu.design.settings import ENDS, Ends, Switch
from knobmenu.design.whole import Design
from knobmenu.machine.state import Place, State, make_initial_state
from knobmenu.machine.values import pack
from knobmenu.machine.walking import choose_open_place, find_nearest_shown, find_neighbour, move_selection, settle

KEYS = "abcd"

SHOWN = [[place for place, is_on in enumerate(switches) if is_on] for switches in product((0, 1), repeat=len(KEYS))]
"""Every set of entries that may be shown, one of none among them."""


@cache
def menu(ends: Ends, is_conditional: bool = True) -> Design:
    """A list of four switches, each of which is shown while it is on."""
    entries = [Entry(key, shown_if=Equal(key, True) if is_conditional else None) for key in KEYS]
    return Design(
        name="Switches",
        settings=[Switch(key=key, label=key) for key in KEYS],
        menus=[Menu(key="main", label="Main", entries=entries, ends=ends)],
        home=Home(press="main"),
    )


def switched(design: Design, shown: list[int]) -> State:
    """The state in which just these entries are shown."""
    return make_initial_state(design)._replace(values=pack(int(place in shown) for place in range(len(KEYS))))


@pytest.mark.parametrize("ends", ENDS)
@pytest.mark.parametrize("shown", SHOWN, ids=str)
def test_a_turn_moves_among_the_shown_entries_and_stops_or_wraps(ends: Ends, shown: list[int]) -> None:
    design = menu(ends, is_conditional=len(shown) < len(KEYS))
    state = switched(design, shown)
    for place, entry in enumerate(shown):
        for detents in (-9, -4, -3, -2, -1, 1, 2, 3, 4, 9):
            target = place + detents
            stop = min(max(target, 0), len(shown) - 1)
            expected = (shown[target % len(shown)], False) if ends == "wrap" else (shown[stop], stop != target)

            assert move_selection(design, state, Place("main", entry), detents) == expected


@pytest.mark.parametrize("shown", SHOWN, ids=str)
def test_what_is_selected_in_place_of_a_hidden_entry_is_the_next_one_or_else_the_one_before(shown: list[int]) -> None:
    design = menu("stop")
    state = switched(design, shown)
    for entry in range(-1, len(KEYS)):
        after = [one for one in shown if one >= max(entry, 0)]
        before = [one for one in shown if one < entry]
        nearest = after[0] if after else before[-1] if before else -1

        assert find_nearest_shown(design, state, "main", entry) == nearest
        settled = settle(design, state._replace(path=(Place("main", entry),)))
        assert settled.path == (Place("main", nearest),)
        assert find_neighbour(design, state, "main", entry, 1) == next((one for one in shown if one > entry), None)
        assert find_neighbour(design, state, "main", entry, -1) == (before[-1] if before else None)
    assert choose_open_place(design, state, "main") == Place("main", shown[0] if shown else -1)
