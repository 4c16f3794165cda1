"""Characters and addresses, against the data sheet of the character display's controller and the Unicode standard."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import CHARACTER_SETS, CharacterDisplay, PixelDisplay
from knobmenu.screen.characters import RowAddress, find_row_address, fit, get_code
from knobmenu.screen.panel import CellPanel, make_panel


@pytest.mark.parametrize(
    ("sign", "code"),
    [
        # Published mapping of the symbols of ROM A00 for controllers of this kind, and the data sheet's table.
        ("¥", 0x5C), ("→", 0x7E), ("←", 0x7F),
        ("α", 0xE0), ("β", 0xE2), ("µ", 0xE4), ("√", 0xE8), ("∞", 0xF3), ("Ω", 0xF4), ("Σ", 0xF6), ("π", 0xF7),
        ("÷", 0xFD),
        # From memory of the same table.
        ("°", 0xDF), ("█", 0xFF), ("ä", 0xE1), ("ö", 0xEF), ("ü", 0xF5), ("ñ", 0xEE),
    ],
)  # fmt: skip
def test_rom_a00_has_its_own_symbols_at_the_codes_of_its_table(sign: str, code: int) -> None:
    assert get_code("lcd-a00", sign) == code


def test_rom_a00_is_ascii_but_for_the_backslash_and_the_tilde() -> None:
    """The data sheet's table: 5C is the yen sign, 7E and 7F are arrows, 20 to 7D otherwise as in ASCII."""
    for code in range(0x20, 0x7F):
        assert get_code("lcd-a00", chr(code)) == (None if chr(code) in "\\~" else code)


def test_rom_a00_has_the_half_width_katakana_of_jis_x_0201() -> None:
    """Python's own table of Shift JIS holds JIS X 0201 in its single bytes A1 to DF."""
    for code in range(0xA1, 0xDF):
        assert get_code("lcd-a00", bytes([code]).decode("shift_jis")) == code


KATAKANA = "".join(chr(0xFF61 + place) for place in range(0xDF - 0xA1))
LATIN = "".join(chr(code) for code in range(0xA0, 0x100))
DOUBTFUL = str.maketrans("\xa0\xad¨¬¯´¸Øø", " " * 9)


@pytest.mark.parametrize(
    ("character_set", "columns"),
    [
        (
            "lcd-a00",
            {0xA0: f" {KATAKANA}°", 0xE0: "αäβεµσρ √   ¢ ñö", 0xF0: "  θ∞ΩüΣπ  千万円÷ █"},
        ),
        (
            "lcd-a02",
            {0x10: "▶◀“”  ●↵↑↓→←≤≥▲▼", 0x80: "БДЖЗИЙЛПУЦЧШЩЪЫЭ", 0x90: "α♪ΓπΣσ τ ΘΩδ∞♥ε∩",
             0xA0: LATIN.translate(DOUBTFUL)},
        ),
    ],
)  # fmt: skip
def test_a_rom_has_the_characters_of_its_table_and_no_others(character_set: str, columns: dict[int, str]) -> None:
    """Read down the columns of the data sheet's tables, from memory; a blank where a code's character is in doubt."""
    expected = {code: character for first, column in columns.items() for code, character in enumerate(column, first)}
    expected = {code: character for code, character in expected.items() if character != " "}
    alike = {"μ", "ß", "·"} if character_set == "lcd-a00" else {"μ"}
    found = {
        code: character
        for character in map(chr, range(0x10000))
        if (code := get_code(character_set, character)) is not None
        and not 0x20 <= code < 0x80
        and character not in alike
    }
    assert found == expected


def test_rom_a02_has_the_backslash_and_the_tilde() -> None:
    """From memory of the data sheet's table of ROM A02."""
    assert get_code("lcd-a02", "\\") == 0x5C
    assert get_code("lcd-a02", "~") == 0x7E
    assert get_code("lcd-a02", "¥") == 0xA5


def test_latin_1_is_the_set_of_its_standard() -> None:
    """ISO/IEC 8859-1, by Python's own table; the two blanks of it that are no blanks are left out."""
    for code in range(0x100):
        sign = bytes([code]).decode("latin-1")
        assert get_code("latin-1", sign) == (code if sign.isprintable() else None)


@pytest.mark.parametrize("character_set", CHARACTER_SETS)
def test_every_set_has_printable_ascii_but_for_two_characters_of_one_rom(character_set: str) -> None:
    lacking = [chr(code) for code in range(0x20, 0x7F) if get_code(character_set, chr(code)) is None]

    assert lacking == (["\\", "~"] if character_set == "lcd-a00" else [])


@pytest.mark.parametrize(
    ("text", "character_set", "shown"),
    [
        ("Café", "ascii", "Cafe"),
        ("Café", "latin-1", "Café"),
        ("Cafe\u0301", "latin-1", "Café"),
        ("Größe", "lcd-a00", "Größe"),
        ("Größe", "ascii", "Grosse"),
        ("Ärger", "lcd-a00", "Arger"),
        ("a – b", "ascii", "a - b"),
        ("More…", "lcd-a00", "More..."),
        ("it’s", "ascii", "it's"),
        ("a → b", "ascii", "a > b"),
        ("a → b", "lcd-a00", "a → b"),
        ("a\\b", "lcd-a00", "a/b"),
        ("25 °C", "ascii", "25 C"),
        ("4.7 kΩ", "ascii", "4.7 kOhm"),
        ("4.7 k\u2126", "lcd-a00", "4.7 kΩ"),
        ("½", "ascii", "1/2"),
        ("Звук", "ascii", "????"),
        ("Звук", "unicode", "Звук"),
        ("ｶﾅ", "lcd-a00", "ｶﾅ"),
    ],
)
def test_a_character_that_is_lacking_gives_way_to_what_resembles_it(text: str, character_set: str, shown: str) -> None:
    assert fit(character_set, "", text).text == shown


def test_what_was_replaced_is_told_once_and_in_order() -> None:
    assert fit("ascii", "", "für Bär und Brühe").replaced == ("ü", "ä")
    assert fit("ascii", "", "plain").replaced == ()


def test_a_glyph_of_the_display_counts_as_a_character_that_it_has() -> None:
    assert fit("ascii", "♫", "♫ on").text == "♫ on"
    assert fit("ascii", "", "♫ on").text == "? on"


def test_a_text_whose_characters_are_counted_keeps_one_cell_for_each() -> None:
    assert "".join(one.text for one in _panel("ascii").fit_each("Größe…°")) == "Grose.?"


def _panel(character_set: str) -> CellPanel:
    display = PixelDisplay() if character_set == "unicode" else CharacterDisplay(characters=character_set)  # type: ignore[arg-type]
    panel = make_panel(display)
    assert isinstance(panel, CellPanel)
    return panel


@given(st.sampled_from(CHARACTER_SETS), st.text(st.characters(categories=["L", "M", "N", "P", "S", "Zs"])))
def test_whatever_is_written_only_characters_of_the_set_are_shown(character_set: str, text: str) -> None:
    first = fit(character_set, "", text)

    assert all(get_code(character_set, sign) is not None for sign in first.text)
    assert fit(character_set, "", first.text) == (first.text, (), first.text)
    assert set(first.replaced) <= set(unicodedata.normalize("NFC", text))
    each = _panel(character_set).fit_each(text)
    assert [len(one.text) for one in each] == [1] * len(text)
    assert all(get_code(character_set, one.text) is not None for one in each)


@pytest.mark.parametrize(
    ("columns", "rows", "addresses"),
    [
        # Data sheet, "Display Data RAM": 8 by 2 and 16 by 2 begin at 00 and 40.
        (8, 1, [0x00]), (8, 2, [0x00, 0x40]), (16, 2, [0x00, 0x40]),
        # Glass sizes and their addresses, elm-chan.org/fsw/ezlcd/layout.txt.
        (10, 2, [0x00, 0x40]), (20, 2, [0x00, 0x40]), (24, 2, [0x00, 0x40]), (40, 2, [0x00, 0x40]),
        (10, 4, [0x00, 0x40, 0x0A, 0x4A]),
        # Worked out: a display of four rows is one of two rows cut in half.
        (16, 4, [0x00, 0x40, 0x10, 0x50]), (20, 4, [0x00, 0x40, 0x14, 0x54]),
    ],
)  # fmt: skip
def test_each_row_begins_where_the_glass_has_it(columns: int, rows: int, addresses: list[int]) -> None:
    assert [find_row_address(columns, rows, row) for row in range(rows)] == [
        RowAddress(0, address) for address in addresses
    ]


def test_a_display_of_more_than_eighty_cells_has_two_controllers() -> None:
    """The data sheet: one controller holds 80 cells. That 40 by 4 is two of 40 by 2 is common practice."""
    assert [find_row_address(40, 4, row) for row in range(4)] == [(0, 0x00), (0, 0x40), (1, 0x00), (1, 0x40)]


@given(st.integers(8, 40), st.integers(1, 4))
def test_no_two_rows_share_memory_and_every_cell_is_in_it(columns: int, rows: int) -> None:
    """The data sheet: lines of 40 cells, 00 to 27 and 40 to 67; a single line goes from 00 to 4F."""
    cells = [
        (find_row_address(columns, rows, row).controller, find_row_address(columns, rows, row).address + column)
        for row in range(rows)
        for column in range(columns)
    ]

    assert len(set(cells)) == len(cells)
    assert all(0x00 <= address <= 0x27 or 0x40 <= address <= 0x67 for _, address in cells)


ALIKE = {"lcd-a00": ({"µ", "μ"}, {"·", "･"}, {"ß", "β"}), "lcd-a02": ({"µ", "μ"},), "latin-1": ()}
"""Characters that one code stands for: they look alike on such a display."""


@pytest.mark.parametrize("character_set", ALIKE)
def test_a_code_stands_for_one_character_but_for_those_that_look_alike(character_set: str) -> None:
    found: dict[int, set[str]] = {}
    for character in map(chr, range(0x10000)):
        if (code := get_code(character_set, character)) is not None:
            found.setdefault(code, set()).add(character)

    shared = [characters for characters in found.values() if len(characters) > 1]
    assert all(characters in ALIKE[character_set] for characters in shared)
    assert len(shared) == len(ALIKE[character_set])
