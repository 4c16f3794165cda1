from __future__ import annotations

import attrs
import pytest

from knobmenu.design.hardware import CharacterDisplay, PixelDisplay
from knobmenu.design.home import Home
from knobmenu.design.menu import Entry, Menu
from knobmenu.design.settings import Number
from knobmenu.design.whole import Design
from knobmenu.screen.lists import choose_window
from knobmenu.screen.render import render
from tests.screen.drawing import after, glass, proofer, shows


def test_two_rows_show_the_selected_entry_and_the_one_that_follows() -> None:
    design = proofer(glass(16, 2))

    assert (
        shows(design, "press")
        == """
|>Light      42 %|
| Temp    28.5 °C|
"""
    )
    assert (
        shows(design, "press", 3)
        == """
|>Beep        Off|
| More          →|
"""
    )


def test_the_last_entry_stands_in_the_second_of_two_rows() -> None:
    assert (
        shows(proofer(glass(16, 2)), "press", 14)
        == """
| Fan      20 rpm|
|>Back           |
"""
    )


def test_one_row_shows_the_selected_entry() -> None:
    assert shows(proofer(glass(16, 1)), "press", 1) == "\n|>Temp    28.5 °C|\n"
    assert shows(proofer(glass(8, 1, "ascii")), "press", 4) == "\n|>More  >|\n"


def test_four_rows_show_a_title_that_says_where_the_list_goes_on() -> None:
    design = proofer(glass(20, 4))

    assert (
        shows(design, "press")
        == """
|Main menu          v|
|>Light          42 %|
| Temperature 28.5 °C|
| Dough           Rye|
"""
    )
    assert (
        shows(design, "press", 4)
        == """
|Main menu         ^v|
| Beep            Off|
|>More              →|
| Owner          ANNA|
"""
    )
    assert (
        shows(design, "press", 14)
        == """
|Main menu         ^ |
| Now         23.1 °C|
| Fan          20 rpm|
|>Back               |
"""
    )


def test_a_pixel_display_shows_as_many_entries_as_its_cells_allow() -> None:
    assert (
        shows(proofer(PixelDisplay(width=128, height=64, cell_height=8)), "press", 7)
        == """
|Main menu     ↑↓|
| More          ›|
| Owner      ANNA|
| Ready at  07:05|
|▸Restin… 1:30:00|
| Loaves      4.2|
| (Lock)         |
| Steam         1|
"""
    )


def test_an_entry_that_cannot_be_pressed_stands_in_brackets_until_it_can() -> None:
    design = proofer(glass(16, 2))

    assert (
        shows(design, "press", 9)
        == """
|>(Lock)         |
| Steam         1|
"""
    )
    assert (
        shows(design, "press", 3, "press", 6)
        == """
|>Lock           |
| Steam         1|
"""
    )


def test_a_menu_whose_entries_are_all_hidden_says_so() -> None:
    assert (
        shows(proofer(glass(16, 2)), "press", 4, "press")
        == """
|More            |
|Nothing here    |
"""
    )
    assert shows(proofer(glass(16, 1)), "press", 4, "press") == "\n|Nothing here    |\n"


def test_a_single_entry_has_the_title_above_it_rather_than_a_blank_row_below() -> None:
    assert (
        shows(proofer(glass(16, 2)), "press", 3, "press", 1, "press")
        == """
|More            |
|>Light      42 %|
"""
    )


def _long(display: CharacterDisplay, **about: object) -> Design:
    return Design(
        name="Long",
        display=display,
        settings=(Number(key="size", low=0, high=1000, initial=5, **about),),  # type: ignore[arg-type]
        menus=(Menu(key="main", label="Main", entries=("size",)),),
        home=Home(press="main"),
    )


def test_a_label_gives_way_to_its_short_form_and_then_to_the_cut() -> None:
    label = "Diameter of the loaf"

    assert shows(_long(glass(40, 1), label=label), "press") == "\n|>Diameter of the loaf                  5|\n"
    assert shows(_long(glass(16, 1), label=label, short="Loaf", unit="mm"), "press") == "\n|>Loaf       5 mm|\n"
    assert shows(_long(glass(16, 1), label=label, unit="mm"), "press") == "\n|>Diamet.    5 mm|\n"
    assert render(_long(glass(16, 1), label=label), after(_long(glass(16, 1), label=label), "press")).cut == (label,)


def test_a_number_that_does_not_fit_becomes_hyphens_and_never_another_number() -> None:
    design = _long(glass(8, 1), label="Size", unit="kilometres")
    wide = attrs.evolve(
        design, settings=(Number(key="size", label="Size", low=0, high=2_000_000_000, initial=1_234_567_890),)
    )

    assert shows(design, "press") == "\n|>Si    5|\n"
    assert "1" not in shows(wide, "press")
    assert render(wide, after(wide, "press")).cut == ("Size", "1234567890")


def test_words_leave_a_third_of_the_row_to_their_label() -> None:
    design = proofer(glass(16, 2))
    design = attrs.evolve(design, settings=tuple(_renamed(setting) for setting in design.settings))

    assert shows(design, "press", 2).startswith("\n|>Doug. Sourdoug.|\n")
    assert render(design, after(design, "press", 2)).cut == ("Dough of the day", "Sourdough wheat")


def _renamed(setting: object) -> object:
    if getattr(setting, "key", "") != "dough":
        return setting
    options = (attrs.evolve(setting.options[0], label="Sourdough wheat"), setting.options[1])  # type: ignore[attr-defined]
    return attrs.evolve(setting, label="Dough of the day", options=options)  # type: ignore[misc]


@pytest.mark.parametrize("entry", [0, 1, 4999, 9998, 9999])
def test_a_list_of_ten_thousand_entries_is_looked_at_only_where_it_is_shown(entry: int) -> None:
    class Counted(tuple):  # type: ignore[type-arg]
        looked_at = 0

        def __getitem__(self, index):  # type: ignore[no-untyped-def]
            Counted.looked_at += 1
            return super().__getitem__(index)

        def __iter__(self):  # type: ignore[no-untyped-def]
            raise AssertionError("the whole list is walked")

    design = _long(glass(20, 4), label="Size")
    menu = attrs.evolve(design.menus[0], entries=tuple(Entry("size") for _ in range(10_000)))
    design = attrs.evolve(design, menus=(menu,))
    state = after(design, "press", *([entry] if entry else []))
    object.__setattr__(design.menus[0], "entries", Counted(menu.entries))
    render(design, state)

    assert 0 < Counted.looked_at < 20
    first = min(max(entry - 1, 0), 9997)
    assert list(choose_window(design, state, state.path[-1], 3)) == [first, first + 1, first + 2]


def test_a_number_that_fits_only_without_its_label_is_whole_and_only_the_label_is_reported() -> None:
    design = _long(glass(8, 1), label="Size", unit="mm")
    wide = attrs.evolve(design, settings=(Number(key="size", label="Size", low=0, high=999_999, initial=123_456),))

    assert shows(wide, "press") == "\n|> 123456|\n"
    assert render(wide, after(wide, "press")).cut == ("Size",)


def test_a_number_gives_up_its_unit_and_its_blanks_before_its_label_is_gone() -> None:
    assert shows(_long(glass(8, 1), label="Size", unit="mm"), "press") == "\n|>Si    5|\n"
    design = _long(glass(10, 1), label="Size", unit="MHz", decimals=2)
    wide = attrs.evolve(
        design,
        settings=(Number(key="size", label="Size", low=0, high=107_950, initial=987, decimals=2, unit="MHz"),),
    )

    assert shows(wide, "press") == "\n|>Size 9.87|\n"
    assert render(wide, after(wide, "press")).cut == ()


def test_what_a_cut_or_bracketed_label_had_replaced_is_reported() -> None:
    design = proofer(glass(16, 2, "ascii"))
    locked = attrs.evolve(design, actions=(attrs.evolve(design.actions[0], label="Tür zu"), design.actions[1]))

    assert "|>(Tur zu)       |" in shows(locked, "press", 9)
    assert render(locked, after(locked, "press", 9)).replaced == ("ü",)
