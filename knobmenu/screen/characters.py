"""The characters that a display has, and the replacements for those that it lacks.

A cell of a display holds one character. A character is one code point: letters with combining marks are composed first,
and a mark that cannot be composed is dropped. The ohm sign is the letter omega (Unicode, NFC).

Sources. ROM A00 and A02 of the HD44780U: Hitachi, "HD44780U (LCD-II)", ADE-207-272(Z), 1999, tables 4 and the
character generator. The codes 0x5C, 0x7E and 0x7F of ROM A00 and its codes for alpha, beta, micro, ohm, pi, division,
root, infinity and sum agree with published mappings of that ROM. Codes A1 to DF of ROM A00 are those of
JIS X 0201, except that DF serves as the degree sign. All other codes from 80 up, of both ROMs, are from memory of the
data sheet's table, and codes whose character is in doubt are omitted: a display may then show less than it could, but
never a wrong character.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from typing import NamedTuple

_ASCII = {chr(code): code for code in range(0x20, 0x7F)}

_KATAKANA = {chr(0xFF61 + offset): 0xA1 + offset for offset in range(0xDF - 0xA1)}
"""Half-width forms, JIS X 0201: U+FF61 is A1."""

_A00: dict[str, int] = {
    **{character: code for character, code in _ASCII.items() if character not in "\\~"},
    "¥": 0x5C, "→": 0x7E, "←": 0x7F,
    **_KATAKANA,
    "·": 0xA5, "°": 0xDF,
    "α": 0xE0, "ä": 0xE1, "β": 0xE2, "ß": 0xE2, "ε": 0xE3, "µ": 0xE4, "μ": 0xE4, "σ": 0xE5, "ρ": 0xE6, "√": 0xE8,
    "¢": 0xEC, "ñ": 0xEE, "ö": 0xEF, "θ": 0xF2, "∞": 0xF3, "Ω": 0xF4, "ü": 0xF5, "Σ": 0xF6, "π": 0xF7,
    "千": 0xFA, "万": 0xFB, "円": 0xFC, "÷": 0xFD, "█": 0xFF,
}  # fmt: skip

_A02_DOUBTFUL = frozenset("¨¬­¯´¸\xa0Øø")
"""Latin-1 characters whose code in ROM A02 may hold another character."""

_A02: dict[str, int] = {
    **_ASCII,
    **{character: 0x10 + offset for offset, character in enumerate("▶◀“”")},
    "●": 0x16, "↵": 0x17, "↑": 0x18, "↓": 0x19, "→": 0x1A, "←": 0x1B, "≤": 0x1C, "≥": 0x1D, "▲": 0x1E, "▼": 0x1F,
    **{character: 0x80 + offset for offset, character in enumerate("БДЖЗИЙЛПУЦЧШЩЪЫЭ")},
    "α": 0x90, "♪": 0x91, "Γ": 0x92, "π": 0x93, "Σ": 0x94, "σ": 0x95, "τ": 0x97, "Θ": 0x99, "Ω": 0x9A,
    "δ": 0x9B, "∞": 0x9C, "♥": 0x9D, "ε": 0x9E, "∩": 0x9F,
    **{chr(code): code for code in range(0xA1, 0x100) if chr(code) not in _A02_DOUBTFUL},
    "μ": 0xB5,
}  # fmt: skip

_LATIN_1 = {chr(code): code for code in (*range(0x20, 0x7F), *range(0xA1, 0xAD), *range(0xAE, 0x100))}

_SETS: Mapping[str, Mapping[str, int]] = {"ascii": _ASCII, "lcd-a00": _A00, "lcd-a02": _A02, "latin-1": _LATIN_1}

_WHOLE = {name: frozenset(codes) for name, codes in {**_SETS, "unicode": _ASCII}.items()}
"""Characters of each set that never combine with others; a text of only these is shown unchanged."""

MISSING = "?"
"""Replaces a character that nothing resembles."""

_RESEMBLING: dict[str, str] = {
    **dict.fromkeys("‐‑‒–—―−~", "-"),
    **dict.fromkeys("‘’‚‛′´`", "'"),
    **dict.fromkeys("“”„‟″«»", '"'),
    **dict.fromkeys("·•‧", "."),
    **dict.fromkeys("→›▶▸►", ">"),
    **dict.fromkeys("←‹◀◂◄", "<"),
    "…": "...", "↑": "^", "↓": "v", "×": "x", "÷": "/", "⁄": "/", "\\": "/", "≤": "<=", "≥": ">=", "≠": "<>",
    "±": "+/-", "°": "", "¿": "", "¡": "", "ß": "ss", "Æ": "AE", "æ": "ae", "Œ": "OE", "œ": "oe", "Ø": "O", "ø": "o",
    "Đ": "D", "đ": "d", "Ð": "D", "ð": "d", "Þ": "Th", "þ": "th", "Ł": "L", "ł": "l", "ı": "i",
    "µ": "u", "μ": "u", "Ω": "Ohm", "€": "EUR", "£": "GBP", "¥": "JPY", "¢": "c", "©": "(c)",
    "®": "(r)", "§": "S", "¶": "P", "¦": "|",
}  # fmt: skip


class CellText(NamedTuple):
    """A text in the characters of a display."""

    text: str
    """What is shown. Each character takes a cell, except for a full stop on seven segments; see `segments`."""
    replaced: tuple[str, ...] = ()
    """The characters that the display lacks, in order of appearance, each once."""
    source: str = ""
    """The original text."""


EMPTY = CellText("")
"""No text."""


def get_code(character_set: str, character: str) -> int | None:
    """Return the code of a character in a set, or None if the set lacks it.

    Args:
        character_set: One of `knobmenu.design.hardware.CHARACTER_SETS`. The code is that of the ROM for ``lcd-a00``
            and ``lcd-a02``, the code point for ``unicode``, and the byte for the others.
        character: One character.
    """
    if character_set == "unicode":
        return ord(character) if character.isprintable() and not _is_mark(character) else None
    return _SETS[character_set].get(character)


def fit(character_set: str, glyphs: str, text: str) -> CellText:
    """Write a text in the characters of a display; it can become longer or shorter.

    A letter with a mark becomes the letter, a long dash a hyphen, an ellipsis three points, and so on; a character that
    nothing resembles becomes `MISSING`.

    Args:
        character_set: One of `knobmenu.design.hardware.CHARACTER_SETS`.
        glyphs: The characters of the display's custom glyphs.
        text: The text.
    """
    if _WHOLE[character_set].issuperset(text):
        return CellText(text, (), text)
    characters: list[str] = []
    replaced: dict[str, None] = {}
    for character in unicodedata.normalize("NFC", text):
        if _has(character_set, glyphs, character):
            characters.append(character)
        else:
            replaced[character] = None
            characters.append(_choose_replacement(character_set, glyphs, character))
    return CellText("".join(characters), tuple(replaced), text)


def _is_mark(character: str) -> bool:
    """Return whether a character is drawn over the one before it, without a cell of its own."""
    return unicodedata.category(character) in ("Mn", "Me")


def _has(character_set: str, glyphs: str, character: str) -> bool:
    return character in glyphs or get_code(character_set, character) is not None


def _choose_replacement(character_set: str, glyphs: str, character: str) -> str:
    """Choose the replacement for a character that the display lacks."""
    if _is_mark(character):
        return ""
    resembling = _RESEMBLING.get(character)
    if resembling is None:
        apart = unicodedata.normalize("NFKD", character)
        resembling = "".join(_RESEMBLING.get(part, part) for part in apart if not _is_mark(part))
        if resembling == character:
            return MISSING
    known = all(_has(character_set, glyphs, part) for part in resembling)
    return resembling if known else MISSING


class RowAddress(NamedTuple):
    """Where a row begins in the memory of a character display."""

    controller: int
    """0; or 1 for the lower rows of a display too large for one controller."""
    address: int
    """The display data address of the row's first cell."""


def find_row_address(columns: int, rows: int, row: int) -> RowAddress:
    """Return where a row of a character display begins.

    A controller holds 80 cells, as one line from 00 or as two lines of 40 from 00 and 40 (Hitachi, ADE-207-272(Z),
    "Display Data RAM"); the third and fourth row continue where the first and second end. Some 16 by 1 displays are two
    halves that begin at 00 and 40 (see their data sheets); this function treats them as one row.

    Args:
        columns: Cells in a row, 8 to 40.
        rows: Rows, 1 to 4.
        row: The row, from 0 at the top.
    """
    if rows > 2 and columns > 20:
        return RowAddress(row // 2, 0x40 * (row % 2))
    return RowAddress(0, 0x40 * (row % 2) + columns * (row // 2))
