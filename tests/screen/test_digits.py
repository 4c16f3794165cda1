from __future__ import annotations

import attrs
import pytest

from knobmenu.design.hardware import SegmentDisplay
from knobmenu.design.home import Home, Row
from knobmenu.design.settings import Number, TextSetting
from knobmenu.machine.values import Value
from knobmenu.screen.render import render
from tests.screen.drawing import after, drawn, editing, proofer, shows

FOUR, EIGHT = proofer(SegmentDisplay(digits=4)), proofer(SegmentDisplay(digits=8))


def _edits(key: str, draft: Value, place: int = 0, pick: int = 0) -> str:
    return drawn(render(FOUR, editing(FOUR, key, draft, place, pick)))


def test_home_shows_the_value_that_turning_changes_at_the_right() -> None:
    assert shows(FOUR) == "\n|  42|\n"
    assert shows(FOUR, 58) == "\n| 100|\n"


def test_home_shows_its_row_with_the_values_filled_in() -> None:
    assert shows(proofer(SegmentDisplay(digits=4), rows=("{ready}",))) == "\n|07.05|\n"
    assert shows(proofer(SegmentDisplay(digits=8), rows=("At {ready}",))) == "\n|At 07.05 |\n"


def test_a_home_row_whose_value_does_not_fit_becomes_hyphens() -> None:
    assert shows(proofer(SegmentDisplay(digits=4), rows=("no {ready}",))) == "\n|----|\n"


def test_a_list_shows_the_label_of_the_selected_entry() -> None:
    assert shows(EIGHT, "press") == "\n|LiGht   |\n"
    assert shows(FOUR, "press", 7) == "\n|rESt|\n"


def test_a_label_is_cut_without_a_mark_and_reported() -> None:
    assert shows(FOUR, "press") == "\n|LiGh|\n"
    assert render(FOUR, after(FOUR, "press")).cut == ("Light",)


def test_a_letter_without_a_published_form_falls_back_and_is_reported() -> None:
    screen = render(FOUR, after(FOUR, "press", 4))

    assert screen.rows == ("MorE",)
    assert screen.replaced == ("M",)


def test_a_switch_shows_its_value_beside_its_label_or_lights_the_last_point() -> None:
    assert shows(EIGHT, "press", 3) == "\n|bEEP OFF|\n"
    assert shows(EIGHT, "press", 3, "press") == "\n|bEEP  On|\n"
    assert shows(FOUR, "press", 3) == "\n|bEEP|\n"
    assert shows(FOUR, "press", 3, "press") == "\n|bEEP.|\n"


def test_a_readout_shows_its_value_alone_where_there_is_no_room_for_its_label() -> None:
    assert shows(FOUR, "press", 12) == "\n| 23.1|\n"


def test_an_entry_that_cannot_be_pressed_lights_the_first_point() -> None:
    assert shows(FOUR, "press", 9) == "\n|L.ocK|\n"
    assert shows(FOUR, "press", 3, "press", 6) == "\n|LocK|\n"


def test_an_editor_shows_the_value_and_the_part_at_hand_blinks() -> None:
    assert _edits("light", 42) == "\n|  42|\n   ~~\n"
    assert _edits("warmth", 285) == "\n| 28.5|\n  ~~~~\n"
    assert _edits("warmth", -50) == "\n| OFF|\n  ~~~\n"
    assert _edits("ready", 425, 1) == "\n|07.05|\n    ~~\n"
    assert _edits("count", 42, 1) == "\n|004.2|\n  ~\n"
    assert _edits("dough", 1) == "\n|SEEd|\n ~~~~\n"


def test_a_text_shows_its_end_and_what_is_picked() -> None:
    assert _edits("owner", "ANNA", pick=2) == "\n|nnAb|\n    ~\n"
    assert _edits("owner", "A", pick=2) == "\n|Ab  |\n  ~\n"
    assert _edits("owner", "ANNA", pick=38) == "\n|dEL |\n ~~~\n"
    assert _edits("owner", "ANNA", pick=39) == "\n|End |\n ~~~\n"


def test_each_character_of_a_text_has_a_cell_whatever_it_is() -> None:
    text = TextSetting(key="owner", label="Owner", characters="A.\u0301Z", initial="A.")
    design = attrs.evolve(FOUR, settings=[text if setting.key == "owner" else setting for setting in FOUR.settings])

    assert drawn(render(design, editing(design, "owner", "A.", pick=2))) == "\n|A ._ |\n    ~\n"
    assert render(design, editing(design, "owner", "A.", pick=3)).replaced == ("Z",)


def test_a_number_too_wide_for_the_digits_becomes_hyphens_and_is_reported() -> None:
    design = attrs.evolve(
        FOUR,
        settings=(*FOUR.settings, Number(key="wide", label="Wide", low=0, high=99_999, initial=12_345)),
        home=Home(turn="wide", press="main"),
    )
    screen = render(design, after(design))

    assert screen.rows == ("----",)
    assert screen.cut == ("12345",)


@pytest.mark.parametrize(("turns", "drawing"), [((), "\n|no  |\n ~~\n"), ((1,), "\n|yES |\n ~~~\n")])
def test_a_question_shows_its_selected_answer_blinking_and_reports_the_rest(
    turns: tuple[int, ...], drawing: str
) -> None:
    state = after(FOUR, "press", 10, "press", *turns)

    assert drawn(render(FOUR, state)) == drawing
    assert render(FOUR, state).cut == ("More steam?", "Steam burns. Keep your hands away.")


def test_a_request_to_hold_shows_as_much_of_its_words_as_fits() -> None:
    assert shows(FOUR, "press", 11, "press") == "\n|HoLd|\n"


def test_a_unit_is_shown_where_it_fits_and_can_be_spelled() -> None:
    assert drawn(render(EIGHT, editing(EIGHT, "warmth", 285))) == "\n|  28.5 °C|\n   ~~~~\n"
    assert "_" not in drawn(render(EIGHT, editing(EIGHT, "light", 42)))


@pytest.mark.parametrize(
    ("about", "value", "shown"),
    [
        ({"high": 20_000, "unit": "Hz"}, 20_000, "|20000"),
        ({"high": 2000, "unit": "°C"}, 1500, "|1500"),
        ({"high": 100, "unit": "%"}, 42, "| 42"),
        ({"high": 99, "unit": "%", "names": ((0, "Stand-by"),)}, 7, "|   7"),
    ],
)
def test_a_value_that_does_not_fit_gives_up_its_unit_and_then_its_blanks(
    about: dict[str, object], value: int, shown: str
) -> None:
    digits = len(shown) - 1
    setting = Number(key="wide", label="Wide", low=0, initial=value, **about)  # type: ignore[arg-type]
    home = Home(rows=(Row("", right="{wide}"),), turn="wide", press="main")
    for rows in (home, attrs.evolve(home, rows=())):
        design = attrs.evolve(
            proofer(SegmentDisplay(digits=max(digits, 4))), settings=(*FOUR.settings, setting), home=rows
        )
        number = f"{value:>{design.display.columns}}"

        assert shows(design) == f"\n|{number}|\n"
        assert drawn(render(design, editing(design, "wide", value))).startswith(f"\n|{number}|\n")


def test_a_home_row_gives_up_its_unit_before_it_becomes_hyphens() -> None:
    assert shows(proofer(SegmentDisplay(digits=4), rows=("{warmth}",))) == "\n|28.5 |\n"
    assert shows(proofer(SegmentDisplay(digits=8), rows=("In {warmth}",))) == "\n|In 28.5  |\n"
