"""In which form a display is drawn, and how much room each form takes."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

import attrs

from knobmenu.design.hardware import CharacterDisplay, Display, SegmentDisplay
from knobmenu.terminal.drawing import font
from knobmenu.terminal.drawing.dots import ACROSS, DOWN
from knobmenu.terminal.drawing.runs import Size
from knobmenu.terminal.drawing.segments import LINES, Digit

Kind = Literal["half", "braille", "spaced", "text"]


@attrs.frozen
class Form:
    """A way of drawing a display."""

    kind: Kind
    """``half``: a dot is half a character; ``braille``: an eighth; ``spaced``: a cell is a character with room
    around it; ``text``: a cell is a character."""
    scale: int = 1
    """How many dots wide and high a dot of the display is drawn."""

    def __str__(self) -> str:
        return self.kind if self.scale == 1 else f"{self.kind} x{self.scale}"


@attrs.frozen
class Manner:
    """What a look asks of the drawings, whatever their colours are."""

    unlit: bool = True
    """Whether unlit dots and segments can be seen, as they can on glass in good light."""
    solid: bool = True
    """Whether the frame is a filled bezel; if not, it is a line."""


MARGIN = {"half": Size(3, 2), "braille": Size(3, 2), "spaced": Size(2, 1), "text": Size(2, 1)}
"""What frame and glass take on each side."""

CELL_GAP = 1
"""Dots between the characters of a character display, as on the glass."""

DIGITS = {
    ("half", 2): Digit(10, 16, 2),
    ("half", 1): Digit(6, 11, 1),
    ("braille", 1): Digit(8, 16, 2),
}
"""Sizes of a digit of seven segments. [dots]"""

_DOT_FORMS = (Form("half", 2), Form("half"), Form("braille"))
_TEXT_FORMS = (Form("spaced"), Form("text"))


@lru_cache(maxsize=64)
def forms(display: Display) -> tuple[Form, ...]:
    """Return the forms that a display can be drawn in, the one that takes most room first."""
    if isinstance(display, CharacterDisplay | SegmentDisplay):
        return (*_DOT_FORMS, *_TEXT_FORMS)
    if display.cell_width < font.COLUMNS or display.cell_height < font.ROWS - 1:
        return _TEXT_FORMS
    return (*_DOT_FORMS[1:], *_TEXT_FORMS)


@lru_cache(maxsize=256)
def size_of(display: Display, form: Form) -> Size:
    """Return how much room a display takes in a form, frame and all. [terminal cells]"""
    columns, rows = _inner(display, form)
    margin = MARGIN[form.kind]
    return Size(columns + 2 * margin.columns, rows + 2 * margin.rows)


@lru_cache(maxsize=256)
def form_for(display: Display, columns: int, rows: int, least: Kind = "half") -> Form | None:
    """Choose the form for the room at hand: of those that fit, the one that takes most.

    Args:
        display: What is to be drawn.
        columns: Room for it. [terminal cells]
        rows: Room for it. [terminal cells]
        least: Forms that take more room than this one are not chosen: ``text`` where nothing but text serves.

    Returns:
        The form; None where nothing fits.
    """
    kinds = ("half", "braille", "spaced", "text")
    allowed = kinds[kinds.index(least) :]
    for form in forms(display):
        size = size_of(display, form)
        if form.kind in allowed and size.columns <= columns and size.rows <= rows:
            return form
    return None


def block(display: Display, form: Form) -> Size:
    """Return how much room one cell of a dot display takes, without the gap below it. [terminal cells]"""
    if isinstance(display, CharacterDisplay):
        width, height = (font.COLUMNS + CELL_GAP) * form.scale, font.ROWS * form.scale
    else:
        assert not isinstance(display, SegmentDisplay)
        width, height = display.cell_width, display.cell_height
    if form.kind == "braille":
        return Size(-(-width // ACROSS), -(-height // DOWN))
    return Size(width, -(-height // 2))


def row_gap(display: Display, form: Form) -> int:
    """Return the empty rows between two rows of a dot display. [terminal cells]"""
    return form.scale if isinstance(display, CharacterDisplay) else 0


def _inner(display: Display, form: Form) -> Size:
    if form.kind == "text":
        points = display.digits if isinstance(display, SegmentDisplay) else 0
        return Size(display.columns + points, display.rows)
    if isinstance(display, SegmentDisplay):
        if form.kind == "spaced":
            return Size(display.digits * LINES.columns, LINES.rows)
        digit = DIGITS[form.kind, form.scale]
        across, down = (ACROSS, DOWN) if form.kind == "braille" else (1, 2)
        return Size(display.digits * -(-digit.pitch // across), -(-digit.height // down))
    if form.kind == "spaced":
        return Size(display.columns * 2 - 1, display.rows)
    cell, gap = block(display, form), row_gap(display, form)
    return Size(display.columns * cell.columns, display.rows * (cell.rows + gap) - gap)
