"""Reads the device's display off a terminal's screen, in whatever form it is drawn there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import get_args

from knobmenu.design.hardware import CharacterDisplay
from knobmenu.picture.display import Blink, draw
from knobmenu.picture.forms import MARGIN, Form, Manner, list_forms, measure_block, measure_row_gap, measure_size
from knobmenu.picture.runs import extract_text
from knobmenu.screen.cells import Screen, Span

SIGNS = [chr(code) for code in range(0x20, 0x7F)] + list("äöüÄÖÜßéñ°µ→←█·Ω▶▸›")


def shown_on(lines: Sequence[str], display: CharacterDisplay) -> tuple[str, ...]:
    """Return what the first display on a screen shows, row by row; ``~`` where a cell cannot be read.

    Raises:
        AssertionError: No display is to be found.
    """
    form, top, left = _find(lines, display)
    size = measure_size(display, form)
    return _read([row[left : left + size.columns] for row in lines[top : top + size.rows]], display, form)


def showing(display: CharacterDisplay, *texts: str) -> Callable[[str], bool]:
    """Return whether the first display on a screen shows all of some texts, as a function of the screen's text."""

    def found(text: str) -> bool:
        try:
            rows = "\n".join(shown_on(text.split("\n"), display))
        except AssertionError:
            return False
        return all(one in rows for one in texts)

    return found


def form_on(lines: Sequence[str], display: CharacterDisplay) -> Form:
    """Return the form in which the first display on a screen is drawn.

    Raises:
        AssertionError: No display is to be found.
    """
    return _find(lines, display)[0]


def _find(lines: Sequence[str], display: CharacterDisplay) -> tuple[Form, int, int]:
    """Return the form, the top and the left of the first frame that is as wide and as high as a form's."""
    for form in list_forms(display):
        size = measure_size(display, form)
        line = "─" * (size.columns - 2)
        for upper, lower in (("▄" * size.columns, "▀" * size.columns), (f"┌{line}┐", f"└{line}┘")):
            for top in range(len(lines) - size.rows + 1):
                left = lines[top].find(upper)
                if left >= 0 and lines[top + size.rows - 1][left:].startswith(lower):
                    return form, top, left
    raise AssertionError("no display is shown; the screen is\n" + "\n".join(lines))


def _read(box: Sequence[str], display: CharacterDisplay, form: Form) -> tuple[str, ...]:
    margin = MARGIN[form.kind]
    if form.kind in ("spaced", "text"):
        width, height, down = 2 if form.kind == "spaced" else 1, 1, 1
    else:
        cell = measure_block(display, form)
        width, height, down = cell.columns, cell.rows, cell.rows + measure_row_gap(display, form)
    known = _cells(display, form)
    rows = []
    for row in range(display.rows):
        top = margin.rows + row * down
        lefts = (margin.columns + column * width for column in range(display.columns))
        cells = [tuple(line[left : left + width] for line in box[top : top + height]) for left in lefts]
        if form.kind == "spaced":
            cells = [(cell[0][0],) for cell in cells]
        rows.append("".join(known.get(cell, "~") for cell in cells))
    return tuple(rows)


@cache
def _cells(display: CharacterDisplay, form: Form) -> dict[tuple[str, ...], str]:
    """Return every character by how it is drawn, blinking or not, with unlit dots or without."""
    margin = MARGIN[form.kind]
    known: dict[tuple[str, ...], str] = {}
    signs = [*SIGNS, *(glyph.character for glyph in display.glyphs)]
    for sign in signs:
        screen = Screen((sign.ljust(display.columns), *[" " * display.columns] * (display.rows - 1)), (Span(0, 0, 1),))
        for blink in get_args(Blink):
            for unlit in (False, True):
                lines = extract_text(draw(display, screen, form, Manner(unlit=unlit), blink)).split("\n")
                if form.kind in ("spaced", "text"):
                    cell: tuple[str, ...] = (lines[margin.rows][margin.columns],)
                else:
                    size = measure_block(display, form)
                    cell = tuple(
                        line[margin.columns : margin.columns + size.columns]
                        for line in lines[margin.rows : margin.rows + size.rows]
                    )
                known.setdefault(cell, sign)
    return known
