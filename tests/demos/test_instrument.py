"""The signal set, as whoever repairs with it meets it."""

from tests.demos.playing import demo, does, lit, played, saved, shows

DESIGN = demo("instrument")
FRENCH = demo("instrument", "fr")

FREQUENCY = "press press 2 press"
"""Opens the frequency for editing."""
VOLUME = "press 8 press 1 press"
"""Asks before the volume of the headphones."""


# At home.


def test_it_shows_what_it_sends_and_what_it_hears() -> None:
    assert shows(DESIGN, "") == """
|Sine       Output Off|
| 1000.0 Hz       None|
|██████▎···    0.0 dBu|
|Sweep         Stopped|
|Input       -87.0 dBu|
|Clean         23.1 °C|
"""  # fmt: skip


def test_turning_sets_the_level_and_never_above_its_limit() -> None:
    assert does(DESIGN, "1") == ["level is 1.0 dBu", "level kept at 1.0 dBu"]
    assert played(DESIGN, "99").get_value("level") == played(DESIGN, "").get_value("level-limit")


def test_turning_while_held_changes_the_waveform_one_by_one_and_round() -> None:
    assert does(DESIGN, "held 1") == ["waveform is Square", "waveform kept at Square"]
    assert does(DESIGN, "held -1") == ["waveform is Noise", "waveform kept at Noise"]


def test_the_output_is_off_after_a_power_cut() -> None:
    assert lit(DESIGN, "hold") == ["out"]
    assert saved(DESIGN, "hold wait 60000") == []


def test_idling_goes_back_level_by_level() -> None:
    assert does(DESIGN, "press press wait 60000") == ["screen browsing main"]
    assert does(DESIGN, "press press wait 120000") == ["screen browsing main", "screen home"]


# Lists that follow the signal.


def test_noise_has_a_colour_and_no_frequency() -> None:
    assert shows(DESIGN, "press press 1 press 5 press") == """
|Signal              ↓|
| Output           Off|
|▸Waveform       Noise|
| Level        0.0 dBu|
| Limit       10.0 dBu|
| Colour         White|
"""  # fmt: skip


def test_a_turn_while_held_goes_through_a_long_list_by_the_screen() -> None:
    assert shows(DESIGN, "press held 1") == """
|Main menu          ↑↓|
| Analyser           ›|
| Readings           ›|
|▸Filter             ›|
| Resistor           ›|
| Headphones         ›|
"""  # fmt: skip


def test_a_sweep_and_a_burst_exclude_each_other() -> None:
    assert does(DESIGN, "press 2 press press") == ["sweep is On", "sweep kept at On"]
    assert does(DESIGN, "press 2 press press hold 1 press press") == ["burst is disabled"]


def test_a_sweep_is_started_only_with_the_output_on() -> None:
    assert does(DESIGN, "press 2 press press 7 press") == ["start-sweep is disabled"]
    assert does(DESIGN, "hold press 2 press press 7 press") == ["do start-sweep", "screen home"]


def test_adjusting_is_for_experts_and_the_gain_only_with_a_locked_reference() -> None:
    service = "press 12 press 4 press"

    assert "Adjustment" not in shows(DESIGN, service)
    assert "Adjustment" in shows(DESIGN, f"{service} 1 press 1")
    assert does(DESIGN, f"{service} 1 press 1 press press") == ["gain-trim is disabled"]
    assert does(DESIGN, f"report reference 1 {service} 1 press 1 press press") == ["screen editing gain-trim"]


# Editing.


def test_a_frequency_is_edited_digit_by_digit() -> None:
    assert shows(DESIGN, f"{FREQUENCY} 5 press 1") == """
|Frequency            |
|                     |
|0.1 Hz     99999.9 Hz|
|[         52000.0 Hz]|
            ~
|                     |
|                     |
"""  # fmt: skip


def test_a_digit_that_runs_over_carries() -> None:
    device = played(DESIGN, f"{FREQUENCY} press press -1 press press press press")

    assert device.get_value("frequency") == 9000


def test_the_resistor_steps_along_the_series_that_is_chosen() -> None:
    """E6 goes from 1.0 to 1.5, E12 to 1.2, E24 to 1.1 (IEC 60063, from memory)."""
    stepped = [
        played(DESIGN, f"press 7 press press {turn} press 1 press 1 press").get_value(key)
        for turn, key in ((-1, "resistor-e6"), (1, "resistor-e24"))
    ]

    assert stepped == [1500, 1100]
    assert played(DESIGN, "press 7 press 1 press 1 press").get_value("resistor-e12") == 1200


def test_a_letter_is_picked_behind_the_name_and_the_pick_is_at_the_blank_again() -> None:
    assert shows(DESIGN, "double 1 press 5 press 5") == """
|Name                 |
|                     |
|                     |
|[TESTEE             ]|
       ~
|                     |
|                     |
"""  # fmt: skip


# Cautions.


def test_the_volume_asks_and_says_its_caution_in_the_language_that_is_spoken() -> None:
    assert shows(FRENCH, VOLUME) == """
|Volume               |
|Un son fort peut     |
|abîmer l’audition.   |
|                     |
|                     |
|▸Non              Oui|
"""  # fmt: skip


def test_the_volume_never_passes_its_limit() -> None:
    assert does(DESIGN, f"{VOLUME} 1 press 99 press")[0] == "volume is -20 dB"


def test_a_preset_is_erased_only_by_holding() -> None:
    assert does(DESIGN, "double 4 press hold")[0] == "do erase"
    assert "do erase" not in does(DESIGN, "double 4 press press")
