"""The characters that seven segments can show.

No standard defines letters on seven segments. The forms here are those of published lists: the digits and the
letters A to F as at primidi.com, "Seven-segment display: displaying letters"; G, H, I, J, L, n, o, P, q, r, S, t, U,
u and y as at WikiChip, "Seven-segment display: representing letters", which also says that K, M, V, W, X and Z
cannot be shown. The forms of c, h, i and O, of the other characters, and what stands for those six letters are common
practice. S looks like 5, and O like 0.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import NamedTuple

from knobmenu.screen.characters import CellText

PATTERNS: dict[str, int] = {
    " ": 0x00,
    "0": 0x3F, "1": 0x06, "2": 0x5B, "3": 0x4F, "4": 0x66, "5": 0x6D, "6": 0x7D, "7": 0x07, "8": 0x7F, "9": 0x6F,
    "A": 0x77, "b": 0x7C, "C": 0x39, "c": 0x58, "d": 0x5E, "E": 0x79, "F": 0x71, "G": 0x3D, "H": 0x76, "h": 0x74,
    "I": 0x30, "i": 0x10, "J": 0x1E, "K": 0x75, "L": 0x38, "M": 0x37, "n": 0x54, "O": 0x3F, "o": 0x5C, "P": 0x73,
    "q": 0x67, "r": 0x50, "S": 0x6D, "t": 0x78, "U": 0x3E, "u": 0x1C, "y": 0x6E,
    "-": 0x40, "_": 0x08, "=": 0x48, "°": 0x63, "'": 0x20, '"': 0x22, "[": 0x39, "]": 0x0F, "?": 0x53,
}  # fmt: skip
"""The lit segments of each character: bits gfedcba, a the lowest."""

MISSING = "_"
"""Replaces a letter that cannot be shown; not a hyphen, which could be read as a minus sign."""

POINT = "."
"""In a text for seven segments: lights the point of the cell before it."""

_POINTED = ".,:"
"""Characters that light the point of the cell before them."""

_RESEMBLING = {**dict.fromkeys("‐‑‒–—−", "-"), **dict.fromkeys("‘’′`", "'"), **dict.fromkeys("“”″", '"'), "(": "[",
               ")": "]", "ß": "ss", "Æ": "AE", "æ": "ae", "Ø": "O", "ø": "o", "…": "...",
               "V": "U", "v": "u", "W": "U", "w": "u", "X": "H", "x": "H", "Z": "2", "z": "2"}  # fmt: skip

_APPROXIMATE = frozenset("KkMm")
"""Letters whose forms are not in the published lists: readable in a word, but not used for units."""


class Layout(NamedTuple):
    """A text laid out in seven-segment cells."""

    cells: str
    """One character for each cell."""
    points: tuple[int, ...]
    """The cells whose point is lit."""


@lru_cache(maxsize=4096)
def lay_out(text: str) -> Layout:
    """Lay out a text for seven segments in cells.

    A point lights the point of the cell before it, or that of an empty cell if there is none to light.
    """
    cells: list[str] = []
    points: list[int] = []
    for character in text:
        if character != POINT:
            cells.append(character)
            continue
        if not cells or points[-1:] == [len(cells) - 1]:
            cells.append(" ")
        points.append(len(cells) - 1)
    return Layout("".join(cells), tuple(points))


def fit(text: str) -> CellText:
    """Write a text in the forms of seven segments.

    A letter is shown in its own case if that has a form, else in the other case. A full stop, a comma and a colon
    become `POINT`. A letter or digit without a form becomes `MISSING`, any other character a blank.
    """
    parts: list[str] = []
    replaced: dict[str, None] = {}
    for character in text:
        shown = "".join(map(_choose_form, _take_apart(character)))
        own = shown.lower() == character.lower() or character in _POINTED
        if not own or character in _APPROXIMATE:
            replaced[character] = None
        parts.append(shown)
    return CellText("".join(parts), tuple(replaced), text)


def _choose_form(character: str) -> str:
    """Return the form in which one character is shown."""
    if character in _POINTED:
        return POINT
    for form in (character, character.lower(), character.upper()):
        if form in PATTERNS:
            return form
    return MISSING if character.isalnum() else " "


def _take_apart(character: str) -> str:
    """Decompose a character into characters that may have a form."""
    if character.isascii() or character in PATTERNS:
        return _RESEMBLING.get(character, character)
    apart = (part for part in unicodedata.normalize("NFKD", character) if not unicodedata.combining(part))
    return "".join(_RESEMBLING.get(part, part) for part in apart)
