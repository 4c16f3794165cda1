"""Twenty faults, planted one by one into the instrument, are all found where they stand."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from knobmenu.analysis.check import check_design
from knobmenu.files.toml import loads
from tests.analysis.check.claims import assert_shows

INSTRUMENT = Path(__file__).parents[3] / "demos" / "instrument.toml"


@cache
def text() -> str:
    return INSTRUMENT.read_text(encoding="utf-8")


_NOISE = '{ target = "noise-colour", shown_if = { equal = ["waveform", "noise"] } }'

_ADJUSTMENT = '{ target = "adjustment", shown_if = { equal = ["expert", true] } },'

FAULTS = [
    # A condition that contradicts itself.
    (
        _NOISE,
        '{ target = "noise-colour", shown_if = { all = [{ equal = ["waveform", "noise"] }, '
        '{ equal = ["waveform", "sine"] }] } }',
        ("unreachable", "menus.signal.entries[8]"),
    ),
    # A switch that only an entry behind itself could turn on.
    (
        '    "expert",\n',
        '    { target = "expert", shown_if = { equal = ["expert", true] } },\n',
        ("unreachable", "menus.service.entries[1]"),
    ),
    # An entry that waits for an alarm above the one that is never below it.
    (
        '    "alarms",\n    "back",\n]',
        '    { target = "alarms", shown_if = { all = [{ at_least = ["alarm-low", 0] }, '
        '{ less = ["alarm-high", 0] }] } },\n'
        '    "back",\n]',
        ("unreachable", "menus.analyser.entries[11]"),
    ),
    # Two switches that exclude each other, asked for together.
    (
        'enabled_if = { all = [{ equal = ["sweep", true] }, { equal = ["output", true] }] }',
        'enabled_if = { all = [{ equal = ["sweep", true] }, { equal = ["burst", true] }] }',
        ("never-enabled", "menus.sweeping.entries[8]"),
    ),
    # A threshold beyond the range.
    (
        '{ target = "address", enabled_if = { equal = ["remote", true] } }',
        '{ target = "address", enabled_if = { at_least = ["speed", 115201] } }',
        ("never-enabled", "menus.link.entries[1]"),
    ),
    # An entry and a menu that were left out.
    ('    "polarity",\n', "", ("no-way", "settings.polarity")),
    ('    "triggering",\n', "", ("no-way", "menus.triggering")),
    # A setting that takes its own entry away: for good, and until it is off again after power-on.
    (
        '    "sweep-law",\n',
        '    { target = "sweep-law", shown_if = { unequal = ["sweep-law", "thirds"] } },\n',
        ("lost-for-good", "menus.sweeping.entries[1]"),
    ),
    (
        '    "expert",\n',
        '    { target = "expert", shown_if = { equal = ["expert", false] } },\n',
        ("lost-until-power-off", "menus.service.entries[1]"),
    ),
    # A switch that locks itself out, and with it everything that it enables.
    (
        '    "remote",\n',
        '    { target = "remote", enabled_if = { equal = ["remote", false] } },\n',
        ("lost-for-good", "menus.link.entries[0]"),
    ),
    # A list whose last unconditional entries are gone.
    (
        'entries = ["alarm", "alarm-low", "alarm-high", "back"]',
        'entries = [{ target = "alarm-low", shown_if = { equal = ["measure", "voltage"] } }]',
        ("empty-list", "menus.alarms"),
    ),
    # Conditions that say nothing.
    (
        '{ target = "threshold", shown_if = { unequal = ["trigger-source", "mains"] } }',
        '{ target = "threshold", shown_if = { at_least = ["threshold", -5000] } }',
        ("condition-always", "menus.triggering.entries[2].shown_if"),
    ),
    (
        'lit_if = { equal = ["remote", true] }',
        'lit_if = { less = ["level", 205] }',
        ("lamp-always", "lamps.remote-lamp.lit_if"),
    ),
    # Hazards without their question, and one that takes effect with each detent.
    ('confirm = "ask"\nbar = true\nhazard', "bar = true\nhazard", ("hazard-unconfirmed", "settings.volume")),
    (
        'high = "volume-limit"\nunit = "dB"',
        'high = "volume-limit"\nunit = "dB"\napplies = "live"',
        ("hazard-live", "settings.volume"),
    ),
    # Words.
    ('"Harmonics" = ', '"Harmonics" = "Anzahl der Harmonischen"  #', ("cut-text", "translations.de.Harmonics")),
    ('"Hand" = "Hand"\n', "", ("untranslated", "translations.de")),
    # Habit.
    ("after_ms = 60000", "after_ms = 5000", ("short-timeout", "idle.after_ms")),
    ("turns_while_held = true", 'turns_while_held = true\nclockwise = "down"', ("direction", "knob.clockwise")),
    ('    "presets",\n', "", ("unannounced", "home.double_press")),
]


def test_there_are_twenty_faults() -> None:
    assert len(FAULTS) == 20


@pytest.mark.parametrize(("old", "new", "expected"), FAULTS, ids=[f"{rule} {place}" for _, _, (rule, place) in FAULTS])
def test_a_planted_fault_is_found_where_it_stands(old: str, new: str, expected: tuple[str, str]) -> None:
    assert old in text()
    design = loads(text().replace(old, new, 1))
    findings = [finding for finding in check_design(design).findings if not finding.accepted]

    assert expected in [(finding.rule, finding.place) for finding in findings]
    for finding in findings:
        assert_shows(design, finding)
