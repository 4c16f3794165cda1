"""What seven segments can show.

No standard says how letters look on seven segments. The forms here are those of published lists: the digits and the
letters A to F as at primidi.com, "Seven-segment display: displaying letters"; G, H, I, J, L, n, o, P, q, r, S, t, U,
u and y as at WikiChip, "Seven-segment display: representing letters", which also says that K, M, V, W, X and Z
cannot be shown. The forms of c, h, i and O, and of the signs, are common practice. S looks like 5, and O like 0.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import NamedTuple

PATTERNS: dict[str, int] = {
    " ": 0x00,
    "0": 0x3F, "1": 0x06, "2": 0x5B, "3": 0x4F, "4": 0x66, "5": 0x6D, "6": 0x7D, "7": 0x07, "8": 0x7F, "9": 0x6F,
    "A": 0x77, "b": 0x7C, "C": 0x39, "c": 0x58, "d": 0x5E, "E": 0x79, "F": 0x71, "G": 0x3D, "H": 0x76, "h": 0x74,
    "I": 0x30, "i": 0x10, "J": 0x1E, "L": 0x38, "n": 0x54, "O": 0x3F, "o": 0x5C, "P": 0x73, "q": 0x67, "r": 0x50,
    "S": 0x6D, "t": 0x78, "U": 0x3E, "u": 0x1C, "y": 0x6E,
    "-": 0x40, "_": 0x08, "=": 0x48, "°": 0x63, "'": 0x20, '"': 0x22, "[": 0x39, "]": 0x0F, "?": 0x53,
}  # fmt: skip
"""For each character, which segments are lit: bits gfedcba, a the lowest."""

MISSING = "_"
"""Stands for a character that cannot be shown; never a hyphen, which could be read as a minus."""

_POINTED = ".,:"
"""Characters that light the point of the cell before them."""

_RESEMBLING = {**dict.fromkeys("‐‑‒–—−", "-"), **dict.fromkeys("‘’′`", "'"), **dict.fromkeys("“”″", '"'), "(": "[",
               ")": "]", "ß": "ss", "Æ": "AE", "æ": "ae", "Ø": "O", "ø": "o", "…": "..."}  # fmt: skip


class Spelled(NamedTuple):
    """A text on seven segments."""

    text: str
    """One character a cell, each in the form in which it is shown."""
    points: tuple[int, ...]
    """The cells whose point is lit."""
    replaced: tuple[str, ...]
    """The characters that something else stands for, in order of appearance, each once; another case is no other."""


@lru_cache(maxsize=4096)
def spelled(text: str) -> Spelled:
    """Write a text on seven segments, as many cells as it takes.

    A letter is shown in its own case where that has a form, and in the other one where not. A point, a comma and a
    colon light the point of the cell before them, or of an empty cell where there is none to light.
    """
    cells: list[str] = []
    points: list[int] = []
    replaced: dict[str, None] = {}
    for sign in text:
        if not sign.isascii() and sign not in PATTERNS:
            replaced[sign] = None
        for part in _parts(sign):
            if part in _POINTED:
                if not cells or points[-1:] == [len(cells) - 1]:
                    cells.append(" ")
                points.append(len(cells) - 1)
            elif (form := _form(part)) is not None:
                cells.append(form)
            else:
                replaced[sign] = None
                cells.append(MISSING)
    return Spelled("".join(cells), tuple(points), tuple(replaced))


def _form(sign: str) -> str | None:
    return next((form for form in (sign, sign.lower(), sign.upper()) if form in PATTERNS), None)


def _parts(sign: str) -> str:
    """Take a character apart into characters that may have a form."""
    if sign.isascii() or sign in PATTERNS:
        return _RESEMBLING.get(sign, sign)
    apart = (part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part))
    return "".join(_RESEMBLING.get(part, part) for part in apart)
