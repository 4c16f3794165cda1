"""The dots of characters in a cell of 5 by 8, drawn for this project.

The drawings are in ``font.txt``: a line of characters, one every six columns, and under it their eight rows, ``#`` a
lit dot. A letter with a mark that has no drawing of its own is put together from the letter and the mark: small
letters as they are, capitals in a lower form, since the mark needs the two upper rows.
"""

from __future__ import annotations

import unicodedata
from functools import cache, lru_cache
from pathlib import Path
from typing import NamedTuple

COLUMNS = 5
ROWS = 8

Dots = tuple[int, ...]
"""Rows from the top; in each the leftmost dot is the highest bit."""

_PITCH = COLUMNS + 1
_LOW_CAPITALS = dict(zip("ACEINOUYSZLGDRTK", "ᴀᴄᴇɪɴᴏᴜʏꜱᴢʟɢᴅʀᴛᴋ", strict=True))
_DOTLESS = {"i": "ı", "j": "ȷ"}
_MARKS = {
    "\u0300": "ˋ", "\u0301": "ˊ", "\u0302": "ˆ", "\u0303": "˜", "\u0304": "¯", "\u0306": "˘", "\u0307": "˙",
    "\u0308": "¨", "\u030a": "˚", "\u030b": "˝", "\u030c": "ˇ", "\u0327": "¸", "\u0328": "˛",
}  # fmt: skip
_BELOW = "\u0327\u0328"
"""Marks under a letter: its capital keeps its height."""
_SAME_SHAPE = {
    **dict(zip("АВЕЅІЈКМНОРСТХЁЇ", "ABESIJKMHOPCTXËÏ", strict=True)),
    **dict(zip("аеѕіјорсхёїу", "aesijopcxëïy", strict=True)),
    **dict(zip("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEZHIKMNOPTYX", strict=True)),
    **dict(zip("ηικνουχ", "nıkvovx", strict=True)),
    **dict.fromkeys("\xa0\u2007\u2009\u202f", " "),
    **dict.fromkeys("‐‑‒–—―", "-"),
    "\u00ad": "-", "Г": "Γ", "Ф": "Φ", "μ": "µ", "\u2126": "Ω", "∆": "Δ", "‚": ",", "„": "”", "►": "▶", "◄": "◀",
    "✔": "✓", "◦": "°", "‧": "·", "⋅": "·", "･": "·", "′": "´", "″": '"', "▪": "■", "▫": "□", "∕": "/", "ϕ": "φ",
    "ς": "c",
}  # fmt: skip


@lru_cache(maxsize=4096)
def find_dots(character: str) -> Dots | None:
    """Return a character's dots, or None where the font has no drawing of it and can make none."""
    character = _SAME_SHAPE.get(character, character)
    return _read_drawing(character) or _compose(unicodedata.normalize("NFD", character))


def _compose(parts: str) -> Dots | None:
    letter, marks = parts[:1], parts[1:]
    if not marks or any(mark not in _MARKS for mark in marks):
        return None
    letter = _SAME_SHAPE.get(letter, letter)
    if any(mark not in _BELOW for mark in marks):
        letter = _LOW_CAPITALS.get(letter, _DOTLESS.get(letter, letter))
    dots = _read_drawing(letter)
    if dots is None:
        return None
    for mark in marks:
        over = _read_drawing(_MARKS[mark])
        assert over is not None, "every mark is drawn"
        dots = tuple(row | above for row, above in zip(dots, over, strict=True))
    return dots


def _read_drawing(character: str) -> Dots | None:
    """Return the dots of a character as it is drawn in the sheet; None where it is not."""
    if character == " ":
        return (0,) * ROWS
    sheet = _load_sheet()
    place = sheet.places.get(character)
    if place is None:
        return None
    line, column = place
    rows = [row[column : column + COLUMNS] for row in sheet.lines[line + 1 : line + 1 + ROWS]]
    return tuple(int(row.replace("#", "1").replace(".", "0"), 2) for row in rows)


class _Sheet(NamedTuple):
    """The drawings as text: only those that are shown become dots."""

    lines: list[str]
    places: dict[str, tuple[int, int]]
    """For each character the line and the column where it stands."""


@cache
def _load_sheet() -> _Sheet:
    # By its path: looking it up as a resource of the package takes several times as long as reading it.
    lines = Path(__file__).with_name("font.txt").read_text(encoding="utf-8").splitlines()
    places = {}
    line = 0
    while line < len(lines):
        if not lines[line]:
            line += 1
            continue
        for column in range(0, len(lines[line]), _PITCH):
            places[lines[line][column]] = line, column
        line += 1 + ROWS
    return _Sheet(lines, places)
