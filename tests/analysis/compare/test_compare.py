"""A comparison tells what a designer changed, and nothing else."""

from __future__ import annotations

import json
import random
from itertools import pairwise
from typing import Any

import attrs
import pytest

from knobmenu.analysis.compare.changes import compare_findings, describe_condition, list_changes
from knobmenu.analysis.compare.report import (
    compare_designs,
    comparison_to_plain,
    list_cost_rows,
    write_comparison_page,
    write_verdict,
)
from knobmenu.analysis.cost.profile import read_profile
from knobmenu.cli.main import main
from knobmenu.design.conditions import All, AtLeast, Equal, Less, Not, Unequal
from knobmenu.design.conditions import Any as AnyOf
from knobmenu.design.menu import Entry
from knobmenu.design.whole import Design
from tests.analysis.cost.test_routes import small_models
from tests.demos.playing import DEMOS, demo
from tests.sampling import sampled


def with_menu(design: Design, key: str, **fields: Any) -> Design:
    menus = [attrs.evolve(menu, **fields) if menu.key == key else menu for menu in design.menus]
    return attrs.evolve(design, menus=menus)


def with_setting(design: Design, key: str, **fields: Any) -> Design:
    settings = [attrs.evolve(item, **fields) if item.key == key else item for item in design.settings]
    return attrs.evolve(design, settings=settings)


def told(old: Design, new: Design) -> list[str]:
    return [f"{change.about}: {change.place}: {change.what}" for change in list_changes(old, new)]


@pytest.mark.parametrize("name", ["darkroom", "instrument", "proofer", "radio"])
def test_a_design_does_not_differ_from_itself(name: str) -> None:
    assert told(demo(name), demo(name)) == []


def test_an_entry_that_moved_is_told_alone() -> None:
    radio = demo("radio")
    entries = list(radio.index.menus["main"].entries)
    entries.insert(0, entries.pop(6))  # Sleep, from place 7 to the top

    assert told(radio, with_menu(radio, "main", entries=entries)) == [
        'entries: menus.main: "sleep" moved from place 7 to 1'
    ]


def test_the_verdict_counts_one_change_in_the_singular() -> None:
    radio = demo("radio")
    first, second, *others = radio.index.menus["main"].entries

    said = write_verdict(compare_designs(radio, with_menu(radio, "main", entries=[second, first, *others])))

    assert said[0] == "1 change: 1 in entries."


def test_entries_that_came_and_went_are_told() -> None:
    radio = demo("radio")
    entries = [*radio.index.menus["tone"].entries[1:], Entry("light")]

    assert told(radio, with_menu(radio, "tone", entries=entries)) == [
        'entries: menus.tone: entry "bass" removed',
        'entries: menus.tone: entry "light" added in place 4',
    ]


def test_conditions_and_labels_of_entries_are_told() -> None:
    radio = demo("radio")
    first, *others = radio.index.menus["tone"].entries
    changed = attrs.evolve(first, label="Low", shown_if=Equal("band", "fm"), enabled_if=Not(Equal("mute", True)))
    without_words = attrs.evolve(radio, translations=())

    assert told(without_words, with_menu(without_words, "tone", entries=[changed, *others])) == [
        "entries: menus.tone.bass: shown if band is fm",
        "entries: menus.tone.bass: enabled if not mute is True",
        'words: menus.tone.bass: nothing became "Low"',
    ]


def test_settings_words_and_device_are_told_apart() -> None:
    radio = attrs.evolve(demo("radio"), translations=())
    new = with_setting(radio, "bass", high=9, label="Low notes")
    new = attrs.evolve(new, knob=attrs.evolve(new.knob, long_press_ms=800), save_after_ms=1)

    assert told(radio, new) == [
        "device: save_after_ms: 3000 became 1",
        "device: knob.long_press_ms: 500 became 800",
        "settings: settings.bass.high: 6 became 9",
        'words: settings.bass.label: "Bass" became "Low notes"',
    ]


def test_options_are_told_one_by_one() -> None:
    radio = attrs.evolve(demo("radio"), translations=())
    days = radio.index.settings["alarm-days"]
    every, working, weekend = days.options  # type: ignore[union-attr]
    new = with_setting(radio, "alarm-days", options=[weekend, every, attrs.evolve(working, label="Weekdays")])

    assert told(radio, new) == [
        'settings: settings.alarm-days: "weekend" moved from place 3 to 1',
        'words: settings.alarm-days.options.working.label: "Mon-Fri" became "Weekdays"',
    ]


def test_a_translation_that_changed_is_told() -> None:
    radio = demo("radio")
    (german,) = radio.translations
    texts = [(text, "Dumpf" if text == "Bass" else other) for text, other in german.texts]

    assert told(radio, attrs.evolve(radio, translations=[attrs.evolve(german, texts=texts)])) == [
        'words: translations.de."Bass": "Tiefen" became "Dumpf"'
    ]


def test_two_designs_differ_exactly_where_a_change_is_told() -> None:
    models = [model.design for _, model in small_models(sampled(200, 30))]
    for one, other in pairwise(models):
        assert bool(list_changes(one, other)) == (one != other)


def test_the_fewest_entries_are_told_as_moved() -> None:
    radio, chance = demo("radio"), random.Random(8)
    entries = radio.index.menus["waking"].entries
    for _ in range(50):
        shuffled = chance.sample(entries, len(entries))
        moves = told(radio, with_menu(radio, "waking", entries=shuffled))
        places = [entries.index(entry) for entry in shuffled]
        # The entries that stay are a longest ascending row.
        longest = [1] * len(places)
        for place, number in enumerate(places):
            longest[place] += max((longest[k] for k in range(place) if places[k] < number), default=0)
        assert len(moves) == len(places) - max(longest)


def test_conditions_are_said_in_words() -> None:
    condition = All((Less("now", 400), AnyOf((AtLeast("water", 1), Unequal("door", 0)))))

    assert describe_condition(condition) == "(now is less than 400 and (water is at least 1 or door is not 0))"


def test_costs_and_findings_are_compared() -> None:
    radio = demo("radio")
    entries = radio.index.menus["main"].entries
    new = with_menu(radio, "main", entries=[*entries[4:6], *entries[:4], *entries[6:]])
    new = attrs.evolve(new, idle=attrs.evolve(new.idle, after_ms=1000))
    found = compare_designs(radio, new)

    bass = next(item for item in found.costs if item.key == "bass")
    assert bass.home == (4, 3)
    assert any("findings" in sentence.lower() for sentence in write_verdict(found))
    assert found.findings == compare_findings(radio, new)
    assert {finding.rule for finding in found.findings.added} != set()
    assert list_cost_rows(found)[[row[0] for row in list_cost_rows(found)].index("bass")][:3] == ("bass", "4", "3")


def test_a_profile_is_used_for_both() -> None:
    radio = demo("radio")
    profile = read_profile("format = 1\nuse = { volume = 1 }\nvalues.volume = { 10 = 1 }\n", radio)
    found = compare_designs(radio, with_setting(radio, "volume", initial=9), profile)

    assert found.expected == (2, 1)


def test_a_comparison_is_data_and_a_page() -> None:
    radio = demo("radio")
    found = compare_designs(radio, with_setting(radio, "bass", initial=1))

    assert json.loads(json.dumps(comparison_to_plain(found)))["changes"][0]["place"] == "settings.bass.initial"
    html = write_comparison_page(found)
    assert "settings.bass.initial" in html
    assert "https://" not in html


def test_the_same_designs_are_said_to_be_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(DEMOS / "radio.toml")

    assert main(["compare", path, path]) == 0
    assert capsys.readouterr().out.startswith("Both designs are the same.")
