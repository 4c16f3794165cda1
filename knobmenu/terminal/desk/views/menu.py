"""The menu as a tree, open where the device is."""

from __future__ import annotations

from functools import lru_cache

from knobmenu.design.whole import Kind
from knobmenu.picture.fitting import draw_pane, find_first_shown, fit
from knobmenu.picture.runs import Drawing, Row, Run
from knobmenu.session.part import Part
from knobmenu.session.tree import Line, walk_tree
from knobmenu.terminal.input.keymap import SHOWN

_CHARACTERS = {
    "home": "",
    "open menu": "▾ ",
    Kind.MENU: "▸ ",
    Kind.SETTING: "= ",
    Kind.ACTION: "! ",
    Kind.READOUT: "~ ",
    Kind.BACK: "‹ ",
}
"""The prefix of each kind of line."""


def draw_menu(part: Part, columns: int, height: int) -> Drawing:
    """Draw the menus that are open, each with its entries; home opens what its press opens.

    Args:
        part: The variant.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    lines = list(walk_tree(part.design, part.state))
    here = max((number for number, line in enumerate(lines) if line.here), default=0)
    room = max(height - 1, 1)
    start = find_first_shown(here, len(lines), room)
    rows = [_draw_row(line, columns) for line in lines[start : start + room]]
    return draw_pane("menu", rows, columns, height, SHOWN["pane_menu"])


@lru_cache(maxsize=4096)
def _draw_row(line: Line, columns: int) -> Row:
    ink = "strong" if line.here else "dim" if line.remark else "text"
    runs = [
        Run("→ " if line.here else "  ", "accent"),
        Run("  " * line.indent + _CHARACTERS[line.kind], "dim"),
        Run(line.label, ink),
        Run(f"  ({line.remark})" if line.remark else "", "dim"),
    ]
    return fit(runs, columns)
