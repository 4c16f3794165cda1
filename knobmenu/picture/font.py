"""The dots of characters in a cell of 5 by 8, drawn for this project.

The drawings are in ``font.txt``: a line of characters, one every six columns, and under it their eight rows, ``#`` a
lit dot. A letter with a mark that has no drawing of its own is put together from the letter and the mark: small
letters as they are, capitals in a lower form, since the mark needs the two upper rows.
"""

from __future__ import annotations

import unicodedata
from functools import cache, lru_cache
from importlib.resources import files

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
def dots_of(sign: str) -> Dots | None:
    """Return a character's dots, or None where the font has no drawing of it and can make none."""
    sign = _SAME_SHAPE.get(sign, sign)
    sheet = _sheet()
    if sign in sheet:
        return sheet[sign]
    return _compose(unicodedata.normalize("NFD", sign), sheet)


def _compose(parts: str, sheet: dict[str, Dots]) -> Dots | None:
    letter, marks = parts[:1], parts[1:]
    if not marks or any(mark not in _MARKS for mark in marks):
        return None
    letter = _SAME_SHAPE.get(letter, letter)
    if any(mark not in _BELOW for mark in marks):
        letter = _LOW_CAPITALS.get(letter, _DOTLESS.get(letter, letter))
    dots = sheet.get(letter)
    if dots is None:
        return None
    for mark in marks:
        dots = tuple(row | over for row, over in zip(dots, sheet[_MARKS[mark]], strict=True))
    return dots


@cache
def _sheet() -> dict[str, Dots]:
    sheet: dict[str, Dots] = {" ": (0,) * ROWS}
    lines = iter(files(__package__).joinpath("font.txt").read_text(encoding="utf-8").splitlines())
    for head in lines:
        if not head:
            continue
        rows = [next(lines) for _ in range(ROWS)]
        for start in range(0, len(head), _PITCH):
            sheet[head[start]] = tuple(
                int("".join("1" if dot == "#" else "0" for dot in row[start : start + COLUMNS]), 2) for row in rows
            )
    return sheet
