"""Each demo does what it is there to show."""

from __future__ import annotations

import pytest

from knobmenu import load
from tests.demos.playing import DEMOS, demo, does, every_entry, played, shows, wandered

EVENTS = {"radio": 20_000, "proofer": 20_000, "darkroom": 60_000, "instrument": 300_000}
"""How many events lead a wandering hand to every entry."""
EVERY = tuple(EVENTS)
SPOKEN = (
    ("radio", ""), ("radio", "de"), ("proofer", ""), ("proofer", "de"), ("darkroom", ""),
    ("instrument", ""), ("instrument", "de"), ("instrument", "fr"),
)  # fmt: skip


@pytest.mark.parametrize("name", EVERY)
def test_it_says_that_it_is_invented(name: str) -> None:
    assert "nvented" in (DEMOS / f"{name}.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", EVERY)
def test_a_wandering_hand_comes_by_every_entry(name: str) -> None:
    assert wandered(name, events=EVENTS[name]).entries == every_entry(demo(name))


@pytest.mark.parametrize("name", ["radio", "proofer", "darkroom"])
def test_a_wandering_hand_sets_every_setting_and_does_every_action(name: str) -> None:
    design, seen = demo(name), wandered(name, events=EVENTS[name])

    assert seen.settings == set(design.index.settings)
    assert seen.actions == set(design.index.actions)


@pytest.mark.parametrize(("name", "language"), SPOKEN)
def test_every_label_fits_its_display_in_every_language(name: str, language: str) -> None:
    """Only a caution may be too long for two rows or for segments; it stands in the file, the app and the exports."""
    design = demo(name, language)
    seen = wandered(name, language)
    cautions = {part.hazard for part in (*design.settings, *design.actions) if part.hazard}
    translated = {words.get(caution, caution) for words in design.index.translations for caution in cautions}
    shortened = {
        text
        for part in (*design.settings, *design.actions, *design.menus, *design.readouts)
        if part.short
        for text in (part.label, getattr(part, "question", ""))
    }

    assert seen.replaced == set()
    assert seen.cut - translated - shortened == set()


def test_every_text_of_the_instrument_is_translated() -> None:
    design = load(DEMOS / "instrument.toml")
    hazards = [part.hazard for part in (*design.settings, *design.actions) if part.hazard]
    labels = [part.label for part in (*design.settings, *design.menus, *design.actions, *design.readouts)]

    for language, words in zip(design.languages[1:], design.index.translations[1:], strict=True):
        missing = [text for text in (*labels, *hazards) if text not in words]
        assert missing == [], language


def test_the_instrument_is_deep_and_speaks_three_languages() -> None:
    design = demo("instrument")

    assert len(every_entry(design)) >= 100
    assert design.languages == ("en", "de", "fr")
    assert design.index.conditional


def test_the_radio_turns_its_volume_at_home_and_mutes_with_a_long_press() -> None:
    radio = demo("radio")

    assert does(radio, "2") == ["volume is 10", "volume kept at 10"]
    assert does(radio, "hold") == ["mute is On", "mute kept at On"]


def test_every_action_that_can_hurt_is_confirmed() -> None:
    guarded = [action for name in EVERY for action in demo(name).actions if action.hazard]

    assert len(guarded) >= 4
    assert all(action.confirm != "none" for action in guarded)


def test_the_darkroom_timer_steps_in_thirds_of_a_stop() -> None:
    darkroom = demo("darkroom")
    device = played(darkroom, "")
    values = [device.get_value("exposure")]
    for _ in range(3):
        device.turn(1)
        values.append(device.get_value("exposure"))

    assert abs(int(values[3]) / int(values[0]) - 2) < 0.02


@pytest.mark.parametrize("name", EVERY)
def test_its_home_screen_is_drawn_anew_the_same(name: str) -> None:
    assert shows(demo(name), "") == shows(demo(name), "wait 10")
