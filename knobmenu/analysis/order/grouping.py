"""A long list split into submenus: the grouping of neighbours that costs least."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import attrs

from knobmenu.design.labels import get_entry_label
from knobmenu.design.menu import BACK, Entry, Menu
from knobmenu.errors import DesignError, Problem

if TYPE_CHECKING:
    from knobmenu.analysis.cost.usage import Usage
    from knobmenu.design.whole import Design


@attrs.frozen
class Grouping:
    """A list as groups of neighbours. A group of one stays an entry; the others become submenus."""

    starts: tuple[int, ...]
    """The first entry of each group; the first is 0."""
    cost: float
    """Gestures of a use on average within this list and its submenus."""


def count_grouping_cost(weights: Sequence[float], starts: Sequence[int], by_back: float) -> float:
    """Count the gestures of a use in a list that is split into groups.

    To an entry: detents to its group, a press that opens the submenu, detents within it. The way back by back entries
    at the end of each list costs the detents to them and their presses.

    Args:
        weights: How often each entry is used.
        starts: The first entry of each group.
        by_back: How often people leave by back entries; 0 where the list has none.
    """
    total, count = 0.0, len(weights)
    for group, (begin, end) in enumerate(pairwise((*starts, count))):
        size = end - begin
        up = len(starts) - group + 1
        for entry in range(begin, end):
            if size == 1:
                cost = group + by_back * up
            else:
                cost = group + 1 + (entry - begin) + by_back * (up + (end - entry) + 1)
            total += weights[entry] * cost
    return total


def find_least_grouping(weights: Sequence[float], by_back: float, most_groups: int, longest: int) -> Grouping:
    """Find the grouping of neighbours that costs least, by dynamic programming over the places of the cuts.

    Args:
        weights: How often each entry is used, in the order of the list.
        by_back: How often people leave by back entries.
        most_groups: Most entries that the list may have afterwards.
        longest: Most entries of a submenu.

    Raises:
        ValueError: So many entries do not fit.
    """
    count = len(weights)
    best: Grouping | None = None
    for groups in range(1, min(most_groups, count) + 1):
        starts = _cut(weights, by_back, groups, longest)
        if starts is not None:
            cost = count_grouping_cost(weights, starts, by_back)
            if best is None or cost < best.cost - 1e-12:
                best = Grouping(starts, cost)
    if best is None:
        raise ValueError(f"{count} entries do not fit in {most_groups} groups of at most {longest}")
    return best


def _cut(weights: Sequence[float], by_back: float, groups: int, longest: int) -> tuple[int, ...] | None:
    count = len(weights)
    # For each number of entries in the groups so far: the cost, and the starts of the groups.
    found: dict[int, tuple[float, tuple[int, ...]]] = {0: (0.0, ())}
    for group in range(groups):
        following: dict[int, tuple[float, tuple[int, ...]]] = {}
        up = groups - group + 1
        for begin, (cost, starts) in found.items():
            inside = 0.0
            used = 0.0
            # What a longer group adds is worked out entry by entry.
            for end in range(begin + 1, min(begin + longest, count) + 1):
                entry = end - 1
                weight = weights[entry]
                inside += used * by_back + weight * (group + 1 + (entry - begin) + by_back * (up + 1 + 1))
                used += weight
                whole = weight * (group + by_back * up) if end == begin + 1 else inside
                offer = (cost + whole, (*starts, begin))
                if end not in following or offer[0] < following[end][0] - 1e-12:
                    following[end] = offer
        found = following
    return found[count][1] if count in found else None


def group_menu(design: Design, usage: Usage, menu: str, *, most_groups: int, longest: int) -> tuple[Design, Grouping]:
    """Split a menu into submenus of neighbours.

    A back entry at its end stays there, and each submenu gets one, too.

    Returns:
        The design, and its grouping of the entries before the back entry.

    Raises:
        DesignError: The design has no such menu, or its entries do not fit.
    """
    if menu not in design.index.menus:
        raise DesignError([Problem("--group", f'"{menu}"', "the key of a menu")])
    old = design.index.menus[menu]
    ends_back = old.entries[-1].target == BACK
    entries = old.entries[:-1] if ends_back else old.entries
    weights = [usage.get_pressed(menu).get(place, 0.0) for place in range(len(entries))]
    by_back = usage.profile.get_leaving_probability("back") if ends_back else 0.0
    try:
        grouping = find_least_grouping(weights, by_back, most_groups, longest)
    except ValueError as error:
        raise DesignError([Problem(f"menus.{menu}", str(error), "more or longer groups")]) from None
    grouped: list[Entry] = []
    added: list[Menu] = []
    for begin, end in pairwise((*grouping.starts, len(entries))):
        if end - begin == 1:
            grouped.append(entries[begin])
            continue
        key = _make_key(design, f"{menu[:30]}-{len(added) + 1}")
        label = f"{get_entry_label(design, entries[begin])} - {get_entry_label(design, entries[end - 1])}"
        inside = (*entries[begin:end], *((Entry(BACK),) if ends_back else ()))
        added.append(Menu(key=key, label=label, entries=inside, ends=old.ends, reopens=old.reopens))
        grouped.append(Entry(key))
    changed = attrs.evolve(old, entries=(*grouped, *old.entries[len(entries) :]))
    menus = [changed if item is old else item for item in design.menus]
    return attrs.evolve(design, menus=[*menus, *added]), grouping


def _make_key(design: Design, key: str) -> str:
    while key in design.index.kinds:
        key += "x"
    return key
