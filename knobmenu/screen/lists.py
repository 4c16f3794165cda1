"""A menu's list on a display of cells.

One row shows the selected entry. Two rows show it and the next one; at the end of the list, the last entry is in the
lower row. With three or more rows, the first one is the title, and the selected entry stays in the middle of the others
except near the ends of the list. No scroll position is kept: the selection alone determines what is shown, and only the
entries that are shown are examined, however long the list is.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from knobmenu.design.kinds import Setting
from knobmenu.design.menu import BACK, Action, Menu, Readout
from knobmenu.design.whole import Kind
from knobmenu.machine.state import Place, State, get_value
from knobmenu.machine.values import Value
from knobmenu.machine.walking import condition_holds, find_neighbour
from knobmenu.screen.cells import Screen
from knobmenu.screen.characters import EMPTY, CellText
from knobmenu.screen.face import Face
from knobmenu.screen.lines import Line, build_screen, compose_plain, label_value
from knobmenu.screen.panel import CellPanel
from knobmenu.screen.values import NO_VALUE, ValueText, write_value

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


class EntryView(NamedTuple):
    """What a shown entry depends on besides the design."""

    entry: int
    """Its place in the menu."""
    value: Value | None
    """The present value of its target, if that is a setting or readout."""
    enabled: bool
    """Whether it can be pressed."""


class ListView(NamedTuple):
    """What the screen of a list depends on besides the design."""

    menu: str
    selected: int
    """The entry; -1 if every entry is hidden."""
    entries: tuple[EntryView, ...]
    """The entries that are shown."""
    more_above: bool
    """Whether the list continues above them."""
    more_below: bool
    """Whether the list continues below them."""


class ListSources(NamedTuple):
    """What the screen of a list depends on if its menu has no conditions."""

    conditional: bool
    """Whether conditions determine what is shown or enabled, so that the view has to be gathered each time."""
    positions: tuple[int, ...] = ()
    """The positions of the settings whose values are shown."""
    readouts: tuple[int, ...] = ()
    """The positions of the readouts whose values are shown, among the readouts."""


def find_list_sources(design: Design, place: Place, rows: int) -> ListSources:
    """Find what the screen of an open menu depends on besides its place.

    Args:
        design: The device's design.
        place: The menu, and the entry that is selected in it.
        rows: Rows of the display.
    """
    index = design.index
    if place.entry < 0 or place.menu in index.conditional or any(index.enabled[place.menu]):
        return ListSources(True)
    entries = _choose_neighbours(len(index.menus[place.menu].entries), place.entry, _count_entry_rows(rows))
    targets = [index.menus[place.menu].entries[entry].target for entry in entries]
    positions = [index.positions[target] for target in targets if target in index.positions]
    settings = len(design.settings)
    return ListSources(
        False,
        tuple([position for position in positions if position < settings]),
        tuple([position - settings for position in positions if position >= settings]),
    )


def gather_list_view(design: Design, state: State, rows: int) -> ListView:
    """Gather what the screen of the open menu depends on.

    Args:
        design: The device's design.
        state: The device; a menu is open.
        rows: Rows of the display.
    """
    place = state.path[-1]
    if place.entry < 0:
        return ListView(place.menu, -1, (), False, False)
    entries = choose_window(design, state, place, _count_entry_rows(rows))
    views = tuple([gather_entry_view(design, state, place.menu, entry) for entry in entries])
    if rows < 3:
        return ListView(place.menu, place.entry, views, False, False)
    above = find_neighbour(design, state, place.menu, entries[0], -1) is not None
    below = find_neighbour(design, state, place.menu, entries[-1], 1) is not None
    return ListView(place.menu, place.entry, views, above, below)


def gather_entry_view(design: Design, state: State, menu: str, entry: int) -> EntryView:
    """Gather what a shown entry depends on."""
    index = design.index
    target = index.menus[menu].entries[entry].target
    condition = index.enabled[menu][entry]
    return EntryView(
        entry,
        get_value(design, state, target) if target in index.positions else None,
        condition is None or condition_holds(design, state, condition),
    )


def compose_list(face: Face, panel: CellPanel, view: ListView) -> Screen:
    """Compose the list of the menu that is open."""
    return build_screen(_compose_lines(face, panel, view), panel)


def _recall_entry(face: Face, panel: CellPanel, menu: str, shown: EntryView, is_selected: bool) -> Line:
    key = ("entry", menu, shown, is_selected)
    return face.recall(key, lambda: compose_entry(face, panel, menu, shown, is_selected))


def _compose_lines(face: Face, panel: CellPanel, view: ListView) -> list[Line]:
    menu = face.design.index.menus[view.menu]
    if view.selected < 0:
        empty = compose_plain(panel, face.fit_caption(face.design.wording.empty))
        return [empty] if panel.rows == 1 else [_compose_title(face, panel, menu, view), empty]
    lines = [_recall_entry(face, panel, view.menu, shown, shown.entry == view.selected) for shown in view.entries]
    if panel.rows > 2 or (panel.rows == 2 and len(lines) == 1):
        return [_compose_title(face, panel, menu, view), *lines]
    return lines


def _compose_title(face: Face, panel: CellPanel, menu: Menu, view: ListView) -> Line:
    hints = NO_VALUE
    if view.more_above or view.more_below:
        above, below = panel.above if view.more_above else " ", panel.below if view.more_below else " "
        hints = ValueText((CellText(above + below),))
    return label_value(panel, "", face.fit_caption(menu.label), face.fit_caption(menu.short), hints)


def compose_entry(face: Face, panel: CellPanel, menu: str, shown: EntryView, selected: bool) -> Line:
    """Compose one entry: its label and its value, or the mark of a menu; in brackets if it is disabled."""
    target = face.design.index.menus[menu].entries[shown.entry].target
    label, short = fit_captions(face, menu, shown.entry)
    value = NO_VALUE
    if shown.value is not None:
        value = write_value(face, target, shown.value)
    elif face.design.index.kinds[target] is Kind.MENU:
        value = ValueText((CellText(panel.inside),))
    return label_value(panel, panel.selected if selected else " ", label, short, value, "" if shown.enabled else "()")


def choose_window(design: Design, state: State, place: Place, size: int) -> Sequence[int]:
    """Choose the entries that are shown.

    Args:
        design: The device's design.
        state: The device.
        place: The menu, and the entry that is selected in it.
        size: The number of entries that there is room for.

    Returns:
        Entries in order, including the selected one; fewer than `size` only if the list has fewer.
    """
    if place.menu not in design.index.conditional:
        return _choose_neighbours(len(design.index.menus[place.menu].entries), place.entry, size)
    after = _list_following(design, state, place, 1, size - 1)
    before = _list_following(design, state, place, -1, max((size - 1) // 2, size - 1 - len(after)))
    return [*reversed(before), place.entry, *after[: size - 1 - len(before)]]


def _count_entry_rows(rows: int) -> int:
    """Count the rows of a display that show entries; with three or more, the first one is the title."""
    return rows if rows < 3 else rows - 1


def _choose_neighbours(count: int, entry: int, size: int) -> range:
    """Choose the entries that are shown of a list without hidden entries."""
    first = max(min(entry - (size - 1) // 2, count - size), 0)
    return range(first, min(first + size, count))


def _list_following(design: Design, state: State, place: Place, direction: int, most: int) -> list[int]:
    entries: list[int] = []
    at = place.entry
    while len(entries) < most:
        following = find_neighbour(design, state, place.menu, at, direction)
        if following is None:
            break
        entries.append(following)
        at = following
    return entries


def fit_captions(face: Face, menu: str, number: int) -> tuple[CellText, CellText]:
    """Fit an entry's label and its short form, in the current language."""
    design = face.design
    entry = design.index.menus[menu].entries[number]
    if entry.target == BACK:
        return face.fit_caption(entry.label or design.wording.back), EMPTY
    part = _get_part(design, entry.target)
    return face.fit_caption(entry.label or part.label), face.fit_caption(part.short)


def _get_part(design: Design, key: str) -> Setting | Menu | Action | Readout:
    """Return the part with a key."""
    index = design.index
    return index.settings.get(key) or index.menus.get(key) or index.actions.get(key) or index.readouts[key]
