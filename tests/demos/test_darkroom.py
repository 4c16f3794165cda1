"""The darkroom timer, as it is met in the dark."""

from knobmenu.design.settings import Scale
from knobmenu.screen.segments import fit
from tests.demos.playing import demo, does, heard, lit, saved, sets, shows, wandered

DESIGN = demo("darkroom")

# At home.


def test_it_shows_the_exposure_alone() -> None:
    assert shows(DESIGN, "") == """
| 10.1|
"""  # fmt: skip


def test_three_detents_are_a_stop() -> None:
    assert shows(DESIGN, "1 1 1") == """
| 20.2|
"""  # fmt: skip


def test_every_third_exposure_doubles_as_a_stop_does() -> None:
    """A stop is a factor of two (common practice of photography); 0.1 s is what four digits leave to rounding."""
    exposure = DESIGN.index.settings["exposure"]
    assert isinstance(exposure, Scale)

    assert exposure.steps[::3] == (20, 40, 80, 160, 320, 640, 1280)
    assert all(
        abs(longer - 2 * shorter) <= 1 for shorter, longer in zip(exposure.steps, exposure.steps[3:], strict=False)
    )


def test_the_whole_range_fits_the_digits() -> None:
    assert shows(DESIGN, "-99") == """
|  2.0|
"""  # fmt: skip
    assert shows(DESIGN, "99") == """
|128.0|
"""  # fmt: skip


def test_a_press_exposes_and_a_double_press_switches_the_focus_light() -> None:
    assert does(DESIGN, "press") == ["do expose"]
    assert does(DESIGN, "double") == ["focus is On", "focus kept at On"]
    assert lit(DESIGN, "double") == ["white", "red"]


def test_an_evening_of_prints_writes_no_memory() -> None:
    assert saved(DESIGN, "3 press -1 press double 2 press wait 60000") == []


def test_every_detent_is_heard() -> None:
    assert heard(DESIGN, "hold 1") == ["sound for turn, 3 ms at 3000 Hz"]
    assert heard(DESIGN, "99") == ["sound for limit, 60 ms at 700 Hz"]


# In the menu.


def test_a_long_press_opens_the_menu_and_from_anywhere_goes_home() -> None:
    assert shows(DESIGN, "hold") == """
|FoC |
"""  # fmt: skip
    assert does(DESIGN, "hold 3 press hold") == ["screen home"]


def test_a_lit_point_says_that_a_switch_is_on() -> None:
    assert shows(DESIGN, "hold 1") == """
|SAFE.|
"""  # fmt: skip
    assert shows(DESIGN, "hold 1 press") == """
|SAFE|
"""  # fmt: skip
    assert lit(DESIGN, "hold 1 press") == []


def test_an_edit_shows_the_value_and_a_press_keeps_it() -> None:
    assert shows(DESIGN, "hold 2 press 1") == """
|   3|
    ~
"""  # fmt: skip
    assert does(DESIGN, "hold 2 press 1 press") == ["grade kept at 3", "screen browsing main"]


def test_a_word_stands_in_place_of_nothing() -> None:
    assert shows(DESIGN, "hold 5 press -99") == """
| OFF|
  ~~~
"""  # fmt: skip


def test_a_bath_is_set_in_minutes_and_then_in_seconds() -> None:
    assert shows(DESIGN, "hold 6 press press") == """
|01.30|
 ~~~
"""  # fmt: skip
    assert does(DESIGN, "hold 6 press press 1 press -15 press") == sets("developer", "02:15", "baths")


def test_no_strip_is_exposed_while_the_focus_light_is_on() -> None:
    assert shows(DESIGN, "double hold 3 press") == """
|G.o  |
"""  # fmt: skip
    assert does(DESIGN, "double hold 3 press press") == ["strip is disabled"]
    assert does(DESIGN, "hold 3 press press") == ["do strip", "screen home"]


def test_in_the_dark_it_stays_where_it_is() -> None:
    assert shows(DESIGN, "hold 3 press 1 wait 3600000") == shows(DESIGN, "hold 3 press 1")


def test_counting_anew_asks_first() -> None:
    assert shows(DESIGN, "hold 11 press") == """
|no  |
 ~~
"""  # fmt: skip
    assert does(DESIGN, "hold 11 press press") == ["screen browsing main"]
    assert does(DESIGN, "hold 11 press 1 press") == ["do zero", "screen home"]


# All of it.


def test_seven_segments_can_spell_it_all_but_the_question() -> None:
    seen = wandered("darkroom")

    assert seen.replaced == set()
    caution = DESIGN.index.settings["focus"].hazard
    assert seen.cut == {"Count from zero", caution}, "a question shows its answers only, and no caution fits"


def test_no_two_entries_of_a_menu_look_alike() -> None:
    for menu in DESIGN.menus:
        parts = [
            DESIGN.index.settings.get(entry.target)
            or DESIGN.index.menus.get(entry.target)
            or DESIGN.index.actions.get(entry.target)
            or DESIGN.index.readouts.get(entry.target)
            for entry in menu.entries
        ]
        shown = [fit(part.short).text if part else "back" for part in parts]
        assert len(set(shown)) == len(shown)
