"""A picture has the format that its name asks for."""

from __future__ import annotations

import shutil
import subprocess

import pytest

from knobmenu.files import pictures
from knobmenu.files.pictures import encode_picture, find_picture_problem

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="4" height="3"><rect width="4" height="3" fill="#f00"/></svg>'


def test_an_svg_is_written_as_it_is() -> None:
    assert find_picture_problem("b.SVG") == ""
    assert encode_picture("a.svg", SVG) == SVG.encode()


def test_a_png_is_one() -> None:
    """Signature and IHDR, with width and height (Portable Network Graphics, third edition, 5.2 and 11.2.1)."""
    pytest.importorskip("resvg_py")
    assert find_picture_problem("b.png") == ""
    content = encode_picture("b.png", SVG)
    assert content[:8] == b"\x89PNG\r\n\x1a\n"
    assert (content[12:16], content[16:24]) == (b"IHDR", (4).to_bytes(4) + (3).to_bytes(4))


@pytest.mark.parametrize("name", ["b.jpg", "b", "b.svg.txt", ""])
def test_any_other_ending_is_refused_with_those_that_can_be(name: str) -> None:
    assert "expected a name that ends in .svg or .png" in find_picture_problem(name)


def test_where_png_cannot_be_drawn_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("knobmenu.files.pictures.find_spec", lambda name: None)
    assert "knobmenu[png]" in find_picture_problem("b.png")


@pytest.mark.skipif(shutil.which("fc-list") is None, reason="cannot ask which fonts there are")
def test_a_png_shows_the_letters_of_monospaced_text() -> None:
    """Where fontconfig knows one of the fonts that are asked for, text changes the picture."""
    pytest.importorskip("resvg_py")
    known = subprocess.run(["fc-list", ":", "family"], capture_output=True, text=True, check=True).stdout
    if not any(font in known for font in pictures._MONOSPACED):
        pytest.skip("none of the fonts is installed")

    def draw(text: str) -> bytes:
        return encode_picture(
            "b.png",
            '<svg xmlns="http://www.w3.org/2000/svg" width="90" height="30">'
            f'<g font-family="monospace" font-size="16"><text x="5" y="20">{text}</text></g></svg>',
        )

    assert len({draw(""), draw("Radio"), draw("Rodia")}) == 3
