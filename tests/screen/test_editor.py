from __future__ import annotations

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.hardware import CharacterDisplay, PixelDisplay, SegmentDisplay
from knobmenu.design.settings import Number
from knobmenu.machine.values import Value
from knobmenu.screen.render import render
from tests.screen.drawing import drawn, editing, glass, proofer, shows


def _edits(columns: int, rows: int, key: str, draft: Value, place: int = 0, pick: int = 0) -> str:
    design = proofer(glass(columns, rows))
    return drawn(render(design, editing(design, key, draft, place, pick)))


def test_the_label_is_above_and_the_draft_below_between_edit_marks_with_its_number_blinking() -> None:
    assert (
        _edits(16, 2, "warmth", 285)
        == """
|Temperature     |
|[       28.5 °C]|
         ~~~~
"""
    )


def test_a_bar_fills_the_room_beside_the_draft() -> None:
    assert (
        _edits(16, 2, "light", 42)
        == """
|Light           |
|[███·····  42 %]|
            ~~
"""
    )


def test_the_bar_of_a_scale_goes_by_its_steps() -> None:
    """50 is the third of 10, 20, 50 and 100: two thirds of the way."""
    assert (
        _edits(16, 2, "fan", 50)
        == """
|Fan             |
|[████··  50 rpm]|
          ~~
"""
    )


@pytest.mark.parametrize(
    ("value", "bar"), [(0, "|" + "·" * 20 + "|"), (50, "|" + "█" * 10 + "·" * 10 + "|"), (100, "|" + "█" * 20 + "|")]
)
def test_a_bar_is_empty_at_the_low_end_and_full_at_the_high_end(value: int, bar: str) -> None:
    assert bar in _edits(20, 4, "light", value)


def test_four_rows_show_a_number_with_its_limits_under_its_bar() -> None:
    assert (
        _edits(20, 4, "light", 42)
        == """
|Light               |
|████████············|
|0 %            100 %|
|[              42 %]|
                ~~
"""
    )


def test_three_rows_show_a_number_with_its_limits() -> None:
    assert (
        _edits(16, 3, "warmth", 285)
        == """
|Temperature     |
|-5.0 °C  45.0 °C|
|[       28.5 °C]|
         ~~~~
"""
    )


def test_the_caution_of_a_hazardous_setting_stands_below_its_label() -> None:
    assert (
        _edits(40, 4, "steam", 1)
        == """
|Steam                                   |
|Steam burns. Keep your hands away.      |
|0                                      5|
|[                                     1]|
                                       ~
"""
    )


@pytest.mark.parametrize("display", [glass(16, 1), glass(16, 2), SegmentDisplay()])
def test_a_caution_that_has_no_row_is_reported_as_cut(display: CharacterDisplay | SegmentDisplay) -> None:
    design = proofer(display)

    assert render(design, editing(design, "steam", 1)).cut == ("Steam burns. Keep your hands away.",)


def test_three_rows_say_which_of_its_options_a_choice_is_at() -> None:
    assert (
        _edits(16, 3, "dough", 1)
        == """
|Dough           |
|             2/2|
|[         Seeds]|
           ~~~~~
"""
    )


def test_a_tall_display_has_room_for_the_whole_caution_below_the_draft() -> None:
    design = proofer(PixelDisplay(width=128, height=64, cell_height=8))

    assert (
        drawn(render(design, editing(design, "steam", 1)))
        == """
|Steam           |
|                |
|0              5|
|[             1]|
               ~
|Steam burns.    |
|Keep your hands |
|away.           |
|                |
"""
    )


def test_a_named_value_shows_its_name_at_the_place_of_the_number() -> None:
    assert (
        _edits(16, 2, "warmth", -50)
        == """
|Temperature     |
|[           Off]|
             ~~~
"""
    )


def test_one_row_keeps_the_draft_and_shortens_the_label() -> None:
    assert (
        _edits(16, 1, "warmth", 285)
        == """
|Temp   [28.5 °C]|
         ~~~~
"""
    )
    assert (
        _edits(8, 1, "light", 42)
        == """
|Li [ 42]|
      ~~
"""
    )


def test_a_draft_that_fits_only_without_edit_marks_stands_without_them() -> None:
    assert (
        _edits(8, 2, "rest", 5400, place=1)
        == """
|Resting.|
| 1:30:00|
    ~~
"""
    )


def test_an_option_too_long_for_the_row_gives_way_to_its_short_label() -> None:
    assert (
        _edits(16, 2, "dough", 1)
        == """
|Dough           |
|[         Seeds]|
           ~~~~~
"""
    )


@pytest.mark.parametrize(("place", "mark"), [(0, "           ~~"), (1, "              ~~")])
def test_the_field_at_hand_of_a_clock_blinks(place: int, mark: str) -> None:
    assert _edits(16, 2, "ready", 425, place) == f"\n|Ready at        |\n|[         07:05]|\n{mark}\n"


@pytest.mark.parametrize(("place", "cell"), [(0, 11), (1, 12), (2, 13), (3, 15)])
def test_the_digit_at_hand_blinks_and_every_digit_is_there(place: int, cell: int) -> None:
    """Loaves go to 999.9 in tenths: four digits, the point before the last."""
    assert _edits(16, 2, "count", 42, place) == f"\n|Loaves          |\n|[         004.2]|\n{' ' * (cell - 1)} ~\n"


def test_a_text_is_shown_with_the_picked_character_at_its_end() -> None:
    assert (
        _edits(16, 2, "owner", "ANNA", pick=1)
        == """
|Owner           |
|[ANNAA         ]|
      ~
"""
    )


def test_deleting_and_being_done_stand_apart_from_the_text() -> None:
    assert "|[ANNA ←        ]|\n       ~\n" in _edits(16, 2, "owner", "ANNA", pick=38)
    assert "|[ANNA OK       ]|\n       ~~\n" in _edits(16, 2, "owner", "ANNA", pick=39)


def test_a_text_too_long_for_the_row_shows_its_end() -> None:
    assert "|[UNABEL]|\n       ~\n" in _edits(8, 2, "owner", "RUNABE", pick=12)


def test_a_gesture_opens_the_editor_that_the_tests_draw() -> None:
    assert shows(proofer(glass(16, 2)), "press", "press") == _edits(16, 2, "light", 42)


@given(st.integers(-50, 450), st.integers(-50, 450), st.sampled_from([(16, 1), (16, 2), (20, 4), (8, 2)]))
def test_a_changed_digit_moves_nothing_beside_it(one: int, other: int, size: tuple[int, int]) -> None:
    """The point and everything behind it, and the edit marks, stand in the same cells for every number."""
    design = proofer(glass(*size))
    plain = attrs.evolve(
        design,
        settings=tuple(
            attrs.evolve(setting, names=()) if isinstance(setting, Number) else setting for setting in design.settings
        ),
    )
    rows = [render(plain, editing(plain, "warmth", value)).rows for value in (one, other)]

    fixed = [[(cell, sign) for cell, sign in enumerate(row[-1]) if sign in "[].°C"] for row in rows]
    assert fixed[0] == fixed[1]
    assert rows[0][:-1] == rows[1][:-1]


@pytest.mark.parametrize(("draft", "cut"), [("ANN", ()), ("ANNA", ("ANNA",))])
def test_segments_report_a_text_as_cut_only_once_it_is_longer_than_the_display(
    draft: str, cut: tuple[str, ...]
) -> None:
    design = proofer(SegmentDisplay(digits=4))
    assert render(design, editing(design, "owner", draft, pick=1)).cut == cut
