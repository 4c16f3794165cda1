"""The kitchen radio, as its owner meets it."""

from demos.radio import RADIO
from knobmenu.design.settings import Scale
from tests.demos.playing import demo, does, heard, lit, saved, sets, shows, wandered

DESIGN = demo("radio")
GERMAN = demo("radio", "de")

BY_HAND = "press press -1 press"
"""Opens the stations and goes backwards to the one that is tuned by hand."""


def test_python_and_toml_build_equal_radios() -> None:
    assert RADIO == DESIGN


# At home.


def test_it_shows_its_station_its_reception_and_its_volume() -> None:
    assert shows(DESIGN, "") == """
|Valley Radio   ▆|
|♪ ███········  8|
"""  # fmt: skip


def test_the_sign_of_reception_follows_the_tuner() -> None:
    assert shows(DESIGN, "report signal 1") == """
|Valley Radio   ▂|
|♪ ███········  8|
"""  # fmt: skip


def test_turning_changes_the_volume_at_once() -> None:
    assert does(DESIGN, "3") == ["volume is 11", "volume kept at 11"]


def test_the_volume_stops_at_the_owners_limit_and_a_click_says_so() -> None:
    assert shows(DESIGN, "99") == """
|Valley Radio   ▆|
|♪ ███████···· 20|
"""  # fmt: skip
    assert heard(DESIGN, "99") == ["sound for limit, 8 ms at 1500 Hz"]


def test_a_hand_that_plays_with_the_volume_writes_memory_once() -> None:
    assert saved(DESIGN, "1 1 1 -1 2 wait 2999") == []
    assert saved(DESIGN, "1 1 1 -1 2 wait 3000") == ["save volume 12"]


def test_a_long_press_mutes_and_the_next_one_sounds_again() -> None:
    assert lit(DESIGN, "hold") == ["muted"]
    assert lit(DESIGN, "hold hold") == []
    assert saved(DESIGN, "hold wait 60000") == [], "after a power cut it sounds"


# Stations.


def test_the_menu_opens_at_the_stations() -> None:
    assert shows(DESIGN, "press") == """
|>Station  Valley|
| Tone          →|
"""  # fmt: skip


def test_a_station_is_heard_while_the_knob_turns_and_kept_with_the_press() -> None:
    assert does(DESIGN, "press press 1") == ["station is Mill Brook FM"]
    assert does(DESIGN, "press press 1 press") == ["station kept at Mill Brook FM", "screen browsing main"]


def test_a_long_press_gives_the_old_station_back() -> None:
    assert does(DESIGN, "press press 2 hold") == [
        "station is Valley Radio",
        "station back at Valley Radio",
        "screen browsing main",
    ]


def test_band_and_frequency_are_there_only_when_tuning_by_hand() -> None:
    assert shows(DESIGN, f"{BY_HAND} 2") == """
|>FM     98.4 MHz|
| Tone          →|
"""  # fmt: skip
    assert shows(DESIGN, f"{BY_HAND} 1 press 1 press 1") == """
|>MW      981 kHz|
| Tone          →|
"""  # fmt: skip


def test_a_detent_is_a_channel_and_one_while_held_a_whole_megahertz() -> None:
    assert does(DESIGN, f"{BY_HAND} 2 press 1") == ["fm is 98.5 MHz"]
    assert does(DESIGN, f"{BY_HAND} 2 press held 1") == ["fm is 99.4 MHz"]


def test_a_band_goes_on_from_its_other_end() -> None:
    assert shows(DESIGN, f"{BY_HAND} 2 press held -10 -9") == """
|FM              |
|[      87.5 MHz]|
        ~~~~
"""  # fmt: skip
    assert does(DESIGN, f"{BY_HAND} 2 press held -10 -9 -1") == ["fm is 108.0 MHz"]


def test_the_bands_have_as_many_channels_as_are_published() -> None:
    """Medium wave from 531 to 1602 kHz has 120 channels of 9 kHz (chaos.owiki.org, "Medium wave").

    FM from 87.5 to 108.0 MHz at 100 kHz (thefriendsfm.com, "FM broadcasting") makes 206, both ends counted.
    """
    channels = {key: setting.steps for key in ("fm", "mw") if isinstance(setting := DESIGN.index.settings[key], Scale)}

    assert {key: (len(steps), steps[0], steps[-1]) for key, steps in channels.items()} == {
        "fm": (206, 875, 1080),
        "mw": (120, 531, 1602),
    }


# The owner's limit.


def test_the_limit_asks_before_it_can_be_changed() -> None:
    assert shows(DESIGN, "press 1 press 2 press") == """
|Change limit?   |
|>No          Yes|
"""  # fmt: skip
    assert does(DESIGN, "press 1 press 2 press press") == ["screen browsing tone"]


def test_a_lower_limit_takes_the_volume_along() -> None:
    assert does(DESIGN, "99 press 1 press 2 press 1 press -5 press") == [
        "volume is 15",
        "loudest is 15",
        "loudest kept at 15",
        "screen browsing tone",
    ]


# Waking.


def test_an_alarm_is_set_field_by_field() -> None:
    assert shows(DESIGN, "press 2 press press 1 press") == """
|Time            |
|[         06:30]|
           ~~
"""  # fmt: skip
    assert shows(DESIGN, "press 2 press press 1 press 1 press") == """
|Time            |
|[         07:30]|
              ~~
"""  # fmt: skip
    assert does(DESIGN, "press 2 press press 1 press 1 press 15 press") == sets("alarm-time", "07:45", "waking")


def test_who_sets_the_alarm_and_walks_off_is_woken_then() -> None:
    trace = "press 2 press press 1 press 1 press 15 wait 20000"

    assert "alarm-time kept at 07:45" in does(DESIGN, trace)
    assert lit(DESIGN, trace) == ["wakes"]
    assert shows(DESIGN, trace) == shows(DESIGN, "")


def test_a_buzzer_has_no_volume_and_the_radio_says_that_it_cannot_be_set() -> None:
    assert shows(DESIGN, "press 2 press 3 press 1 press 1") == """
|>(Volume)      6|
| Snooze    7 min|
"""  # fmt: skip
    assert does(DESIGN, "press 2 press 3 press 1 press 1 press") == ["alarm-volume is disabled"]
    assert heard(DESIGN, "press 2 press 3 press 1 press 1 press") == ["sound for refused, 60 ms at 400 Hz"]


# The radio itself.


def test_a_name_is_written_character_by_character() -> None:
    assert shows(DESIGN, "press 4 press 3 press 1 press 13 press -14 press") == """
|Owner           |
|[AN            ]|
     ~
"""  # fmt: skip


def test_it_speaks_german_while_the_language_is_being_chosen() -> None:
    assert shows(DESIGN, "press 4 press 2 press 1") == """
|Sprache         |
|[       Deutsch]|
         ~~~~~~~
"""  # fmt: skip
    assert shows(DESIGN, "press 4 press 2 press 1 hold") == """
|>Lang    English|
| Owner          |
"""  # fmt: skip


def test_german_fits_too() -> None:
    assert shows(GERMAN, "") == """
|Radio Talwärts ▆|
|♪ ███········  8|
"""  # fmt: skip
    assert shows(GERMAN, "press 2") == """
|>Wecker        →|
| Schlafen    Aus|
"""  # fmt: skip


def test_only_holding_the_knob_resets_it() -> None:
    assert shows(DESIGN, "press 4 press 5 press") == """
|Factory reset   |
|Hold to reset   |
"""  # fmt: skip
    assert does(DESIGN, "press 4 press 5 press press") == ["screen browsing set-up"]
    assert does(DESIGN, "press 4 press 5 press hold") == ["do factory", "screen home"]


# All of it.


def test_every_text_fits_in_both_languages_but_the_caution() -> None:
    cautions = {setting.hazard for setting in DESIGN.settings if setting.hazard}
    cautions |= {dict(DESIGN.translations[0].texts)[caution] for caution in cautions}

    for language in ("en", "de"):
        seen = wandered("radio", language)
        assert seen.cut == cautions
        assert seen.replaced == set()
