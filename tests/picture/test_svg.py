"""Drawings as SVG: dots where they belong, characters as they are written."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from knobmenu.picture.palettes import DARK
from knobmenu.picture.runs import Box, Run
from knobmenu.picture.svg import WIDE, draw_svg

SVG = "{http://www.w3.org/2000/svg}"


def dots(text: str) -> set[tuple[float, float]]:
    return {(float(x), float(y)) for x, y in re.findall(r"M([\d.]+) ([\d.]+)h0", text)}


def test_a_braille_character_is_drawn_dot_for_dot() -> None:
    """Dots 1, 2 and 3 go down the left, 7 below them; 4, 5, 6 and 8 down the right (The Unicode Standard, 21.1)."""
    shown = {"one": (Box(2, 1, 2, 1), ((Run("⠃⢈", "text"),),))}
    assert dots(draw_svg(DARK, shown, 4, 2, "dots")) == {(22.5, 22.5), (22.5, 27.5), (37.5, 22.5), (37.5, 37.5)}


def test_signs_that_mean_something_in_markup_are_written_as_signs() -> None:
    shown = {"one": (Box(0, 0, 8, 1), ((Run('<&">', "text"),),))}
    root = ET.fromstring(draw_svg(DARK, shown, 8, 1, "<title> & more"))
    assert [word.text for word in root.iter(f"{SVG}text")] == ['<&">']
    assert [title.text for title in root.iter(f"{SVG}title")] == ["<title> & more"]


def test_what_follows_a_wide_sign_stands_two_cells_on() -> None:
    shown = {"one": (Box(0, 0, 8, 1), ((Run("a漢b█", "text"),),))}
    text = draw_svg(DARK, shown, 8, 1, "wide")
    assert re.findall(r'<text x="([\d ]+)"', text) == ["0", "10", "30"]
    assert f"M40 0h{WIDE}" in text
