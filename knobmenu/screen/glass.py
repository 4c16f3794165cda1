"""A display as the layouts see it: its size, and the signs that it has for their marks."""

from __future__ import annotations

from functools import lru_cache

import attrs

from knobmenu.design.hardware import CharacterDisplay, PixelDisplay
from knobmenu.screen.characters import Fitted, code_of, fitted, fitted_in_place
from knobmenu.screen.values import ValueText


@attrs.frozen(eq=False)
class Glass:
    """A display of cells. Two displays that show alike are the same object, so that it is cheap to compare."""

    columns: int
    """Cells in a row."""
    rows: int
    """Rows."""
    characters: str
    """Its character set."""
    glyphs: str
    """The signs of its own glyphs."""
    selected: str
    """Stands before the selected entry or answer."""
    inside: ValueText
    """Stands behind an entry that opens a menu."""
    above: str
    """Says that a list goes on above."""
    below: str
    """Says that a list goes on below."""
    cut: str
    """Ends a text that is not shown whole."""
    delete: str
    """While a text is written: takes the last character back."""
    done: str
    """While a text is written: ends it."""
    bar: str
    """A cell of a bar, from empty to full in equal steps."""

    def fitted(self, text: str) -> Fitted:
        """Write a text in the characters that the display has."""
        return fitted(self.characters, self.glyphs, text)

    def fitted_in_place(self, text: str) -> Fitted:
        """Write a text in the characters that the display has, one cell for each of its characters."""
        return fitted_in_place(self.characters, self.glyphs, text)


def glass_of(display: CharacterDisplay | PixelDisplay) -> Glass:
    """Return the glass of a display."""
    if isinstance(display, PixelDisplay):
        return _glass(display.columns, display.rows, "unicode", "")
    glyphs = "".join([glyph.sign for glyph in display.glyphs]) if display.glyphs else ""
    return _glass(display.columns, display.rows, display.characters, glyphs)


_BARS = ("·▏▎▍▌▋▊▉█", "·█", "·=", ".=")


@lru_cache(maxsize=64)
def _glass(columns: int, rows: int, characters: str, glyphs: str) -> Glass:
    def first(*candidates: str) -> str:
        """Choose the first candidate that the display can show; the last one every display can."""
        return next(
            candidate
            for candidate in candidates
            if all(sign in glyphs or code_of(characters, sign) is not None for sign in candidate)
        )

    return Glass(
        columns=columns,
        rows=rows,
        characters=characters,
        glyphs=glyphs,
        selected=first("▸", "▶", ">"),
        inside=ValueText(first("›", "»", "→", ">"), "", True),
        above=first("↑", "^"),
        below=first("↓", "v"),
        cut=first("…", "."),
        delete=first("←", "<-"),
        done=first("✓", "OK"),
        bar=first(*_BARS),
    )
