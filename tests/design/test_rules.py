"""Each rule between the parts of a design refuses what breaks it, at its place, and accepts its nearest neighbour."""

from __future__ import annotations

from typing import Any as Anything
from typing import NamedTuple

import attrs
import pytest

from knobmenu.design.conditions import Any, AtLeast, Condition, Equal, Less, Not, Unequal
from knobmenu.design.fields import INT32_HIGH
from knobmenu.design.hardware import CharacterDisplay, Knob, Lamp, SegmentDisplay
from knobmenu.design.home import Home, Row, Translation
from knobmenu.design.menu import Action, Entry, Menu, Readout
from knobmenu.design.rules import find_condition_problems
from knobmenu.design.settings import Choice, Clock, Digits, Number, Option, Scale, Switch, TextSetting
from knobmenu.design.whole import Design
from knobmenu.errors import MOST_LISTED, DesignError

MODES = (Option(key="auto", label="Auto"), Option(key="manual", label="Manual"))

SETTINGS = (
    Number(key="heat", label="Heat", low=0, high=100, initial=20),
    Switch(key="power", label="Power"),
    Choice(key="mode", label="Mode", options=MODES),
    TextSetting(key="owner", label="Owner"),
    Clock(key="wake", label="Wake"),
    Digits(key="band", label="Band", low=0, high=9999, initial=0),
    Scale(key="speed", label="Speed", values=(1, 2, 5), initial=1),
)

KILN = Design(
    name="Kiln",
    knob=Knob(double_press_ms=250, turns_while_held=True),
    settings=SETTINGS,
    menus=[Menu(key="main", label="Main", entries=["heat"])],
    actions=[Action(key="go", label="Go")],
    readouts=[Readout(key="inside", label="Inside", low=-20, high=1300)],
    home=Home(press="main"),
)


class Case(NamedTuple):
    """What a rule refuses, and its nearest neighbour."""

    path: str
    """Where the rule finds the problem."""
    words: str
    """What it says of it."""
    refused: dict[str, Anything]
    """The fields of the kiln in place of which it is refused."""
    accepted: dict[str, Anything]
    """Those with which it is not."""

    def __str__(self) -> str:
        return f"{self.path}-{self.words}"


def _lamp(key: str, condition: Condition | None = None) -> Lamp:
    return Lamp(key=key, label="Lamp", lit_if=condition or Equal("power", True))


def _menu(key: str, *entries: Anything) -> Menu:
    return Menu(key=key, label="Menu", entries=entries)


def _home(**fields: Anything) -> dict[str, Anything]:
    return {"home": Home(**{"press": "main", **fields})}


def _condition(condition: Condition) -> dict[str, Anything]:
    return {"lamps": [_lamp("hot", condition)]}


def _spoken(language: str, *languages: str, **fields: Anything) -> dict[str, Anything]:
    return {"language": language, "languages": languages, **fields}


def _translated(*translations: tuple[str, dict[str, str]]) -> dict[str, Anything]:
    parts = [Translation(language=language, texts=texts.items()) for language, texts in translations]
    return _spoken("mode", "auto", "manual", translations=parts)


KEYS = [
    Case(
        "actions.home",
        "other than",
        {"actions": [Action(key="home", label="H")]},
        {"actions": [Action(key="house", label="H")]},
    ),
    Case("menus.back", "other than", {"menus": [*KILN.menus, _menu("back", "heat")]}, {"menus": [*KILN.menus]}),
    Case(
        "readouts.heat",
        "which settings.heat has too",
        {"readouts": [Readout(key="heat", label="R")]},
        {"readouts": [Readout(key="heats", label="R")]},
    ),
    Case(
        "lamps.hot",
        "for each lamp",
        {"lamps": [_lamp("hot"), _lamp("hot")]},
        {"lamps": [_lamp("hot"), _lamp("heat"), _lamp("main")]},
    ),
]

MENUS = [
    Case(
        "menus.main.entries[1].target",
        'unknown key "haet". Did you mean "heat"',
        {"menus": [_menu("main", "heat", "haet")]},
        {"menus": [_menu("main", "heat", "back", "go", "inside", "heat")]},
    ),
    Case(
        "menus.main.entries[1].target",
        "the cycle main > main",
        {"menus": [_menu("main", "heat", "main")]},
        {"menus": [_menu("main", "heat", "other"), _menu("other", "heat")]},
    ),
    Case(
        "menus.inner.entries[0].target",
        "the cycle outer > inner > outer",
        {"menus": [_menu("main", "outer"), _menu("outer", "inner"), _menu("inner", "outer")]},
        # Two ways to one menu are not a cycle.
        {"menus": [_menu("main", "outer", "inner"), _menu("outer", "inner"), _menu("inner", "heat")]},
    ),
]

CONDITIONS = [
    Case("lamps.hot.lit_if", 'unknown key "haet"', _condition(Equal("haet", 1)), _condition(Equal("heat", 1))),
    Case("lamps.hot.lit_if", "a setting other than a text", _condition(Equal("owner", "A")), {}),
    Case(
        "lamps.hot.lit_if",
        "got an order comparison of the choice",
        _condition(Less("mode", "auto")),
        _condition(Unequal("mode", "auto")),
    ),
    Case(
        "lamps.hot.lit_if",
        "got an order comparison of the choice",
        _condition(AtLeast("mode", "manual")),
        _condition(Equal("mode", "manual")),
    ),
    Case(
        "lamps.hot.lit_if", 'an option of "mode"', _condition(Equal("mode", "atuo")), _condition(Equal("mode", "auto"))
    ),
    Case("lamps.hot.lit_if", 'an option of "mode"', _condition(Equal("mode", 1)), {}),
    Case(
        "lamps.hot.lit_if",
        "got an order comparison of the switch",
        _condition(Less("power", True)),
        _condition(Unequal("power", True)),
    ),
    Case("lamps.hot.lit_if", "true or false", _condition(Equal("power", 1)), _condition(Equal("power", False))),
    *[
        Case(
            "lamps.hot.lit_if", f'since "{key}" is a number', _condition(Less(key, value)), _condition(AtLeast(key, 1))
        )
        for key in ("heat", "wake", "band", "speed")
        for value in (True, "auto")
    ],
    *[
        Case("lamps.hot.lit_if", "is a readout", _condition(Equal("inside", value)), _condition(Less("inside", 9999)))
        for value in (True, "auto")
    ],
    Case(
        "lamps.hot.lit_if.any[1].not",
        'unknown key "haet"',
        _condition(Any([Equal("heat", 1), Not(Equal("haet", 1))])),
        _condition(Any([Equal("heat", 1), Not(Equal("heat", 2))])),
    ),
    Case(
        "menus.main.entries[1].shown_if",
        "unknown key",
        {"menus": [_menu("main", "heat", Entry("go", shown_if=Equal("haet", 1)))]},
        {"menus": [_menu("main", "heat", Entry("go", shown_if=Equal("heat", 1)))]},
    ),
    Case(
        "menus.main.entries[1].enabled_if",
        "unknown key",
        {"menus": [_menu("main", "heat", Entry("go", enabled_if=Equal("haet", 1)))]},
        {"menus": [_menu("main", "heat", Entry("go", enabled_if=Equal("heat", 1)))]},
    ),
]

HOME = [
    Case("home.turn", "expected a number, scale", _home(turn="wake"), _home(turn="band")),
    Case("home.turn", "expected a number, scale", _home(turn="main"), _home(turn="speed")),
    Case("home.held_turn", "expected a number, scale", _home(held_turn="owner"), _home(held_turn="power")),
    Case("home.press", "which is a readout", _home(press="inside"), _home(press="owner")),
    Case("home.long_press", "which is a readout", _home(long_press="inside"), _home(long_press="go")),
    Case("home.double_press", 'unknown key "mian"', _home(double_press="mian"), _home(double_press="main")),
    Case(
        "home.double_press",
        "while knob.double_press_ms is 0",
        {**_home(double_press="main"), "knob": Knob(turns_while_held=True)},
        {**_home(double_press="main"), "knob": Knob(double_press_ms=1)},
    ),
    Case(
        "home.held_turn",
        "while knob.turns_while_held is false",
        {**_home(held_turn="heat"), "knob": Knob(double_press_ms=250)},
        {**_home(held_turn="heat"), "knob": Knob(turns_while_held=True)},
    ),
    Case("home.rows", "at most 2", _home(rows=["a", "b", "c"]), _home(rows=["a", "b"])),
    Case("home.rows[1].left", 'unknown key "haet"', _home(rows=["a", "{haet}"]), _home(rows=["a", "{heat}{inside}"])),
    Case(
        "home.rows[0].right", "unknown key", _home(rows=[Row("", right="{main}")]), _home(rows=[Row(right="{owner}")])
    ),
    Case("home.rows[0].left", "braces only", _home(rows=["{heat} }"]), _home(rows=["{heat} {heat}"])),
    Case("home.rows[0].left", "braces only", _home(rows=["{ {heat}"]), {}),
    Case("home.rows[0].bar", "a number or a scale", _home(rows=[Row(bar="mode")]), _home(rows=[Row(bar="speed")])),
    Case(
        "home.rows[0].bar",
        "seven segments draw no bar",
        {**_home(rows=[Row(bar="heat")]), "display": SegmentDisplay()},
        {**_home(rows=[Row(bar="heat")]), "display": CharacterDisplay(rows=1)},
    ),
]

LANGUAGES = [
    Case("languages[2]", "each language once", _spoken("", "auto", "manual", "auto"), {}),
    Case("language", "a choice", _spoken("power", "auto", "manual"), _spoken("mode", "auto", "manual")),
    Case("settings.mode.options", "the languages in order", _spoken("mode", "manual", "auto"), {}),
    Case("language", "got nothing", _spoken("", "auto", "manual"), _spoken("", "auto")),
    Case("translations.french", "undeclared", _translated(("french", {})), _translated(("manual", {}))),
    Case(
        "translations.manual",
        "got the language again",
        _translated(("manual", {}), ("manual", {})),
        _translated(("manual", {}), ("auto", {})),
    ),
    Case(
        'translations.manual."Haet"',
        'Did you mean "Heat"',
        _translated(("manual", {"Haet": "Hitze"})),
        _translated(("manual", {"Heat": "Hitze"})),
    ),
    Case(
        'translations.manual."{heat} in {inside}"',
        "the same {keys}",
        {**_translated(("manual", {"{heat} in {inside}": "{heat} in"})), **_home(rows=["{heat} in {inside}"])},
        {**_translated(("manual", {"{heat} in {inside}": "{inside} {heat}"})), **_home(rows=["{heat} in {inside}"])},
    ),
]


def _on_segments(setting: Anything, digits: int = 4) -> dict[str, Anything]:
    """Leave out what is wider than four digits, and put a setting there."""
    return {"display": SegmentDisplay(digits=digits), "settings": [setting, *SETTINGS[:4]]}


WIDTHS = [
    Case(
        "settings.tune",
        "at most 4, as the display has",
        _on_segments(Digits(key="tune", label="T", low=0, high=10_000, initial=0)),
        _on_segments(Digits(key="tune", label="T", low=0, high=9999, initial=0)),
    ),
    Case(
        "settings.tune",
        "got 6 digits",
        _on_segments(Clock(key="tune", label="T", fields="hours-minutes-seconds"), 5),
        _on_segments(Clock(key="tune", label="T", fields="hours-minutes-seconds"), 6),
    ),
]


def _with_rate(**fields: Anything) -> dict[str, Anything]:
    """Add a scale with these fields."""
    return {"settings": [*SETTINGS, Scale(**{"key": "rate", "label": "R", "values": (1, 2, 5, 9), **fields})]}


def _with_number(**fields: Anything) -> dict[str, Anything]:
    """Add a number with these fields."""
    return {"settings": [*SETTINGS, Number(**{"key": "number", "label": "N", **fields})]}


def _with_tens(named: int) -> dict[str, Anything]:
    """Add a number from 10 to 90 in tens, one of whose values has a name."""
    return _with_number(low=10, high=90, initial=10, step=10, names=((named, "Name"),))


LIMITS = [
    Case(
        "settings.number.high",
        f"at most {INT32_HIGH} above low",
        _with_number(low=-1, high=INT32_HIGH, initial=0),
        _with_number(low=-1, high=INT32_HIGH - 1, initial=0),
    ),
    Case("settings.rate.low", "values; 2 is one", _with_rate(low=3, initial=5), _with_rate(low=5, initial=5)),
    Case("settings.rate.high", "values; 2 is one", _with_rate(high=3, initial=1), _with_rate(high=5, initial=5)),
    Case("settings.number.names", "steps of the setting", _with_tens(0), _with_tens(10)),
    Case("settings.number.names", "steps of the setting", _with_tens(100), _with_tens(90)),
    Case("settings.number.names", "steps of the setting", _with_tens(15), _with_tens(20)),
    Case(
        "settings.rate.names",
        "steps of the setting",
        _with_rate(initial=1, names=((3, "Name"),)),
        _with_rate(initial=1, names=((9, "Name"),)),
    ),
]

ALL = [*KEYS, *MENUS, *CONDITIONS, *HOME, *LANGUAGES, *WIDTHS, *LIMITS]


@pytest.mark.parametrize("case", ALL, ids=str)
def test_a_rule_refuses_what_breaks_it_at_its_place_and_accepts_its_neighbour(case: Case) -> None:
    assert attrs.evolve(KILN, **case.accepted)

    with pytest.raises(DesignError) as refused:
        attrs.evolve(KILN, **case.refused)
    at_place = [str(problem) for problem in refused.value.problems if problem.path == case.path]
    assert any(case.words in problem for problem in at_place), refused.value


@pytest.mark.parametrize("members", [11, 12, 40])
def test_a_cycle_of_more_than_eleven_menus_is_named_by_its_first_and_its_last(members: int) -> None:
    keys = [f"m{number}" for number in range(members)]
    menus = [_menu(key, following) for key, following in zip(keys, [*keys[1:], keys[0]], strict=True)]

    with pytest.raises(DesignError) as refused:
        attrs.evolve(KILN, menus=menus, home=Home(press="m0"))

    (problem,) = refused.value.problems
    cycle = problem.got.removeprefix("the cycle ").split(" > ")
    assert (cycle[0], cycle[-2:]) == ("m0", [keys[-1], "m0"])
    assert ("…" in cycle) is (members > 11)
    assert len(cycle) == min(members + 1, 13)
    assert problem.path == f"menus.{keys[-1]}.entries[0].target"


def test_the_nearest_key_is_advised_for_the_unknown_ones_that_are_listed() -> None:
    """Looking for it takes time, and of more problems than that the number alone is stated."""
    entries = ["haet"] * (MOST_LISTED + 5)
    conditional = [Entry("heat", shown_if=Equal("haet", 1)) for _ in entries]

    for menu in (_menu("main", *entries), _menu("main", *conditional)):
        with pytest.raises(DesignError) as refused:
            attrs.evolve(KILN, menus=[menu])
        advised = [bool(problem.advice) for problem in refused.value.problems]
        assert advised == [True] * MOST_LISTED + [False] * 5


def test_a_condition_outside_of_a_design_is_judged_as_one_inside_of_it() -> None:
    for case in CONDITIONS:
        if "lamps" in case.refused:
            (problem,) = find_condition_problems(KILN, case.refused["lamps"][0].lit_if, "lamps.hot.lit_if")
            assert problem.path == case.path
            assert case.words in str(problem)
    assert not list(find_condition_problems(KILN, Less("inside", 0), "when"))
