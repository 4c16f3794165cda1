from __future__ import annotations

import attrs

from knobmenu.design.home import Wording
from knobmenu.screen.render import render
from tests.screen.drawing import after, glass, proofer, shows

ASKED = ("press", 10, "press")
HELD = ("press", 11, "press")


def test_a_question_opens_at_no_and_turning_up_selects_yes_at_the_right() -> None:
    design = proofer(glass(16, 2))

    assert (
        shows(design, *ASKED)
        == """
|More steam?     |
|>No          Yes|
"""
    )
    assert (
        shows(design, *ASKED, 1)
        == """
|More steam?     |
| No         >Yes|
"""
    )


def test_four_rows_show_the_caution_between_the_question_and_its_answers() -> None:
    assert (
        shows(proofer(glass(20, 4)), *ASKED)
        == """
|More steam?         |
|Steam burns. Keep   |
|your hands away.    |
|>No              Yes|
"""
    )


def test_a_caution_that_has_no_row_is_reported_as_cut() -> None:
    for size in ((16, 2), (16, 1)):
        design = proofer(glass(*size))
        assert render(design, after(design, *ASKED)).cut == ("Steam burns. Keep your hands away.",)


def test_one_row_shows_the_question_and_the_selected_answer() -> None:
    assert shows(proofer(glass(16, 1)), *ASKED) == "\n|More steam? >No |\n"
    assert shows(proofer(glass(16, 1)), *ASKED, 1) == "\n|More steam? >Yes|\n"


def test_a_request_to_hold_is_in_the_last_row() -> None:
    assert (
        shows(proofer(glass(16, 2)), *HELD)
        == """
|Clean           |
|Hold to confirm |
"""
    )
    assert shows(proofer(glass(16, 1)), *HELD) == "\n|Hold to confirm |\n"
    assert shows(proofer(glass(40, 1)), *HELD) == "\n|Clean                    Hold to confirm|\n"


def test_long_answers_are_cut_each_to_its_half() -> None:
    design = attrs.evolve(proofer(glass(16, 2)), wording=Wording(no="Rather not", yes="By all means"))

    assert (
        shows(design, *ASKED)
        == """
|More steam?     |
|>Rathe.  By all.|
"""
    )
    assert render(design, after(design, *ASKED)).cut[-2:] == ("Rather not", "By all means")
