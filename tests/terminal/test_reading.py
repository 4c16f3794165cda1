"""Reading a display off a screen finds what was drawn, so that the tests in real terminals can rest on it."""

from __future__ import annotations

import pytest

from knobmenu.design.hardware import CharacterDisplay
from knobmenu.picture.display import draw
from knobmenu.picture.forms import Form, Manner, list_forms
from knobmenu.picture.runs import extract_text
from knobmenu.screen.cells import Screen
from tests.terminal.reading import form_on, shown_on

DISPLAY = CharacterDisplay(columns=16, rows=2)
SHOWN = ("Volume      -12°", "µ, äöü & 100 % >")


@pytest.mark.parametrize("form", list_forms(DISPLAY), ids=str)
@pytest.mark.parametrize("manner", [Manner(), Manner(unlit=False, solid=False)], ids=["solid", "line"])
def test_what_was_drawn_is_read(form: Form, manner: Manner) -> None:
    lines = ["  above"] + [
        "   " + line + " beside" for line in extract_text(draw(DISPLAY, Screen(SHOWN), form, manner)).split("\n")
    ]

    assert shown_on(lines, DISPLAY) == SHOWN
    assert form_on(lines, DISPLAY) == form


def test_a_screen_without_a_display_is_refused() -> None:
    with pytest.raises(AssertionError, match="no display is shown"):
        shown_on(["nothing", "here"], DISPLAY)
