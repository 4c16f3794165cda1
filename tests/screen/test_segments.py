"""Seven-segment forms, against published lists."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.screen.panel import SegmentPanel
from knobmenu.screen.segments import PATTERNS, fit, lay_out


def test_the_hexadecimal_digits_have_the_published_patterns() -> None:
    """primidi.com, "Seven-segment display: displaying letters": 0 to F, bits gfedcba; its 6 has the upper bar."""
    published = [
        0x3F, 0x06, 0x5B, 0x4F, 0x66, 0x6D, 0x7D, 0x07, 0x7F, 0x6F, 0x77, 0x7C, 0x39, 0x5E, 0x79, 0x71,
    ]  # fmt: skip

    assert [PATTERNS[form] for form in "0123456789AbCdEF"] == published


def test_the_other_letters_have_the_published_patterns() -> None:
    """WikiChip, "Seven-segment display: representing letters"."""
    published = {
        "G": 0x3D, "H": 0x76, "I": 0x30, "J": 0x1E, "L": 0x38, "n": 0x54, "o": 0x5C, "P": 0x73, "q": 0x67,
        "r": 0x50, "S": 0x6D, "t": 0x78, "U": 0x3E, "u": 0x1C, "y": 0x6E,
    }  # fmt: skip

    assert {form: PATTERNS[form] for form in published} == published


def test_the_forms_that_no_list_has_are_those_of_common_practice() -> None:
    """Common practice; a is the upper segment, b to f follow clockwise, g is in the middle."""
    lit = {
        " ": "", "c": "deg", "h": "cefg", "i": "e", "O": "abcdef", "K": "acefg", "M": "abcef",
        "-": "g", "_": "d", "=": "dg", "°": "abfg", "'": "f", '"': "bf", "[": "adef", "]": "abcd", "?": "abeg",
    }  # fmt: skip

    assert {form: PATTERNS[form] for form in lit} == {
        form: sum(1 << "abcdefg".index(segment) for segment in segments) for form, segments in lit.items()
    }


def test_brackets_mirror_each_other_and_every_pattern_has_seven_segments() -> None:
    mirrored = dict(zip("abcdefg", "afedcbg", strict=True))
    left = {segment for bit, segment in enumerate("abcdefg") if PATTERNS["["] >> bit & 1}
    right = {segment for bit, segment in enumerate("abcdefg") if PATTERNS["]"] >> bit & 1}

    assert {mirrored[segment] for segment in left} == right
    assert all(0 <= pattern < 1 << 7 for pattern in PATTERNS.values())


@pytest.mark.parametrize(("letters", "shown"), [("KMVWXZ", "KMUUH2"), ("kmvwxz", "KMuuH2")])
def test_six_letters_fall_back_to_what_is_common_practice_and_are_reported(letters: str, shown: str) -> None:
    """WikiChip, as above, has no form for K, M, V, W, X and Z. What stands for them is common practice."""
    assert fit(letters) == (shown, tuple(letters), letters)


@pytest.mark.parametrize("text", ["%", "Hz", "kHz", "V", "kW", "Ω", "km/h"])
def test_a_unit_that_seven_segments_cannot_write_is_left_out(text: str) -> None:
    assert SegmentPanel(8).fit_unit(text).text == ""


@pytest.mark.parametrize("text", ["°C", "h", "A", "L", "°", "in", "pH"])
def test_a_unit_whose_characters_have_published_forms_is_kept(text: str) -> None:
    assert SegmentPanel(8).fit_unit(text).text.lower() == text.lower()


def test_every_other_letter_and_every_digit_can_be_shown() -> None:
    for letter in "abcdefghijlnopqrstuyABCDEFGHIJLNOPQRSTUY0123456789":
        shown = fit(letter)
        assert shown.text.lower() == letter.lower()
        assert not shown.replaced


def test_letters_that_look_like_digits_are_only_the_known_ones() -> None:
    """Published lists draw S like 5; an upper-case O drawn like 0 is common practice."""
    same = {
        form for form in PATTERNS if form.isalpha() and any(PATTERNS[form] == PATTERNS[digit] for digit in "0123456789")
    }

    assert same == {"S", "O"}


@pytest.mark.parametrize(
    ("text", "cells", "points"),
    [
        ("12.5", "125", (1,)),
        ("07:05", "0705", (1,)),
        (".5", " 5", (0,)),
        ("1..", "1 ", (0, 1)),
        ("-5", "-5", ()),
        ("25 °C", "25 °C", ()),
        ("OFF", "OFF", ()),
        ("yes", "yES", ()),
        ("Hold", "HoLd", ()),
    ],
)
def test_a_text_is_spelled_in_the_forms_that_there_are(text: str, cells: str, points: tuple[int, ...]) -> None:
    assert lay_out(fit(text).text) == (cells, points)
    assert fit(text).replaced == ()


@pytest.mark.parametrize(
    ("text", "cells", "replaced"),
    [
        ("Größe", "GroSSE", ("ö", "ß")),
        ("−5", "-5", ("−",)),
        ("Zoo", "2oo", ("Z",)),
        ("\u0301", "", ("\u0301",)),
        ("5 %", "5  ", ("%",)),
        ("音", "_", ("音",)),
    ],
)
def test_what_has_no_form_gives_way_to_what_resembles_it_and_is_told(
    text: str, cells: str, replaced: tuple[str, ...]
) -> None:
    assert fit(text) == (cells, replaced, text)


@given(st.text())
def test_whatever_is_spelled_every_cell_has_a_pattern_and_every_point_a_cell(text: str) -> None:
    shown = lay_out(fit(text).text)

    assert set(shown.cells) <= set(PATTERNS)
    assert list(shown.points) == sorted(set(shown.points))
    assert all(0 <= point < len(shown.cells) for point in shown.points)
