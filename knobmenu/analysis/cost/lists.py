"""Turning through a list, and leaving it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobmenu.analysis.cost.gestures import HOLD, PRESS, WAIT, Way, perform_all
from knobmenu.analysis.cost.track import Track, find_least_turning
from knobmenu.analysis.cost.weights import Weights
from knobmenu.design.menu import BACK
from knobmenu.machine.state import State
from knobmenu.machine.walking import is_enabled, is_shown

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def list_shown(design: Design, state: State, menu: str) -> list[int]:
    """List the positions of a menu's entries that are visible now."""
    entries = range(len(design.index.menus[menu].entries))
    if menu not in design.index.conditional:
        return list(entries)
    return [entry for entry in entries if is_shown(design, state, menu, entry)]


def make_list_track(design: Design, menu: str, count: int) -> Track:
    """Return the track of a list of this many visible entries."""
    rows = max(design.display.rows, 2) if design.knob.turns_while_held else 0
    return Track(count, design.index.menus[menu].ends == "wrap", rows)


def find_leaving_way(design: Design, state: State, how: str, weights: Weights) -> Way:
    """Find the way home from a state in the way people leave; if a list has no such way, the next best.

    Args:
        design: The device's design.
        state: A state in a list, or at home.
        how: One of `knobmenu.analysis.cost.profile.LEAVING`.
        weights: What gestures weigh.
    """
    way: Way = ()
    while state.path and len(way) < 200:
        step = _choose_leaving(design, state, how, weights)
        if not step:
            return way
        way += step
        state, _ = perform_all(design, state, step)
    return way


def _choose_leaving(design: Design, state: State, how: str, weights: Weights) -> Way:
    held: Way = (HOLD,) if design.gestures.long_press != "nothing" else ()
    waited: Way = (WAIT,) if design.idle.after_ms else ()
    back = _find_way_back(design, state, weights)
    orders: dict[str, tuple[Way, ...]] = {
        "back": (back, held, waited),
        "long-press": (held, back, waited),
        "idle": (waited, held, back),
    }
    return next((step for step in orders[how] if step), ())


def _find_way_back(design: Design, state: State, weights: Weights) -> Way:
    place = state.path[-1]
    entries = design.index.menus[place.menu].entries
    if place.entry < 0:
        return (PRESS,)
    if not any(entry.target == BACK for entry in entries):
        return ()
    shown = list_shown(design, state, place.menu)
    track = make_list_track(design, place.menu, len(shown))
    ways = [
        (*find_least_turning(track, shown.index(place.entry), index, weights), PRESS)
        for index, entry in enumerate(shown)
        if entries[entry].target == BACK and is_enabled(design, state, place.menu, entry)
    ]
    return min(ways, key=weights.weigh_way, default=())
