"""The home screen on a display of cells.

It shows the rows that the design gives it, from the top. Where the design gives none, it shows the device's name in
the first row and the value that turning changes in the last; one row shows the value alone.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from knobmenu.design.home import Row
from knobmenu.design.settings import Number, Scale
from knobmenu.design.words import PLACEHOLDER
from knobmenu.machine.state import State, value_of
from knobmenu.screen.editor import fraction
from knobmenu.screen.glass import Glass
from knobmenu.screen.lines import Line, barred, ends, labelled, plain
from knobmenu.screen.values import Words, value_text

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def home_lines(design: Design, state: State, glass: Glass, words: Words) -> list[Line]:
    """Compose the home screen."""
    if design.home.rows:
        return [_row_line(design, state, glass, words, row) for row in design.home.rows]
    name = plain(glass, words.get(design.name, design.name))
    if not design.home.turn:
        return [name]
    setting = design.index.settings[design.home.turn]
    value = value_text(design, state, setting.key, words)
    turned = labelled(
        glass, "", words.get(setting.label, setting.label), words.get(setting.short, setting.short), value
    )
    if glass.rows == 1:
        return [turned]
    between = [plain(glass, "")] * (glass.rows - 2)
    if between and isinstance(setting, Number | Scale) and setting.bar:
        between[-1] = barred(glass, "", "", *fraction(design, setting.key, value_of(design, state, setting.key)))
    return [name, *between, turned]


def filled(design: Design, state: State, words: Words, text: str) -> str:
    """Put the present values in the place of their keys, each in its field."""

    def value(match: re.Match[str]) -> str:
        return value_text(design, state, match[1], words).full

    text = words.get(text, text)
    return PLACEHOLDER.sub(value, text) if "{" in text else text


def _row_line(design: Design, state: State, glass: Glass, words: Words, row: Row) -> Line:
    left = filled(design, state, words, row.left)
    right = filled(design, state, words, row.right)
    if row.bar:
        return barred(glass, left, right, *fraction(design, row.bar, value_of(design, state, row.bar)))
    # A field at the right ends where its digits end, so the blanks before them need not press on the left text.
    return ends(glass, left, right.lstrip())
