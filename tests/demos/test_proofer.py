"""The dough proofer, as its baker meets it."""

import attrs

from knobmenu.design.menu import Action
from tests.demos.playing import demo, does, heard, lit, sets, shows, wandered

DESIGN = demo("proofer")
GERMAN = demo("proofer", "de")

# At home.


def test_it_shows_dough_phase_temperatures_and_time() -> None:
    assert shows(DESIGN, "") == """
|Wheat      Resting ⌂|
|Inside       21.4 °C|
|Set ████···· 27.0 °C|
|◊62 %    90 min left|
"""  # fmt: skip


def test_what_the_box_reports_is_shown_as_it_comes() -> None:
    assert shows(DESIGN, "report phase 4 report now 385 report left 0") == """
|Wheat        TOO HOT|
|Inside       38.5 °C|
|Set ████···· 27.0 °C|
|◊62 %     0 min left|
"""  # fmt: skip


def test_it_speaks_german() -> None:
    assert shows(GERMAN, "report phase 1") == """
|Weizen       Heizt ♨|
|Innen        21.4 °C|
|Soll ████··· 27.0 °C|
|◊62 %    noch 90 min|
"""  # fmt: skip


# Three temperatures that bind each other.


def test_the_target_stops_at_either_alarm() -> None:
    assert does(DESIGN, "99")[:2] == ["target is at its highest", "target is 32.0 °C"]
    assert does(DESIGN, "-99")[:2] == ["target is at its lowest", "target is 22.0 °C"]


def test_an_alarm_stops_at_the_target_and_pushes_nothing() -> None:
    assert shows(DESIGN, "press 4 press press 99") == """
|Too cold below      |
|                    |
|5.0 °C       45.0 °C|
|[           27.0 °C]|
             ~~~~
"""  # fmt: skip
    assert does(DESIGN, "press 4 press press 99 press") == sets("low-alarm", "27.0 °C", "alarms")
    assert does(DESIGN, "press 4 press 1 press 1 press -99 press") == sets("high-alarm", "27.0 °C", "alarms")


# Heat and steam.


def test_heat_asks_with_its_caution_and_the_question_opens_at_no() -> None:
    assert shows(DESIGN, "press 3 press") == """
|Switch the heat on? |
|The floor gets hot. |
|Keep the vents free.|
|>No              Yes|
"""  # fmt: skip
    assert shows(GERMAN, "press 3 press") == """
|Heizung einschalten?|
|Der Boden wird heiß.|
|Lüftung freilassen. |
|>Nein             Ja|
"""  # fmt: skip


def test_two_presses_by_a_careless_elbow_heat_nothing() -> None:
    assert does(DESIGN, "press 3 press press") == ["screen browsing main"]


def test_only_yes_heats_and_the_lamp_is_lit_once_the_box_says_that_it_does() -> None:
    assert does(DESIGN, "press 3 press 1 press") == ["do heat-on", "screen home"]
    assert lit(DESIGN, "press 3 press 1 press") == []
    assert lit(DESIGN, "press 3 press 1 press report heat 1") == ["heating"]


def test_the_door_keeps_the_heat_from_coming_on() -> None:
    assert shows(DESIGN, "report door 1 press 3") == """
|Proofer           ^v|
| Temperature 27.0 °C|
|>(Heat on)          |
| Alarms            →|
"""  # fmt: skip
    assert does(DESIGN, "report door 1 press 3 press") == ["heat-on is disabled"]
    assert heard(DESIGN, "report door 1 press 3 press") == ["sound for refused, 120 ms at 300 Hz"]


def test_a_door_that_opens_while_it_asks_still_keeps_the_heat_off() -> None:
    assert "do heat-on" not in does(DESIGN, "press 3 press 1 report door 1 press")


def test_what_is_hot_goes_off_with_one_press_and_without_a_question() -> None:
    assert shows(DESIGN, "report heat 1 press 3") == """
|Proofer           ^v|
| Temperature 27.0 °C|
|>Heat off           |
| Alarms            →|
"""  # fmt: skip
    assert does(DESIGN, "report heat 1 press 3 press") == ["do heat-off"]
    assert does(DESIGN, "report door 1 report heat 1 press 3 press") == ["do heat-off"], "the door does not matter"
    assert does(DESIGN, "hold") == ["do all-off"]


def test_every_action_but_those_that_switch_off_carries_a_caution_and_asks() -> None:
    asking = attrs.filters.include("confirm", "hazard")
    plain = {action.key for action in DESIGN.actions if attrs.astuple(action, filter=asking) == ("none", "")}

    assert plain == {action.key for action in DESIGN.actions if _switches_off(action)}
    assert all(action.hazard for action in DESIGN.actions if action.confirm != "none")


def _switches_off(action: Action) -> bool:
    return action.key.endswith("-off")


def test_steam_wants_water() -> None:
    assert does(DESIGN, "report water 0 press 5 press press") == ["steam-on is disabled"]
    assert shows(DESIGN, "press 5 press press") == """
|Switch steam on?    |
|Steam burns. Keep   |
|your hands away.    |
|>No              Yes|
"""  # fmt: skip


def test_the_red_lamp_calls_when_steam_has_no_water_or_the_box_is_in_trouble() -> None:
    assert lit(DESIGN, "report water 0") == []
    assert lit(DESIGN, "report water 0 report steam 1") == ["trouble"]
    assert lit(DESIGN, "report phase 5") == ["trouble"]


# Care.


def test_draining_wants_the_knob_held_and_says_why() -> None:
    assert shows(DESIGN, "press 9 press press") == """
|Drain the pan       |
|Unplug first: mains.|
|The water is hot.   |
|Hold to confirm     |
"""  # fmt: skip
    assert does(DESIGN, "press 9 press press hold") == ["do drain", "screen browsing care"]


def test_nothing_is_drained_while_it_heats_or_is_hot() -> None:
    assert does(DESIGN, "report heat 1 press 9 press press") == ["drain is disabled"]
    assert does(DESIGN, "report now 400 press 9 press press") == ["drain is disabled"]


# A baker's hands are elsewhere.


def test_untouched_it_goes_up_one_level_a_minute() -> None:
    assert does(DESIGN, "press 4 press wait 60000") == ["screen browsing main"]
    assert does(DESIGN, "press 4 press wait 60000 wait 60000") == ["screen home"]


def test_an_edit_that_is_left_alone_leaves_no_trace() -> None:
    assert does(DESIGN, "press 7 press 5 wait 60000")[:2] == ["fan is 30 %", "fan back at 30 %"]


def test_the_menu_opens_again_where_it_was_left() -> None:
    assert shows(DESIGN, "press 7 hold press") == """
|Proofer           ^v|
| Start             →|
|>Fan            30 %|
| Inside light    Off|
"""  # fmt: skip


# All of it.


def test_every_text_and_every_caution_fits_in_both_languages() -> None:
    for language in ("en", "de"):
        seen = wandered("proofer", language)
        assert not seen.cut
        assert not seen.replaced
