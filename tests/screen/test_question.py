from __future__ import annotations

import attrs

from knobmenu.design.home import Home, Wording
from knobmenu.design.menu import Action, Menu
from knobmenu.design.settings import Number, Switch
from knobmenu.design.whole import Design
from knobmenu.machine.advance import advance_all
from knobmenu.machine.state import make_initial_state
from knobmenu.screen.question import list_unasked_cautions
from knobmenu.screen.render import render
from knobmenu.trace import parse_trace
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


def test_the_caution_of_what_is_done_without_a_question_is_reported_where_it_can_be_done() -> None:
    steam = Action(key="steam", label="Steam", hazard="Steam burns.")
    lamp = Switch(key="lamp", label="Lamp", hazard="The lamp gets hot.")
    heat = Number(key="heat", label="Heat", low=0, high=9, initial=0, hazard="The floor gets hot.")
    asked = attrs.evolve(steam, key="asked", confirm="ask")
    design = Design(
        name="Box",
        settings=(lamp, heat),
        actions=(steam, asked),
        menus=(Menu(key="main", label="Menu", entries=("steam", "asked", "heat", "lamp")),),
        home=Home(turn="heat", press="main", long_press="lamp"),
    )

    def told(trace: str) -> tuple[str, ...]:
        return render(design, advance_all(design, make_initial_state(design), parse_trace(trace))[0]).cut

    assert told("") == ("The floor gets hot.", "The lamp gets hot."), "at home both are changed at once"
    assert told("press") == ("Steam burns.",)
    assert told("press 1") == (), "the question comes first, and shows it"
    assert told("press 2") == (), "the editor comes first, and shows it"
    assert told("press 3") == ("The lamp gets hot.",)
    edits = attrs.evolve(design, home=Home(turn="heat", press="heat", long_press="lamp"))
    state = advance_all(edits, make_initial_state(edits), parse_trace("press"))[0]
    assert list_unasked_cautions(edits, state) == (), "in the editor the knob does nothing of this, and home is hidden"


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


def test_answers_that_fill_their_row_are_shown_whole_and_longer_ones_are_cut() -> None:
    """A row needs a mark for each answer and a blank between them, besides the answers."""
    for columns in (8, 16, 20, 40):
        half = columns // 2 - 1
        for no, yes, whole in (("N" * (half - 1), "Y" * half, True), ("N" * half, "Y" * half, False)):
            design = attrs.evolve(proofer(glass(columns, 2)), wording=Wording(no=no, yes=yes))
            screen = render(design, after(design, *ASKED))
            assert (no in screen.rows[-1]) is whole
            assert (no in screen.cut) is not whole
            assert screen.rows[-1].endswith(yes)
