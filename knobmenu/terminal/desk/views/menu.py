"""The menu as a tree, open where we are."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from knobmenu.design.menu import BACK
from knobmenu.design.whole import Design, Kind
from knobmenu.machine.state import State
from knobmenu.machine.walking import is_enabled, is_shown
from knobmenu.picture.runs import Drawing, Row, Run
from knobmenu.session.part import Part
from knobmenu.terminal.drawing.fitting import draw_pane, fit
from knobmenu.terminal.input.keymap import SHOWN

_SIGNS = {Kind.MENU: "▸", Kind.SETTING: "=", Kind.ACTION: "!", Kind.READOUT: "~", Kind.BACK: "‹"}
"""What stands before an entry: a menu that is closed, a setting, an action, a readout, the way back."""


def draw_menu(part: Part, columns: int, height: int) -> Drawing:
    """Draw the menus that are open, each with its entries; home opens what its press opens.

    Args:
        part: The variant.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    design, state = part.design, part.state
    lines = list(_lines(design, state))
    here = max((number for number, line in enumerate(lines) if line.here), default=0)
    room = max(height - 1, 1)
    start = max(0, min(here - room // 2, len(lines) - room))
    rows = [_row(line, columns) for line in lines[start : start + room]]
    return draw_pane("menu", rows, columns, height, SHOWN["pane_menu"])


class _Line(NamedTuple):
    """One line of the tree."""

    indent: int
    sign: str
    words: str
    remark: str = ""
    here: bool = False


def _lines(design: Design, state: State) -> Iterator[_Line]:
    """Write home and the menus under it."""
    at_home = not state.path
    yield _Line(0, "", "home", here=at_home)
    opened = [place.menu for place in state.path]
    first = opened[0] if opened else design.home.press
    if first in design.index.menus:
        yield from _menu(design, state, first, opened, 0)


def _menu(design: Design, state: State, menu: str, opened: list[str], level: int) -> Iterator[_Line]:
    is_open = level < len(opened)
    label = design.index.menus[menu].label
    yield _Line(level, "▾ ", label)
    selected = state.path[level].entry if is_open else -1
    for number, entry in enumerate(design.index.menus[menu].entries):
        kind = design.index.kinds[entry.target]
        here = number == selected and level == len(opened) - 1
        inside = level + 1 < len(opened) and number == selected and opened[level + 1] == entry.target
        if inside:
            yield from _menu(design, state, entry.target, opened, level + 1)
            continue
        remark = ""
        if not is_shown(design, state, menu, number):
            remark = "hidden"
        elif not is_enabled(design, state, menu, number):
            remark = "disabled"
        yield _Line(level + 1, f"{_SIGNS[kind]} ", label_of(design, entry.target, entry.label), remark, here)


def label_of(design: Design, target: str, label: str) -> str:
    """Return an entry's words."""
    if label:
        return label
    if target == BACK:
        return design.wording.back
    index = design.index
    for parts in (index.settings, index.menus, index.actions, index.readouts):
        if target in parts:
            return str(parts[target].label)
    return target


@lru_cache(maxsize=4096)
def _row(line: _Line, columns: int) -> Row:
    ink = "strong" if line.here else "dim" if line.remark else "text"
    runs = [
        Run("→ " if line.here else "  ", "accent"),
        Run("  " * line.indent + line.sign, "dim"),
        Run(line.words, ink),
        Run(f"  ({line.remark})" if line.remark else "", "dim"),
    ]
    return fit(runs, columns)
