"""Every kind of finding has a design that triggers exactly it, and a nearest one that does not."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from knobmenu.analysis.check import check_design
from knobmenu.analysis.check.findings import RULES
from knobmenu.design.whole import Design
from knobmenu.files.places import make_line_finder
from knobmenu.files.toml import loads
from tests.analysis.check.claims import SHOWS_NOTHING, assert_shows

SOUND = """
format = 1
name = "Box"

[display]
kind = "character"
rows = 4

[knob]
long_press_ms = 500

[home]
rows = ["Level {level}"]
turn = "level"
press = "main"

[idle]
after_ms = 30000

[gestures]
long_press = "back"

[settings.level]
kind = "number"
label = "Level"
low = 0
high = 20
initial = 5

[settings.mode]
kind = "choice"
label = "Mode"
options = [{ key = "plain", label = "Plain" }, { key = "rich", label = "Rich" }]

[settings.lock]
kind = "switch"
label = "Lock"

[menus.main]
label = "Menu"
entries = ["mode", "level", "more", "go"]

[menus.more]
label = "More"
entries = ["lock", "back"]

[actions.go]
label = "Go"

[readouts.probe]
label = "Probe"
low = 0
high = 5
"""
"""A design without any finding; `probe` and `lock` are there for conditions to read."""


class Case(NamedTuple):
    """A kind of finding, the edits that bring it about, and the edits of the nearest design without it."""

    rule: str
    edits: tuple[tuple[str, str], ...]
    near: tuple[tuple[str, str], ...]


_MODE = 'entries = ["mode",'
_LOCK = 'entries = ["lock",'
_STAY = (("after_ms = 30000", "after_ms = 0"), ('long_press = "back"', 'long_press = "nothing"'))


def _mode(condition: str, field: str = "shown_if") -> tuple[str, str]:
    return (_MODE, f'entries = [{{ target = "mode", {field} = {condition} }},')


def _entry_case(rule: str, condition: str, near: str, field: str = "shown_if") -> Case:
    """A condition of the entry for "mode" that brings a finding about, and the nearest one without it."""
    return Case(rule, (_mode(condition, field),), (_mode(near, field),))


def _lock(condition: str) -> tuple[str, str]:
    return (_LOCK, f'entries = [{{ target = "lock", shown_if = {condition} }},')


def _hazard(part: str, *fields: str) -> tuple[str, str]:
    return (f"[{part}]", "\n".join([f"[{part}]", 'hazard = "It moves."', *fields]))


def _lamp(condition: str) -> tuple[str, str]:
    return ("[readouts.probe]", f'[lamps.on]\nlabel = "On"\nlit_if = {condition}\n\n[readouts.probe]')


def _many(count: int) -> tuple[tuple[str, str], ...]:
    """An entry whose condition reads many settings."""
    keys = [f"s{number}" for number in range(count)]
    settings = "".join(f'[settings.{key}]\nkind = "switch"\nlabel = "{key}"\n\n' for key in keys)
    parts = ", ".join(f"{{ equal = ['{key}', true] }}" for key in keys)
    return (
        ("[settings.mode]", f"{settings}[settings.mode]"),
        (
            '"go"]',
            "".join(
                ['"go", ', *(f'"{key}", ' for key in keys), f"{{ target = 'go', shown_if = {{ all = [{parts}] }} }}]"]
            ),
        ),
    )


def _german(row: str) -> tuple[tuple[str, str], ...]:
    words = {"Level": "Ebene", "Mode": "Art", "Plain": "Schlicht", "Rich": "Reich", "Lock": "Sperre", "Menu": "Auswahl"}
    words |= {"More": "Mehr", "Go": "Los", "Probe": "Fühler", "Level {level}": row, "On": "Ein", "Off": "Aus"}
    words |= {"Back": "Zurück", "Yes": "Ja", "No": "Nein", "Hold to confirm": "Halten", "Nothing here": "Leer"}
    words |= {"Speech": "Sprache"}
    lines = "".join(f'"{own}" = "{other}"\n' for own, other in words.items())
    options = '[{ key = "en", label = "English" }, { key = "de", label = "Deutsch" }]'
    choice = f'[settings.language]\nkind = "choice"\nlabel = "Speech"\noptions = {options}\n\n'
    return (
        ('name = "Box"', 'name = "Box"\nlanguages = ["en", "de"]\nlanguage = "language"'),
        ("[settings.mode]", choice + "[settings.mode]"),
        ('"go"]', '"go", "language"]'),
        ("[readouts.probe]", f"[translations.de]\n{lines}\n[readouts.probe]"),
    )


def _long_press(key: str) -> tuple[tuple[str, str], ...]:
    return (
        ('press = "main"', f'press = "main"\nlong_press = "{key}"'),
        (_LOCK, "entries = [") if key == "lock" else ('"level", ', ""),
    )


def _shorts(first: str, second: str) -> tuple[tuple[str, str], ...]:
    return (
        ('label = "More"', f'label = "Kinds of measuring"\nshort = "{first}"'),
        ('label = "Go"', f'label = "Kind of a measurement"\nshort = "{second}"'),
    )


def _double(after_ms: int) -> tuple[str, str]:
    return ("[knob]", f"[knob]\ndouble_press_ms = {after_ms}")


def _doubled() -> tuple[str, str]:
    return ('long_press = "back"', 'long_press = "back"\ndouble_press = "home"')


def _accepted(place: str) -> tuple[str, str]:
    return (
        "high = 5\n",
        f'high = 5\n\n[[accepted]]\nfinding = "short-timeout"\nplace = "{place}"\nreason = "Because."\n',
    )


_LIVES = """
[simulation.probe]
kind = "set"
cases = [CASES]

[readouts.lit]
label = "Lit"

[simulation.lit]
kind = "set"
cases = [LIT]

[readouts.left]
label = "Left"

[simulation.left]
kind = "countdown"
begin = 3
unit_ms = 1000
started_by = ["go"]
when = { WHEN }
ends = [{ readout = "lit", value = 0 }]
"""


def _lives(
    cases: str = "{ action = 'go', value = 1 }",
    lit: str = "{ action = 'go', value = 1 }",
    when: str = "less = ['level', 3]",
    entries: str = '"probe", "lit", "left"',
) -> tuple[tuple[str, str], ...]:
    """Surroundings of the sound design: its action starts a countdown."""
    text = _LIVES.replace("CASES", cases).replace("LIT", lit).replace("WHEN", when)
    return ("high = 5\n", f"high = 5\n{text}"), ('"go"]', f'"go", {entries}]')


_PROBE_OF_LIT = "{ when = { equal = ['lit', 0] }, value = 1 }, { when = { equal = ['lit', 1] }, value = 0 }"
_LIT_OF_PROBE = "{ when = { equal = ['probe', 0] }, value = 0 }, { when = { equal = ['probe', 1] }, value = 1 }"

_HELD = (
    ("[knob]", "[knob]\nturns_while_held = true"),
    ('turn = "level"', 'held_turn = "level"'),
    ('"level", ', ""),
)
_RESET = ("[actions.go]", '[actions.go]\nconfirm = "ask"\nresets = ["level"]')
_SEGMENTS = (
    ('kind = "character"\nrows = 4', 'kind = "segments"'),
    ("Level {level}", "{level}"),
    ('label = "Mode"', 'label = "type"'),
    ('label = "Plain"', 'label = "PLAn"'),
    ('label = "Menu"', 'label = "LISt"'),
    ('label = "More"', 'label = "nor"'),
    ('label = "Lock"', 'label = "LoC"'),
    ('label = "Level"', 'label = "LEU"'),
    (
        "[readouts.probe]",
        '[wording]\nback = "bAC"\nyes = "YES"\nno = "no"\nhold = "HoLd"\nempty = "nonE"\n\n[readouts.probe]',
    ),
)

CASES = [
    _entry_case("unreachable", "{ at_least = ['level', 21] }", "{ at_least = ['level', 20] }"),
    _entry_case(
        "unreachable",
        "{ all = [{ equal = ['lock', true] }, { equal = ['lock', false] }] }",
        "{ all = [{ equal = ['lock', true] }, { less = ['level', 3] }] }",
    ),
    _entry_case("never-enabled", "{ less = ['level', 0] }", "{ less = ['level', 1] }", "enabled_if"),
    Case("no-way", ((_MODE, "entries = ["),), ((_MODE, 'entries = ["mode", "probe",'),)),
    _entry_case(
        "after-report",
        "{ at_least = ['probe', 3] }",
        "{ any = [{ at_least = ['probe', 3] }, { equal = ['lock', false] }] }",
    ),
    Case(
        "after-device",
        (*_HELD, _RESET, _mode("{ equal = ['level', 7] }")),
        (*_HELD, _RESET, _mode("{ at_least = ['level', 15] }")),
    ),
    Case(
        "lost-for-good",
        ((_LOCK, 'entries = [{ target = "lock", shown_if = { equal = ["lock", false] } },'),),
        ((_LOCK, 'entries = [{ target = "lock", shown_if = { less = ["level", 9] } },'),),
    ),
    Case(
        "lost-until-power-off",
        (
            (_LOCK, 'entries = [{ target = "lock", shown_if = { equal = ["lock", false] } },'),
            ("[settings.lock]", "[settings.lock]\nsaved = false"),
        ),
        (
            ('"go"]', '"go", "lock"]'),
            (_LOCK, 'entries = [{ target = "lock", shown_if = { less = ["level", 9] } },'),
            ("[settings.lock]", "[settings.lock]\nsaved = false"),
        ),
    ),
    Case(
        "hides-itself",
        (_lock("{ equal = ['lock', false] }"), ('"go"]', '"go", "lock"]')),
        (_lock("{ equal = ['mode', 'plain'] }"), ('"go"]', '"go", "lock"]')),
    ),
    Case(
        "empty-list",
        ((_LOCK + ' "back"]', 'entries = [{ target = "lock", shown_if = { less = ["level", 9] } }]'),),
        ((_LOCK + ' "back"]', 'entries = [{ target = "lock", shown_if = { less = ["level", 9] } }, "back"]'),),
    ),
    Case(
        "trapped",
        (*_STAY, (_LOCK + ' "back"]', 'entries = ["lock"]'), ('"go"]', '"go", "back"]')),
        (*_STAY, ('"go"]', '"go", "back"]')),
    ),
    Case("unsettable", _HELD, _HELD[:2]),
    _entry_case("condition-always", "{ less = ['level', 21] }", "{ less = ['level', 20] }"),
    Case("lamp-never", (_lamp("{ less = ['level', 0] }"),), (_lamp("{ less = ['level', 1] }"),)),
    Case("lamp-always", (_lamp("{ at_least = ['level', 0] }"),), (_lamp("{ at_least = ['level', 1] }"),)),
    Case("not-decided", _many(33), _many(10)),
    Case(
        "hazard-live",
        (_hazard("settings.level", 'applies = "live"', 'confirm = "ask"'), ('turn = "level"\n', "")),
        (_hazard("settings.level", 'confirm = "ask"'), ('turn = "level"\n', "")),
    ),
    Case("hazard-unconfirmed", (_hazard("actions.go"),), (_hazard("actions.go", 'confirm = "hold"'),)),
    Case("hazard-unconfirmed", (_hazard("settings.lock"),), (_hazard("settings.lock", 'confirm = "ask"'),)),
    Case(
        "hazard-on-idle",
        (_hazard("settings.mode", 'confirm = "ask"', 'on_idle = "commit"'),),
        (_hazard("settings.mode", 'confirm = "ask"', 'on_idle = "revert"'),),
    ),
    Case(
        "hazard-stays-open",
        (_hazard("actions.go", 'confirm = "ask"'), ("after_ms = 30000", "after_ms = 0")),
        (_hazard("actions.go", 'confirm = "ask"'),),
    ),
    Case(
        "hidden-caution",
        (_hazard("actions.go", 'confirm = "ask"'), ("rows = 4", "rows = 2")),
        (_hazard("actions.go", 'confirm = "ask"'),),
    ),
    Case(
        "cut-text", (('label = "More"', 'label = "A label of more"'),), (('label = "More"', 'label = "Label of more"'),)
    ),
    Case("same-when-cut", _shorts("Kind", "Kind"), _shorts("Kind", "Type")),
    Case("untranslated", (*_german("Ebene {level}"), ('"Mode" = "Art"\n', "")), _german("Ebene {level}")),
    Case("missing-character", (('label = "More"', 'label = "М"'),), (('label = "More"', 'label = "µ"'),)),
    Case("segment-letters", (*_SEGMENTS, ('label = "LoC"', 'label = "LocK"')), _SEGMENTS),
    Case("short-timeout", (("after_ms = 30000", "after_ms = 19999"),), (("after_ms = 30000", "after_ms = 20000"),)),
    Case("unannounced", _long_press("lock"), _long_press("level")),
    Case(
        "unannounced",
        (*_long_press("lock"), ("Level {level}", "Locked {level}")),
        (*_long_press("lock"), ("Level {level}", "Lock {level}")),
    ),
    Case("double-press-delay", (_double(250),), (_double(250), _doubled())),
    Case("double-press-delay", (_double(301), _doubled()), (_double(300), _doubled())),
    Case("direction", (("[knob]", '[knob]\nclockwise = "down"'),), (("[knob]", '[knob]\nclockwise = "up"'),)),
    Case("many-detents", (("high = 20", "high = 121"),), (("high = 20", "high = 120"),)),
    Case(
        "unconfirmed-reset",
        (("[actions.go]", '[actions.go]\nresets = ["level"]'),),
        (("[actions.go]", '[actions.go]\nresets = ["level"]\nconfirm = "ask"'),),
    ),
    Case("never-begins", _lives(when="less = ['level', 0]"), _lives(when="less = ['level', 1]")),
    Case("never-begins", _lives(when="equal = ['probe', 2]"), _lives(when="equal = ['probe', 1]")),
    Case(
        "never-begins",
        _lives(cases="{ when = { not = { at_least = ['left', 0] } }, value = 1 }"),
        _lives(cases="{ when = { not = { at_least = ['left', 3] } }, value = 1 }"),
    ),
    Case("never-settles", _lives(_PROBE_OF_LIT, _LIT_OF_PROBE), _lives(_PROBE_OF_LIT)),
    Case("unread-report", _lives(entries='"probe", "left"'), _lives(entries='"probe", "lit", "left"')),
    Case("unread-report", _lives(entries='"left"'), _lives(_PROBE_OF_LIT, entries='"probe"')),
    Case(
        "unused-acceptance",
        (_accepted("idle"),),
        (_accepted("idle.after_ms"), ("after_ms = 30000", "after_ms = 15000")),
    ),
]


def edited(edits: tuple[tuple[str, str], ...]) -> Design:
    text = SOUND
    for old, new in edits:
        assert old in text, f"{old!r} is not in the sound design"
        text = text.replace(old, new, 1)
    return loads(text)


def rules_found(design: Design) -> set[str]:
    return {finding.rule for finding in check_design(design).findings if not finding.accepted}


def test_the_sound_design_has_no_finding() -> None:
    assert check_design(loads(SOUND)).findings == ()


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rule)
def test_a_design_triggers_exactly_this_finding_and_its_trace_shows_it(case: Case) -> None:
    design = edited(case.edits)
    findings = check_design(design).findings

    assert {finding.rule for finding in findings} == {case.rule}
    for finding in findings:
        assert finding.trace or finding.rule in SHOWS_NOTHING
        assert_shows(design, finding)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rule)
def test_the_nearest_design_does_not_trigger_it(case: Case) -> None:
    assert rules_found(edited(case.near)) == set()


def test_every_kind_of_finding_has_a_case() -> None:
    assert {case.rule for case in CASES} == set(RULES)


_ACTION_GONE = (*_lives(), ("[actions.go]", '[actions.halt]\nlabel = "Halt"\n\n[actions.go]'))


def test_behaviours_that_only_an_action_out_of_reach_starts_never_begin() -> None:
    places = {"simulation.probe.cases[0].action", "simulation.left.started_by"}
    gone = edited((*_ACTION_GONE, ("{ action = 'go', value = 1 }", "{ action = 'halt', value = 1 }"),
                   ('started_by = ["go"]', 'started_by = ["halt"]')))  # fmt: skip
    near = edited((*_ACTION_GONE, ('started_by = ["go"]', 'started_by = ["halt", "go"]')))

    assert {item.place for item in check_design(gone).findings if item.rule == "never-begins"} == places
    assert rules_found(near) == {"no-way"}


def test_a_key_of_the_moderator_can_begin_a_behaviour() -> None:
    key = '[[simulation_keys]]\nkey = "f2"\nlabel = "Two"\nreadout = "probe"\nvalues = [2]\n\n[readouts.lit]'
    edits = _lives(when="equal = ['probe', 2]")

    assert rules_found(edited((*edits, ("[readouts.lit]", key)))) == set()


def test_a_finding_of_the_surroundings_has_its_line() -> None:
    text = SOUND
    for old, new in _lives(when="less = ['level', 0]"):
        text = text.replace(old, new, 1)
    (finding,) = check_design(loads(text)).findings
    line = make_line_finder(text.encode(), "box.toml")(finding.place)

    assert text.splitlines()[line - 1] == "when = { less = ['level', 0] }"
