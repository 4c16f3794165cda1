"""Which entries are shown, and how the selection moves among them.

Hidden entries are skipped one by one in the direction of travel, so the cost does not depend on the length of the menu.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain, islice
from typing import TYPE_CHECKING

from knobmenu.design.conditions import Resolved, holds
from knobmenu.machine.state import Place, State, get_number_at, make_place
from knobmenu.machine.values import Values, get_at, replace_value

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def condition_holds(design: Design, state: State, condition: Resolved | None) -> bool:
    """Return whether a condition holds for the present values; None always holds."""
    return condition is None or holds(condition, lambda position: get_number_at(design, state, position))


def is_shown(design: Design, state: State, menu: str, entry: int) -> bool:
    """Return whether an entry of a menu is shown now."""
    return condition_holds(design, state, design.index.shown[menu][entry])


def is_enabled(design: Design, state: State, menu: str, entry: int) -> bool:
    """Return whether an entry of a menu can be pressed now; a hidden one cannot."""
    shown, enabled = design.index.shown[menu][entry], design.index.enabled[menu][entry]
    if shown is None and enabled is None:
        return True
    return condition_holds(design, state, shown) and condition_holds(design, state, enabled)


def find_neighbour(design: Design, state: State, menu: str, entry: int, direction: int) -> int | None:
    """Find the next entry that is shown, in a direction of +1 or -1, without wrapping."""
    return next(_walk_shown_from(design, state, menu, entry, direction), None)


def _walk_shown_from(design: Design, state: State, menu: str, entry: int, direction: int) -> Iterator[int]:
    """Walk the shown entries beyond one, up to the end of the list."""
    last = len(design.index.menus[menu].entries)
    ahead = range(entry + 1, last) if direction > 0 else range(entry - 1, -1, -1)
    return _walk_shown_among(design, state, menu, ahead)


def _walk_shown_among(design: Design, state: State, menu: str, entries: Iterable[int]) -> Iterator[int]:
    if menu not in design.index.conditional:
        return iter(entries)
    return (entry for entry in entries if is_shown(design, state, menu, entry))


def find_nearest_shown(design: Design, state: State, menu: str, entry: int) -> int:
    """Find the entry to select in place of `entry`: itself, else the next shown one, else the one before, else -1."""
    if menu not in design.index.conditional:
        return max(entry, 0)
    onwards = chain([max(entry, 0)], _make_range_after(design, menu, max(entry, 0)))
    following = next(_walk_shown_among(design, state, menu, onwards), None)
    if following is not None:
        return following
    before = next(_walk_shown_from(design, state, menu, entry, -1), None)
    return -1 if before is None else before


def _make_range_after(design: Design, menu: str, entry: int) -> range:
    return range(entry + 1, len(design.index.menus[menu].entries))


def move_selection(design: Design, state: State, place: Place, detents: int) -> tuple[int, bool]:
    """Move the selection by detents.

    Returns:
        The newly selected entry, and whether the list ended before all detents were used.
    """
    menu = design.index.menus[place.menu]
    if menu.ends == "wrap":
        return _wrap(design, state, place, detents), False
    if place.menu not in design.index.conditional:
        target = place.entry + detents
        entry = min(max(target, 0), len(menu.entries) - 1)
        return entry, entry != target
    entry, used = place.entry, 0
    ahead = _walk_shown_from(design, state, place.menu, place.entry, 1 if detents > 0 else -1)
    for used, entry in enumerate(islice(ahead, abs(detents)), 1):  # noqa: B007 (the last one counts)
        pass
    return entry, used < abs(detents)


def _wrap(design: Design, state: State, place: Place, detents: int) -> int:
    entries = range(len(design.index.menus[place.menu].entries))
    if place.menu not in design.index.conditional:
        return (place.entry + detents) % len(entries)
    if abs(detents) == 1:
        round_trip = chain(entries[place.entry + 1 :], entries[: place.entry + 1])
        if detents < 0:
            round_trip = chain(reversed(entries[: place.entry]), reversed(entries[place.entry :]))
        return next(_walk_shown_among(design, state, place.menu, round_trip))
    shown = list(_walk_shown_among(design, state, place.menu, entries))
    return shown[(shown.index(place.entry) + detents) % len(shown)]


def choose_open_place(design: Design, state: State, menu: str) -> Place:
    """Return the place at which a menu opens: the first shown entry, or the one that was used last."""
    reopens = design.index.menus[menu].reopens == "last-used"
    entry = get_at(state.last_used, design.index.menu_positions[menu]) if reopens else 0
    return make_place(menu, find_nearest_shown(design, state, menu, entry))


def remember_places(design: Design, last_used: Values, left: Iterable[Place]) -> Values:
    """Record the selected entries of menus that are left, for menus that reopen at the entry used last."""
    for place in left:
        if place.entry >= 0 and design.index.menus[place.menu].reopens == "last-used":
            last_used = replace_value(last_used, design.index.menu_positions[place.menu], place.entry)
    return last_used


def settle(design: Design, state: State) -> State:
    """Move the selection to a shown entry if a condition has hidden the selected one.

    Only the list in view is settled; menus above it are settled when they come into view again.
    """
    if state.focus is not None or not state.path:
        return state
    place = state.path[-1]
    if place.menu not in design.index.conditional:
        return state
    if place.entry >= 0 and is_shown(design, state, place.menu, place.entry):
        return state
    entry = find_nearest_shown(design, state, place.menu, place.entry)
    if entry == place.entry:
        return state
    return state._replace(path=(*state.path[:-1], Place(place.menu, entry)))
