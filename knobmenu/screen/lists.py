"""A menu's list on a display of cells.

One row shows the selected entry. Two rows show it and the one that follows; at the end of the list the last entry
stands in the lower row. From three rows on the first one is the title, and the selected entry stays in the middle of
the others but near the ends of the list. Nothing is remembered between screens: what is shown follows from the
selection alone, and only the rows that are shown are looked at, however long the list is.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from knobmenu.design.menu import BACK, Action, Menu, Readout
from knobmenu.design.whole import Kind
from knobmenu.machine.state import Place, State
from knobmenu.machine.walking import condition_holds, neighbour
from knobmenu.screen.glass import Glass
from knobmenu.screen.lines import Line, labelled, plain
from knobmenu.screen.values import NO_VALUE, ValueText, Words, value_text

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def list_lines(design: Design, state: State, glass: Glass, words: Words) -> list[Line]:
    """Compose the list of the menu that is open."""
    place = state.path[-1]
    menu = design.index.menus[place.menu]
    if place.entry < 0:
        empty = plain(glass, words.get(design.wording.empty, design.wording.empty))
        return [empty] if glass.rows == 1 else [_title(glass, menu, words, "", ""), empty]
    rows = glass.rows
    entries = window(design, state, place, rows if rows < 3 else rows - 1)
    lines = [entry_line(design, state, glass, words, place, entry) for entry in entries]
    if rows == 2 and len(lines) == 1:
        return [_title(glass, menu, words, "", ""), *lines]
    if rows > 2:
        more_above = neighbour(design, state, place.menu, entries[0], -1) is not None
        more_below = neighbour(design, state, place.menu, entries[-1], 1) is not None
        lines.insert(
            0, _title(glass, menu, words, glass.above if more_above else "", glass.below if more_below else "")
        )
    return lines


def window(design: Design, state: State, place: Place, size: int) -> Sequence[int]:
    """Choose the entries that are shown.

    Args:
        design: The device's design.
        state: The device.
        place: The menu, and the entry that is selected in it.
        size: How many entries there is room for.

    Returns:
        Entries in their order, the selected one among them; fewer than `size` only where the list has fewer.
    """
    if place.menu not in design.index.conditional:
        count = len(design.index.menus[place.menu].entries)
        first = max(min(place.entry - (size - 1) // 2, count - size), 0)
        return range(first, min(first + size, count))
    after = _following(design, state, place, 1, size - 1)
    before = _following(design, state, place, -1, max((size - 1) // 2, size - 1 - len(after)))
    return [*reversed(before), place.entry, *after[: size - 1 - len(before)]]


def _following(design: Design, state: State, place: Place, direction: int, most: int) -> list[int]:
    entries: list[int] = []
    at = place.entry
    while len(entries) < most:
        following = neighbour(design, state, place.menu, at, direction)
        if following is None:
            break
        entries.append(following)
        at = following
    return entries


def _title(glass: Glass, menu: Menu, words: Words, above: str, below: str) -> Line:
    hints = ValueText(f"{above or ' '}{below or ' '}", "", True) if above or below else NO_VALUE
    return labelled(glass, "", words.get(menu.label, menu.label), words.get(menu.short, menu.short), hints)


def entry_line(design: Design, state: State, glass: Glass, words: Words, place: Place, number: int) -> Line:
    """Compose one entry: label and value, or a mark that it opens a menu; in brackets where it cannot be pressed."""
    index = design.index
    target = index.menus[place.menu].entries[number].target
    kind = index.kinds[target]
    label, short = captions(design, words, place.menu, number)
    if kind is Kind.SETTING or kind is Kind.READOUT:
        value = value_text(design, state, target, words)
    elif kind is Kind.MENU:
        value = glass.inside
    else:
        value = NO_VALUE
    condition = index.enabled[place.menu][number]
    around = "" if condition is None or condition_holds(design, state, condition) else "()"
    return labelled(glass, glass.selected if number == place.entry else " ", label, short, value, around)


def captions(design: Design, words: Words, menu: str, number: int) -> tuple[str, str]:
    """Return an entry's label and its short form, in the language that is spoken."""
    index = design.index
    entry = index.menus[menu].entries[number]
    target = entry.target
    if target == BACK:
        label, short = entry.label or design.wording.back, ""
    else:
        part = index.settings.get(target) or index.menus.get(target) or _action_or_readout(design, target)
        label, short = entry.label or part.label, part.short
    return (words.get(label, label), words.get(short, short)) if words else (label, short)


def _action_or_readout(design: Design, key: str) -> Action | Readout:
    """Return the action or readout of a key."""
    return design.index.actions.get(key) or design.index.readouts[key]
