"""Draw a screen as the device's display shows it."""

from __future__ import annotations

from collections.abc import Container
from functools import lru_cache
from typing import Literal

from rich.cells import cell_len

from knobmenu.design.hardware import CharacterDisplay, Display, PixelDisplay, SegmentDisplay
from knobmenu.picture import font
from knobmenu.picture.dots import write_braille, write_halves, write_quadrants
from knobmenu.picture.font import Dots, find_dots
from knobmenu.picture.forms import (
    CELL_GAP,
    MARGIN,
    Form,
    Manner,
    measure_block,
    measure_digit,
    measure_row_gap,
    measure_size,
)
from knobmenu.picture.runs import Drawing, Row, Run, merge
from knobmenu.picture.segments import draw_digit_levels, draw_digit_lines
from knobmenu.screen.cells import Screen

Blink = Literal["shown", "other", "marked"]
"""How blinking cells look now: as they are; inverted or dark; or, if nothing should blink, marked."""

GLASS = {CharacterDisplay: "lcd", PixelDisplay: "pixel", SegmentDisplay: "segment"}
"""The prefix of the names of a display's inks: ``lcd-ink``, ``lcd-unlit``, ``lcd-mark``, ``lcd-glass``."""

_UNKNOWN: Dots = (0b11111, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b11111, 0)
"""Replaces a character that the font lacks."""

_MARK_ROW = font.ROWS - 1
"""The cursor line, under the character."""


@lru_cache(maxsize=512)
def draw(display: Display, screen: Screen, form: Form, manner: Manner, blink: Blink = "shown") -> Drawing:
    """Draw a screen, in its frame.

    Args:
        display: The display.
        screen: The screen.
        form: One of `knobmenu.picture.forms.list_forms`; the drawing has the size that `measure_size` returns.
        manner: How the palette wants it drawn.
        blink: How blinking cells look now.

    Returns:
        The rows. Rows of the display that look the same give the same objects.
    """
    rows: list[Row] = []
    for number, text in enumerate(screen.rows):
        marks = tuple((span.start, span.stop) for span in screen.blinking if span.row == number)
        if isinstance(display, SegmentDisplay):
            rows += _draw_digits(display, text, screen.points, marks, form, manner, blink)
            continue
        if number:
            rows += [_draw_empty(display, form, manner)] * (
                0 if form.kind in ("spaced", "text") else measure_row_gap(display, form)
            )
        rows += _draw_band(display, text, marks, form, manner, blink)
    return _add_frame(display, tuple(rows), form, manner)


# Dot displays.


@lru_cache(maxsize=1024)
def _draw_band(
    display: CharacterDisplay | PixelDisplay,
    text: str,
    marks: tuple[tuple[int, int], ...],
    form: Form,
    manner: Manner,
    blink: Blink,
) -> Drawing:
    """Draw one row of cells."""
    marked = {cell for start, stop in marks for cell in range(start, stop)} if blink != "shown" else set()
    if form.kind in ("spaced", "text"):
        return (_add_sides(display, _write_characters(display, text, marked, form, blink), form, manner),)
    cells = [
        _draw_cell(display, character, form, manner, blink if number in marked else "shown")
        for number, character in enumerate(text)
    ]
    return tuple(
        _add_sides(display, merge(run for cell in cells for run in cell[line]), form, manner)
        for line in range(measure_block(display, form).rows)
    )


@lru_cache(maxsize=4096)
def _draw_cell(
    display: CharacterDisplay | PixelDisplay, character: str, form: Form, manner: Manner, blink: Blink
) -> tuple[Row, ...]:
    """Draw one cell, with its gap to the right."""
    glass = GLASS[type(display)]
    levels = _compute_levels(display, character, blink)
    if form.kind in ("braille", "quadrant"):
        ground = f"{glass}-glass"
        size = measure_block(display, form)
        lit = [[level == 2 for level in row] for row in levels]
        rows = write_braille(lit) if form.kind == "braille" else write_quadrants(lit)
        return tuple((Run(row.ljust(size.columns), f"{glass}-ink", ground),) for row in rows)
    if not manner.unlit:
        levels = [[2 * (level == 2) for level in row] for row in levels]
    if form.scale > 1:
        levels = [[level for level in row for _ in range(form.scale)] for row in levels for _ in range(form.scale)]
    if len(levels) % 2:
        levels.append([0] * len(levels[0]))
    return write_halves(levels, {0: f"{glass}-glass", 1: f"{glass}-unlit", 2: f"{glass}-ink"})


def _compute_levels(display: CharacterDisplay | PixelDisplay, character: str, blink: Blink) -> list[list[int]]:
    """Return the dots of a cell: 0 no dot, 1 unlit, 2 lit."""
    dots = _find_own_glyph(display, character) or find_dots(character) or _UNKNOWN
    if isinstance(display, CharacterDisplay):
        if blink == "marked":
            dots = (*dots[:_MARK_ROW], 0b11111)
        inverse = blink == "other"
        return [
            [1 + (bool(row >> bit & 1) is not inverse) for bit in reversed(range(font.COLUMNS))] + [0] * CELL_GAP
            for row in dots
        ]
    lit = _fill_cell(display, character) or _place(display, dots)
    if blink == "marked":
        lit = [*lit[:-1], [True] * display.cell_width]
    return [[2 * (dot is not (blink == "other")) for dot in row] for row in lit]


def _find_own_glyph(display: CharacterDisplay | PixelDisplay, character: str) -> Dots | None:
    if isinstance(display, CharacterDisplay):
        for glyph in display.glyphs:
            if glyph.character == character:
                return tuple(int(row.replace("#", "1").replace(".", "0"), 2) for row in glyph.dots)
    return None


def _fill_cell(display: PixelDisplay, character: str) -> list[list[bool]] | None:
    """Return a part of a bar, which fills its cell from the left by eighths (The Unicode Standard, Block Elements)."""
    eighths = "▏▎▍▌▋▊▉█".find(character) + 1
    if not eighths:
        return None
    filled = round(display.cell_width * eighths / 8)
    return [[x < filled for x in range(display.cell_width)] for _ in range(display.cell_height)]


def _place(display: PixelDisplay, dots: Dots) -> list[list[bool]]:
    """Put a character into the middle of a cell of pixels, as large as fits."""
    width, height = display.cell_width, display.cell_height
    plain = [[bool(row >> bit & 1) for bit in reversed(range(font.COLUMNS))] for row in dots[:height]]
    rows = plain
    scale = min((width - 1) // font.COLUMNS, height // font.ROWS)
    if scale > 1:
        rows = [[dot for dot in row for _ in range(scale)] for row in plain for _ in range(scale)]
    elif width >= font.COLUMNS + 3 and height >= 2 * font.ROWS:
        rows = _make_taller(plain)
    left, top = (width - len(rows[0])) // 2, (height - len(rows)) // 2
    blank = [False] * width
    return [
        *(blank for _ in range(top)),
        *([*blank[:left], *row, *blank[: width - left - len(row)]] for row in rows),
        *(blank for _ in range(height - top - len(rows))),
    ]


def _make_taller(rows: list[list[bool]]) -> list[list[bool]]:
    """Draw a character twice as high and two columns wider, with strokes as thin as before."""
    wider = [list(column) for column in zip(*_double([list(c) for c in zip(*rows, strict=True)], (1, 3)), strict=True)]
    return _double(wider, range(len(wider)))


def _double(rows: list[list[bool]], which: Container[int]) -> list[list[bool]]:
    """Repeat rows; a repeated row keeps only the dots that continue in the next row or stand alone."""
    result: list[list[bool]] = []
    for number, row in enumerate(rows):
        result.append(row)
        if number in which:
            after = rows[number + 1] if number + 1 < len(rows) else [False] * len(row)
            alone = [
                dot and not any(row[max(0, place - 1) : place]) and not any(row[place + 1 : place + 2])
                for place, dot in enumerate(row)
            ]
            result.append([dot and (down or single) for dot, down, single in zip(row, after, alone, strict=True)])
    return result


def _write_characters(
    display: CharacterDisplay | PixelDisplay, text: str, marked: set[int], form: Form, blink: Blink
) -> list[Run]:
    """Write a row's characters as text, marked ones in the ink for marks."""
    glass = GLASS[type(display)]
    ground = f"{glass}-glass"
    runs: list[Run] = []
    for number, character in enumerate(text):
        ink = f"{glass}-mark" if number in marked else f"{glass}-ink"
        spaced = form.kind == "spaced" and number < len(text) - 1
        # As wide as the terminal draws it; a character that does not fit is shown as a box.
        width = cell_len(character)
        has_room = width == 1 or (width == 2 and spaced)
        runs.append(Run(character if has_room else "□", ink, ground))
        if spaced and not (has_room and width == 2):
            runs.append(Run(" ", f"{glass}-ink", ground))
    return runs


# Seven segments.


@lru_cache(maxsize=1024)
def _draw_digits(
    display: SegmentDisplay,
    text: str,
    points: tuple[int, ...],
    marks: tuple[tuple[int, int], ...],
    form: Form,
    manner: Manner,
    blink: Blink,
) -> Drawing:
    """Draw the digits. A blinking digit goes dark; if nothing should blink, it has another ink."""
    marked = {cell for start, stop in marks for cell in range(start, stop)}
    columns: list[Drawing] = []
    for number, character in enumerate(text):
        blinks = number in marked and blink != "shown"
        dark = blinks and blink == "other"
        ink = "segment-mark" if blinks and not dark else "segment-ink"
        columns.append(_draw_digit(" " if dark else character, number in points and not dark, ink, form, manner))
    rows = [merge(run for column in columns for run in column[line]) for line in range(len(columns[0]))]
    size = measure_size(display, form).columns - 2 * MARGIN[form.kind].columns
    return tuple(_add_sides(display, _fill(row, size), form, manner) for row in rows)


@lru_cache(maxsize=1024)
def _draw_digit(character: str, point: bool, ink: str, form: Form, manner: Manner) -> Drawing:
    ground = "segment-glass"
    if form.kind == "text":
        return (merge([Run(character, ink, ground), Run("." if point else "", ink, ground)]),)
    if form.kind == "spaced":
        return tuple((Run(line, ink, ground),) for line in draw_digit_lines(character, point))
    levels: list[list[int]] = [list(row) for row in draw_digit_levels(measure_digit(form), character, point)]
    if form.kind == "braille":
        return tuple(
            (Run(row, ink, ground),) for row in write_braille([[level == 2 for level in row] for row in levels])
        )
    if not manner.unlit:
        levels = [[2 * (level == 2) for level in row] for row in levels]
    if len(levels) % 2:
        levels.append([0] * len(levels[0]))
    return write_halves(levels, {0: ground, 1: "segment-unlit", 2: ink})


def _fill(row: Row, columns: int) -> Row:
    """Pad a row, which is shorter if fewer points are lit."""
    spare = columns - sum(len(run.text) for run in row)
    return merge([*row, Run(" " * spare, "segment-ink", "segment-glass")])


# The frame.


def find_row_middles(display: Display, form: Form) -> tuple[int, ...]:
    """Find, for each row of a display, the row of the drawing at its middle, from 0 at the top.

    Args:
        display: The display.
        form: The form in which it is drawn.
    """
    top = MARGIN[form.kind].rows
    if isinstance(display, SegmentDisplay):
        return (measure_size(display, form).rows // 2,)
    if form.kind in ("spaced", "text"):
        return tuple(range(top, top + display.rows))
    height = measure_block(display, form).rows
    return tuple(
        top + number * (height + measure_row_gap(display, form)) + height // 2 for number in range(display.rows)
    )


def _add_sides(display: Display, runs: Row | list[Run], form: Form, manner: Manner) -> Row:
    """Add glass and frame at both sides of a row."""
    glass = f"{GLASS[type(display)]}-glass"
    margin = Run(" " * (MARGIN[form.kind].columns - 1), glass, glass)
    side = Run("█" if manner.solid else "│", "bezel", "panel")
    return merge([side, margin, *runs, margin, side])


@lru_cache(maxsize=256)
def _draw_empty(display: Display, form: Form, manner: Manner) -> Row:
    """Draw an empty row of glass."""
    glass = f"{GLASS[type(display)]}-glass"
    columns = measure_size(display, form).columns - 2 * MARGIN[form.kind].columns
    return _add_sides(display, [Run(" " * columns, glass, glass)], form, manner)


def _add_frame(display: Display, rows: Drawing, form: Form, manner: Manner) -> Drawing:
    margin = (_draw_empty(display, form, manner),) * (MARGIN[form.kind].rows - 1)
    columns = measure_size(display, form).columns
    return (_draw_edge(columns, manner, top=True), *margin, *rows, *margin, _draw_edge(columns, manner, top=False))


@lru_cache(maxsize=256)
def _draw_edge(columns: int, manner: Manner, *, top: bool) -> Row:
    if manner.solid:
        return (Run(("▄" if top else "▀") * columns, "bezel", "panel"),)
    left, right = "┌┐" if top else "└┘"
    return (Run(left + "─" * (columns - 2) + right, "bezel", "panel"),)
