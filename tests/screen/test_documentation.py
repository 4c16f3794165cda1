"""The drawings in docs/reference/screen.md are screens."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from knobmenu.design.hardware import Display, PixelDisplay, SegmentDisplay
from tests.screen.drawing import glass, proofer, shows

_TEXT = (Path(__file__).parents[2] / "docs" / "reference" / "screen.md").read_text(encoding="utf-8")
_DRAWINGS = re.findall(r"^```text ([^:\n]+):(.*)\n([^`]*)```$", _TEXT, re.MULTILINE)


def _display(words: str) -> Display:
    if words == "pixels":
        return PixelDisplay(width=128, height=64, cell_height=8)
    if words.endswith(" digits"):
        return SegmentDisplay(digits=int(words.removesuffix(" digits")))
    columns, rows = words.split("x")
    return glass(int(columns), int(rows))


@pytest.mark.parametrize(("display", "gestures", "drawing"), _DRAWINGS)
def test_a_drawing_is_what_the_device_shows(display: str, gestures: str, drawing: str) -> None:
    steps = [word if word in ("press", "long") else int(word) for word in gestures.split()]

    assert shows(proofer(_display(display)), *steps) == "\n" + drawing


def test_every_drawing_of_the_page_is_compared() -> None:
    assert len(_DRAWINGS) == _TEXT.count("```text") >= 20
