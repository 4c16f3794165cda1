from __future__ import annotations

import attrs
import pytest

from knobmenu.design.hardware import CharacterDisplay, SegmentDisplay
from knobmenu.design.home import Home, Row, Translation
from knobmenu.design.settings import Choice, Option
from knobmenu.machine.state import make_initial_state
from knobmenu.screen.render import render
from tests.screen.drawing import after, glass, proofer, shows


def test_a_home_without_rows_shows_the_name_and_the_value_that_turning_changes() -> None:
    assert (
        shows(proofer(glass(16, 2)))
        == """
|Proofer         |
|Light       42 %|
"""
    )
    assert (
        shows(proofer(glass(20, 4)), -42)
        == """
|Proofer             |
|                    |
|····················|
|Light            0 %|
"""
    )
    assert shows(proofer(glass(16, 1)), 58) == "\n|Light      100 %|\n"


def test_a_home_that_turns_nothing_shows_the_name() -> None:
    design = attrs.evolve(proofer(glass(16, 2)), home=Home(press="main"))

    assert shows(design) == "\n|Proofer         |\n|                |\n"


def test_values_stand_where_their_keys_do() -> None:
    design = proofer(glass(20, 2), rows=(Row("{now}", right="ready {ready}"), Row("Dough: {dough}")))

    assert (
        shows(design)
        == """
|23.1 °C  ready 07:05|
|Dough: Rye          |
"""
    )


def test_a_number_in_a_home_row_keeps_its_field_so_that_nothing_behind_it_moves() -> None:
    design = proofer(glass(16, 1), rows=(Row("Light {light} on"),))

    assert shows(design, -42) == "\n|Light   0 % on  |\n"
    assert shows(design, 58) == "\n|Light 100 % on  |\n"


def test_a_bar_fills_the_room_between_the_texts_of_its_row() -> None:
    design = proofer(glass(16, 1), rows=(Row("Lit", bar="light", right="{light}"),))

    assert shows(design, 8) == "\n|Lit ███···  50 %|\n"


def test_a_bar_without_room_is_left_out() -> None:
    design = proofer(glass(8, 1), rows=(Row("L", bar="light", right="{light}"),))

    assert shows(design) == "\n|L   42 %|\n"


def test_the_right_text_of_a_home_row_is_the_last_to_be_cut() -> None:
    design = proofer(glass(16, 1), rows=(Row("Warm and cosy", right="{warmth}"),))

    assert shows(design) == "\n|Warm an. 28.5 °C|\n"
    assert render(design, make_initial_state(design)).cut == ("Warm and cosy",)


def test_the_display_speaks_the_language_that_is_chosen() -> None:
    design = proofer(glass(16, 2))
    language = Choice(
        key="language", label="Language", options=(Option(key="en", label="English"), Option(key="de", label="Deutsch"))
    )
    design = attrs.evolve(
        design,
        settings=(*design.settings, language),
        languages=("en", "de"),
        language="language",
        translations=(Translation(language="de", texts=(("Light", "Licht"), ("Off", "Aus"), ("Beep", "Ton"))),),
        home=Home(turn="language", press="main"),
    )

    assert (
        shows(design, 1, "press", 2)
        == """
|>Dough       Rye|
| Ton         Aus|
"""
    )
    assert "|>Light      42 %|" in shows(design, "press")
    assert "|>Licht      42 %|" in shows(design, 1, "press")


@pytest.mark.parametrize("display", [glass(8, 1), glass(16, 2), glass(20, 4), SegmentDisplay()])
def test_a_text_that_is_translated_to_nothing_is_shown_as_nothing(display: CharacterDisplay | SegmentDisplay) -> None:
    design = proofer(display)
    language = Choice(key="tongue", label="Tongue", options=(Option(key="en", label="E"), Option(key="x", label="X")))
    nothing = [
        (text, "")
        for text in ("Dough", "Rye", "Main menu", "Proofer", "Beep", "Off", "No", "Yes", "%", "Clean", "Steam")
    ]
    design = attrs.evolve(
        design,
        settings=(*design.settings, language),
        languages=("en", "x"),
        language="tongue",
        translations=(Translation(language="x", texts=nothing),),
        home=Home(turn="tongue", press="main"),
    )

    for gestures in ((1,), (1, "press", 2), (1, "press", 2, "press"), (1, "press", 3), (1, "press", 10, "press")):
        screen = render(design, after(design, *gestures))
        assert [len(row) for row in screen.rows] == [display.columns] * display.rows
        assert all(span.start < span.stop for span in screen.blinking)


def test_characters_that_the_display_lacks_are_replaced_and_reported() -> None:
    design = proofer(glass(16, 2, "ascii"), rows=("Wärme — für Brötchen", "{warmth}"))
    screen = render(design, after(design))

    assert screen.rows == ("Warme - fur Bro.", "28.5 C          ")
    assert screen.replaced == ("ä", "—", "ü", "ö", "°")
    assert screen.cut == ("Wärme — für Brötchen",)
