"""The menu as a tree, expanded at the device's place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple

from knobmenu.design.labels import get_entry_label
from knobmenu.design.whole import Design, Kind
from knobmenu.machine.state import State
from knobmenu.machine.walking import is_enabled, is_shown


class Line(NamedTuple):
    """One line of the tree."""

    indent: int
    """The nesting level. [menus]"""
    kind: Kind | Literal["home", "open menu"]
    """The kind of thing that the line represents."""
    label: str
    remark: Literal["", "hidden", "disabled"] = ""
    """Why it cannot be selected now; empty: it can."""
    here: bool = False
    """Whether it is selected."""


def walk_tree(design: Design, state: State) -> Iterator[Line]:
    """Walk the lines of home and of the open menus; at home, those of the menu that a press opens."""
    yield Line(0, "home", "home", here=not state.path)
    opened = [place.menu for place in state.path]
    first = opened[0] if opened else design.home.press
    if first in design.index.menus:
        yield from _walk_menu(design, state, first, opened, 0)


def _walk_menu(design: Design, state: State, menu: str, opened: list[str], level: int) -> Iterator[Line]:
    is_open = level < len(opened)
    yield Line(level, "open menu", design.index.menus[menu].label)
    selected = state.path[level].entry if is_open else -1
    for number, entry in enumerate(design.index.menus[menu].entries):
        here = number == selected and level == len(opened) - 1
        inside = level + 1 < len(opened) and number == selected and opened[level + 1] == entry.target
        if inside:
            yield from _walk_menu(design, state, entry.target, opened, level + 1)
            continue
        remark: Literal["", "hidden", "disabled"] = ""
        if not is_shown(design, state, menu, number):
            remark = "hidden"
        elif not is_enabled(design, state, menu, number):
            remark = "disabled"
        yield Line(level + 1, design.index.kinds[entry.target], get_entry_label(design, entry), remark, here)
