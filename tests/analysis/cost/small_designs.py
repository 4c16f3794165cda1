"""Small designs of every kind, from a seed: few values each, so that all of their states can be walked through."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any, Literal

from knobmenu.design.conditions import All, AtLeast, Condition, Equal, Less, Not, Unequal
from knobmenu.design.conditions import Any as AnyOf
from knobmenu.design.hardware import CharacterDisplay, Knob
from knobmenu.design.home import Gestures, Home, Idle
from knobmenu.design.kinds import Setting
from knobmenu.design.menu import BACK, Action, Entry, Menu, Readout
from knobmenu.design.settings import Choice, Clock, Digits, Number, Option, Scale, Switch, TextSetting
from knobmenu.design.whole import Design


def small_design(seed: int, *, most_settings: int = 4) -> Design:
    """Make a design of up to four settings in up to four menus."""
    chance = random.Random(seed)
    settings: list[Setting] = [_setting(chance, f"s{n}") for n in range(chance.randint(1, most_settings))]
    if chance.random() < 0.3:
        settings += _bound_pair(chance)
    readouts = [Readout(key="r0", label="R", initial=chance.randint(0, 1))] if chance.random() < 0.4 else []
    actions = [
        Action(key=f"a{n}", label="A", confirm=_confirm(chance), then=chance.choice(("stay", "back", "home")))
        for n in range(chance.randint(0, 2))
    ]
    menus = _menus(chance, [part.key for part in (*settings, *readouts, *actions)], [*settings, *readouts])
    knob = Knob(
        double_press_ms=chance.choice((0, 250)),
        turns_while_held=chance.random() < 0.4,
    )
    turnable = ["", *(part.key for part in settings if isinstance(part, Number | Scale | Choice | Switch | Digits))]
    pressable = ["", *(part.key for part in (*menus, *settings, *actions))]
    return Design(
        name="Small",
        display=CharacterDisplay(rows=chance.choice((1, 2, 4))),
        knob=knob,
        settings=settings,
        menus=menus,
        actions=actions,
        readouts=readouts,
        home=Home(
            press=menus[0].key if chance.random() < 0.8 else chance.choice(pressable[1:]),
            long_press=chance.choice(pressable),
            double_press=chance.choice(pressable) if knob.double_press_ms else "",
            turn=chance.choice(turnable),
            held_turn=chance.choice(turnable) if knob.turns_while_held else "",
        ),
        idle=Idle(after_ms=chance.choice((0, 30_000)), to=chance.choice(("home", "parent"))),
        gestures=Gestures(
            long_press=chance.choice(("back", "home", "nothing")),
            double_press=chance.choice(("back", "home", "nothing")),
        ),
    )


def _confirm(chance: random.Random) -> Literal["none", "ask", "hold"]:
    return chance.choice(("none", "none", "ask", "hold"))


def _setting(chance: random.Random, key: str) -> Setting:
    common: dict[str, Any] = {
        "key": key,
        "label": key.upper(),
        "applies": chance.choice(("live", "on-commit")),
        "on_long_press": chance.choice(("revert", "commit", "nothing")),
        "on_idle": chance.choice(("revert", "commit")),
        "confirm": _confirm(chance),
    }
    ends: Literal["stop", "wrap"] = chance.choice(("stop", "wrap"))
    match chance.randint(0, 7):
        case 0 | 1:
            low, step, count = chance.randint(-3, 3), chance.choice((1, 1, 5)), chance.randint(1, 5)
            initial = low + step * chance.randint(0, count)
            return Number(low=low, high=low + step * count, step=step, initial=initial, ends=ends, **common)
        case 2:
            values = tuple(sorted(chance.sample(range(30), chance.randint(2, 5))))
            return Scale(values=values, initial=chance.choice(values), ends=ends, **common)
        case 3:
            options = tuple(Option(key=f"o{n}", label="O") for n in range(chance.randint(2, 4)))
            return Choice(options=options, initial=chance.choice(options).key, ends=ends, **common)
        case 4 | 5:
            return Switch(initial=chance.random() < 0.5, **common)
        case 6 if chance.random() < 0.3:
            return TextSetting(characters="ab", longest=2, after_each=chance.choice(("stay", "first")), **common)
        case 6:
            return Digits(low=0, high=chance.randint(1, 12), initial=chance.randint(0, 1), **common)
        case _:
            clock = Clock(fields="hours-minutes", most=1, initial=chance.choice((0, 1, 60)), **common)
            return clock if chance.random() < 0.1 else Switch(**common)


def _bound_pair(chance: random.Random) -> list[Setting]:
    high, way = chance.randint(2, 4), chance.choice(("lower", "upper", "both"))
    live: Any = chance.choice(("live", "on-commit"))
    start = chance.randint(1, high)
    lower = Number(key="p0", label="P", low=0, high="p1" if way != "upper" else high, initial=start, applies=live)
    upper = Number(key="p1", label="P", low="p0" if way != "lower" else 0, high=high, initial=start, applies=live)
    return [lower, upper]


def _condition(chance: random.Random, over: Sequence[Setting | Readout], deep: int = 0) -> Condition | None:
    part = chance.choice(over)
    if deep < 2 and chance.random() < 0.25:
        inside = [_condition(chance, over, deep + 1) for _ in range(2)]
        of = tuple(condition for condition in inside if condition is not None)
        return chance.choice((All, AnyOf))(of) if of else None
    found: Condition
    match part:
        case TextSetting():
            return None
        case Switch():
            found = Equal(part.key, chance.random() < 0.5)
        case Choice():
            found = chance.choice((Equal, Unequal))(part.key, chance.choice(part.options).key)
        case Readout():
            found = chance.choice((Equal, Less))(part.key, chance.randint(0, 2))
        case Scale():
            found = chance.choice((Equal, Unequal, Less, AtLeast))(part.key, chance.choice(part.values))
        case Number():
            low = part.low if isinstance(part.low, int) else 0
            found = chance.choice((Equal, Unequal, Less, AtLeast))(part.key, low + chance.randint(0, 4))
        case _:
            found = chance.choice((Less, AtLeast))(part.key, chance.randint(1, 12))
    return Not(found) if chance.random() < 0.15 else found


def _menus(chance: random.Random, leaves: Sequence[str], over: Sequence[Setting | Readout]) -> list[Menu]:
    keys = [f"m{n}" for n in range(chance.randint(1, 3))]
    inside: list[list[str]] = [[] for _ in keys]
    for place, key in enumerate(keys[1:], 1):
        inside[chance.randint(0, place - 1)].append(key)
    for leaf in leaves:
        inside[chance.randint(0, len(keys) - 1)].append(leaf)
    menus = []
    for key, targets in zip(keys, inside, strict=True):
        if chance.random() < 0.5 or not targets:
            targets.insert(chance.randint(0, len(targets)), BACK)
        entries = [
            Entry(
                target,
                shown_if=_condition(chance, over) if chance.random() < 0.3 else None,
                enabled_if=_condition(chance, over) if chance.random() < 0.2 else None,
            )
            for target in targets
        ]
        ends: Literal["stop", "wrap"] = chance.choice(("stop", "wrap"))
        reopens: Literal["first", "last-used"] = chance.choice(("first", "last-used"))
        menus.append(Menu(key=key, label=key, entries=entries, ends=ends, reopens=reopens))
    return menus
