"""The forms in which a display can be drawn, and their sizes."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal, assert_never, get_args

import attrs

from knobmenu.design.hardware import CharacterDisplay, Display, PixelDisplay, SegmentDisplay
from knobmenu.picture import font
from knobmenu.picture.dots import ACROSS, DOWN
from knobmenu.picture.runs import Size
from knobmenu.picture.segments import LINES, Digit
from knobmenu.structure import Structure

Kind = Literal["half", "quadrant", "braille", "spaced", "text"]

KINDS: tuple[Kind, ...] = get_args(Kind)
"""From the largest kind to the smallest."""


@attrs.frozen(repr=False)
class Form(Structure):
    """A way of drawing a display."""

    kind: Kind
    """``half``: a dot is half a character; ``quadrant``: a quarter; ``braille``: an eighth; ``spaced``: a cell is a
    character with room around it; ``text``: a cell is a character."""
    scale: int = 1
    """The width and height at which a dot of the display is drawn. [dots]"""

    @property
    def is_dots(self) -> bool:
        """Whether the display's dots are drawn."""
        return self.kind not in ("spaced", "text")

    def __str__(self) -> str:
        return self.kind if self.scale == 1 else f"{self.kind} x{self.scale}"


@attrs.frozen(repr=False)
class Manner(Structure):
    """How a palette wants drawings to be made, apart from colours."""

    unlit: bool = True
    """Whether unlit dots and segments are visible, as on glass in good light."""
    solid: bool = True
    """Whether the frame is a filled bezel; otherwise it is a line."""


MARGIN = {"half": Size(3, 2), "quadrant": Size(3, 2), "braille": Size(3, 2), "spaced": Size(2, 1), "text": Size(2, 1)}
"""The margin of frame and glass on each side."""

CELL_GAP = 1
"""Dots between the characters of a character display, as on the glass."""

_HALF_FORMS = tuple(Form("half", scale) for scale in (4, 3, 2, 1))
_TEXT_FORMS = (Form("spaced"), Form("text"))


@lru_cache(maxsize=64)
def list_forms(display: Display) -> tuple[Form, ...]:
    """List the forms in which a display can be drawn, the largest first."""
    match display:
        case SegmentDisplay():
            return (*_HALF_FORMS, Form("braille"), *_TEXT_FORMS)
        case PixelDisplay() if display.cell_width < font.COLUMNS or display.cell_height < font.ROWS - 1:
            return _TEXT_FORMS
        case CharacterDisplay() | PixelDisplay():
            return (*_HALF_FORMS, Form("quadrant"), Form("braille"), *_TEXT_FORMS)
        case _:
            assert_never(display)


def measure_digit(form: Form) -> Digit:
    """Return the dimensions of a seven-segment digit in a form."""
    if form.kind == "braille":
        return Digit(8, 16, 2)
    return Digit(5 * form.scale, 8 * form.scale, form.scale) if form.scale > 1 else Digit(6, 11, 1)


@lru_cache(maxsize=256)
def measure_size(display: Display, form: Form) -> Size:
    """Measure a display in a form, including its frame. [terminal cells]"""
    columns, rows = _measure_inside(display, form)
    margin = MARGIN[form.kind]
    return Size(columns + 2 * margin.columns, rows + 2 * margin.rows)


def measure_block(display: Display, form: Form) -> Size:
    """Measure one cell of a dot display, without the gap below it. [terminal cells]"""
    if isinstance(display, CharacterDisplay):
        width, height = (font.COLUMNS + CELL_GAP) * form.scale, font.ROWS * form.scale
    else:
        assert not isinstance(display, SegmentDisplay)
        width, height = display.cell_width * form.scale, display.cell_height * form.scale
    match form.kind:
        case "braille":
            return Size(-(-width // ACROSS), -(-height // DOWN))
        case "quadrant":
            return Size(-(-width // 2), -(-height // 2))
        case _:
            return Size(width, -(-height // 2))


def measure_row_gap(display: Display, form: Form) -> int:
    """Count the empty rows between two rows of a dot display. [terminal cells]"""
    if not isinstance(display, CharacterDisplay):
        return 0
    # Rows of braille dots keep one dot apart without a gap; with one, four rows would not fit the common terminal.
    return 0 if form.kind == "braille" and display.rows > 2 else form.scale


def _measure_inside(display: Display, form: Form) -> Size:
    if form.kind == "text":
        points = display.digits if isinstance(display, SegmentDisplay) else 0
        return Size(display.columns + points, display.rows)
    if isinstance(display, SegmentDisplay):
        if form.kind == "spaced":
            return Size(display.digits * LINES.columns, LINES.rows)
        digit = measure_digit(form)
        across, down = (ACROSS, DOWN) if form.kind == "braille" else (1, 2)
        return Size(display.digits * -(-digit.pitch // across), -(-digit.height // down))
    if form.kind == "spaced":
        return Size(display.columns * 2 - 1, display.rows)
    cell, gap = measure_block(display, form), measure_row_gap(display, form)
    return Size(display.columns * cell.columns, display.rows * (cell.rows + gap) - gap)
