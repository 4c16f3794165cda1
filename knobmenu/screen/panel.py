"""A display from the layouts' point of view: its size, how it fits texts, and the characters of its marks."""

from __future__ import annotations

from functools import lru_cache

import attrs

from knobmenu.design.hardware import CharacterDisplay, Display, PixelDisplay, SegmentDisplay
from knobmenu.screen import characters, segments
from knobmenu.screen.characters import CellText, get_code
from knobmenu.structure import Structure


@attrs.frozen(repr=False)
class CellPanel(Structure):
    """A display of cells, each of which shows one character."""

    columns: int
    """Cells in a row."""
    rows: int
    """Rows."""
    characters: str
    """Its character set."""
    glyphs: str
    """The characters of its custom glyphs."""
    selected: str
    """Marks the selected entry or answer, before it; one character."""
    inside: str
    """Marks an entry that opens a menu, behind it."""
    above: str
    """Marks a list that continues above."""
    below: str
    """Marks a list that continues below."""
    cut: str
    """Ends a text that is cut."""
    delete: str
    """While a text is edited: deletes the last character."""
    done: str
    """While a text is edited: commits it."""
    bar: str
    """A cell of a bar, from empty to full in equal steps."""

    @property
    def missing(self) -> str:
        """Replaces a character that nothing resembles."""
        return characters.MISSING

    def fit(self, text: str) -> CellText:
        """Write a text in the characters that the display has."""
        return characters.fit(self.characters, self.glyphs, text)

    def fit_unit(self, text: str) -> CellText:
        """Write a unit in the characters that the display has."""
        return self.fit(text)

    def fit_each(self, text: str) -> tuple[CellText, ...]:
        """Write each character of a text in one cell; one that would disappear becomes `characters.MISSING`."""
        each = ((character, self.fit(character)) for character in text)
        return tuple(
            [CellText((one.text or characters.MISSING)[0], one.replaced, character) for character, one in each]
        )

    def measure(self, text: str) -> int:
        """Count the cells that a fitted text takes."""
        return len(text)


@attrs.frozen
class SegmentPanel:
    """A row of seven-segment digits, each a cell with a point of its own."""

    columns: int
    """Digits."""
    rows: int = 1

    @property
    def missing(self) -> str:
        """Replaces a letter that cannot be shown."""
        return segments.MISSING

    def fit(self, text: str) -> CellText:
        """Write a text in the forms of seven segments."""
        return segments.fit(text)

    def fit_unit(self, text: str) -> CellText:
        """Write a unit, or nothing if a character lacks a form of its own: it could be misread."""
        unit = segments.fit(text)
        return CellText("", (), text) if unit.replaced else unit

    def fit_each(self, text: str) -> tuple[CellText, ...]:
        """Write each character of a text in one cell; a point lights the point of an empty cell."""
        return tuple([self._fit_one(character) for character in text])

    def _fit_one(self, character: str) -> CellText:
        form = segments.fit(character)
        cells, points = segments.lay_out(form.text)
        first = cells[:1] if cells[:1].strip() or character == " " or points[:1] == (0,) else segments.MISSING
        return CellText(first + (segments.POINT if points[:1] == (0,) else ""), form.replaced, character)

    def measure(self, text: str) -> int:
        """Count the cells that a fitted text takes; a point takes none."""
        return len(segments.lay_out(text).cells)


Panel = CellPanel | SegmentPanel


def make_panel(display: Display) -> Panel:
    """Make the panel of a display."""
    match display:
        case SegmentDisplay():
            return SegmentPanel(display.digits)
        case PixelDisplay():
            return _make_cell_panel(display.columns, display.rows, "unicode", "")
        case CharacterDisplay():
            glyphs = "".join([glyph.character for glyph in display.glyphs])
            return _make_cell_panel(display.columns, display.rows, display.characters, glyphs)


_BARS = ("·▏▎▍▌▋▊▉█", "·█", "·=", ".=")


@lru_cache(maxsize=64)
def _make_cell_panel(columns: int, rows: int, character_set: str, glyphs: str) -> CellPanel:
    def choose_first(*candidates: str) -> str:
        """Choose the first candidate that the display can show; every display can show the last one."""
        return next(
            candidate
            for candidate in candidates
            if all(part in glyphs or get_code(character_set, part) is not None for part in candidate)
        )

    return CellPanel(
        columns=columns,
        rows=rows,
        characters=character_set,
        glyphs=glyphs,
        selected=choose_first("▸", "▶", ">"),
        inside=choose_first("›", "»", "→", ">"),
        above=choose_first("↑", "^"),
        below=choose_first("↓", "v"),
        cut=choose_first("…", "."),
        delete=choose_first("←", "<-"),
        done=choose_first("✓", "OK"),
        bar=choose_first(*_BARS),
    )
