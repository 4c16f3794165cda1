"""Designs small enough to try everything: few values, and every rule that decides what can be reached."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from knobmenu.design.conditions import All, AtLeast, Condition, Equal, Less, Not, Unequal
from knobmenu.design.conditions import Any as AnyOf
from knobmenu.design.hardware import CharacterDisplay, Knob
from knobmenu.design.home import Gestures, Home, Idle
from knobmenu.design.kinds import Setting
from knobmenu.design.menu import Action, Entry, Menu, Readout
from knobmenu.design.settings import Choice, Number, Option, Scale, Switch
from knobmenu.design.whole import Design
from tests.analysis.brute_force import Graph, explore

_among = st.sampled_from


@st.composite
def _common(draw: st.DrawFn) -> dict[str, Any]:
    return {
        "applies": draw(_among(("on-commit", "live"))),
        "on_long_press": draw(_among(("revert", "commit", "nothing"))),
        "on_idle": draw(_among(("revert", "commit"))),
        "confirm": draw(_among(("none", "none", "ask", "hold"))),
        "saved": draw(st.booleans()),
    }


@st.composite
def _single(draw: st.DrawFn, key: str) -> Setting:
    common: dict[str, Any] = {"key": key, "label": key, **draw(_common())}
    match draw(_among(("switch", "choice", "number", "scale"))):
        case "switch":
            return Switch(initial=draw(st.booleans()), **common)
        case "choice":
            options = [Option(key=f"o{place}", label=str(place)) for place in range(draw(st.integers(2, 4)))]
            return Choice(options=options, ends=draw(_among(("stop", "wrap"))), **common)
        case "number":
            step, count = draw(_among((1, 2))), draw(st.integers(1, 3))
            initial = step * draw(st.integers(0, count))
            return Number(
                low=0, high=step * count, step=step, initial=initial, ends=draw(_among(("stop", "wrap"))), **common
            )
        case _:
            values = sorted(draw(st.sets(st.integers(-2, 6), min_size=2, max_size=4)))
            return Scale(values=values, initial=draw(_among(values)), ends=draw(_among(("stop", "wrap"))), **common)


@st.composite
def _pair(draw: st.DrawFn, lower: str, upper: str) -> tuple[Setting, Setting]:
    """Two settings of which the first is never above the second, on grids that need not meet."""
    declared = draw(_among(("lower", "upper", "both")))
    below, above = draw(_among((1, 2))), draw(_among((1, 2, 3)))
    count = draw(st.integers(1, 3))
    start = below * draw(st.integers(0, count))
    top = above * max(-(-below * count // above), 1)
    first = -(-start // above)
    begin = above * draw(st.integers(first, top // above))
    return (
        Number(
            key=lower,
            label=lower,
            low=0,
            high=upper if declared != "upper" else below * count,
            step=below,
            initial=start,
            ends=draw(_among(("stop", "wrap"))),
            **draw(_common()),
        ),
        Number(
            key=upper,
            label=upper,
            low=lower if declared != "lower" else 0,
            high=top,
            step=above,
            initial=begin,
            ends=draw(_among(("stop", "wrap"))),
            **draw(_common()),
        ),
    )


@st.composite
def _condition(draw: st.DrawFn, over: list[Setting | Readout], deep: int = 2) -> Condition:
    joined = draw(_among(("compare", "compare", "compare", "not", "all", "any"))) if deep else "compare"
    if joined == "not":
        return Not(draw(_condition(over, deep - 1)))
    if joined != "compare":
        parts = draw(st.lists(_condition(over, deep - 1), min_size=1, max_size=2))
        return All(parts) if joined == "all" else AnyOf(parts)
    part = draw(_among(over))
    same: type[Equal | Unequal] = Equal if draw(st.booleans()) else Unequal
    if isinstance(part, Switch):
        return same(part.key, draw(st.booleans()))
    if isinstance(part, Choice):
        return same(part.key, draw(_among(part.options)).key)
    ordered: type[Less | AtLeast | Equal | Unequal] = draw(_among((Less, AtLeast, same)))
    return ordered(part.key, draw(st.integers(-1, 5)))


@st.composite
def small_designs(draw: st.DrawFn) -> Design:
    """A design of one to three settings with at most four values each, and every gesture rule."""
    if draw(st.booleans()):
        parts = list(draw(_pair("lower", "upper")))
        parts += [draw(_single("third"))] if draw(st.booleans()) else []
    else:
        parts = [draw(_single(f"s{number}")) for number in range(draw(st.integers(1, 3)))]
    readouts = (
        [Readout(key="probe", label="probe", low=0, high=draw(st.integers(0, 2)))]
        if draw(_among(range(3))) == 0
        else []
    )
    actions = [
        Action(
            key="act",
            label="act",
            confirm=draw(_among(("none", "ask", "hold"))),
            then=draw(_among(("stay", "back", "home"))),
        )
    ]
    over: list[Setting | Readout] = [*parts, *readouts]
    keys = ["m0", "m1", "m2"][: draw(st.integers(1, 3))]
    inside: list[list[str]] = [[] for _ in keys]
    for number, key in enumerate(keys[1:], 1):
        inside[draw(st.integers(0, number - 1))].append(key)
    for leaf in [*(part.key for part in parts), *(["act"] if draw(st.booleans()) else [])]:
        if draw(_among(range(6))):
            inside[draw(st.integers(0, len(keys) - 1))].append(leaf)
    menus = []
    for key, targets in zip(keys, inside, strict=True):
        targets += ["back"] if draw(st.booleans()) or not targets else []
        entries = [
            Entry(
                target,
                shown_if=draw(_condition(over)) if draw(_among(range(2))) else None,
                enabled_if=draw(_condition(over)) if draw(_among(range(4))) == 0 else None,
            )
            for target in targets
        ]
        menus.append(
            Menu(
                key=key,
                label=key,
                entries=entries,
                ends=draw(_among(("stop", "wrap"))),
                reopens=draw(_among(("first", "last-used"))),
            )
        )
    knob = Knob(double_press_ms=draw(_among((0, 250))), turns_while_held=draw(st.booleans()))
    pressed = _among(("", *keys, *(part.key for part in parts), "act"))
    turned = _among(("", "", *(part.key for part in parts)))
    return Design(
        name="small",
        display=CharacterDisplay(),
        knob=knob,
        settings=parts,
        menus=menus,
        actions=actions,
        readouts=readouts,
        home=Home(
            press=draw(_among(keys)),
            turn=draw(turned),
            long_press=draw(pressed),
            double_press=draw(pressed) if knob.double_press_ms else "",
            held_turn=draw(turned) if knob.turns_while_held else "",
        ),
        idle=Idle(after_ms=draw(_among((0, 0, 30_000))), to=draw(_among(("home", "parent")))),
        gestures=Gestures(
            long_press=draw(_among(("nothing", "nothing", "back", "home"))),
            double_press=draw(_among(("nothing", "nothing", "back", "home"))),
        ),
    )


@st.composite
def chained_designs(draw: st.DrawFn) -> Design:
    """A design of three or four numbers whose limits form a chain or a diamond, on grids that need not meet."""
    keys = ("a", "b", "c", "d")[: draw(st.integers(3, 4))]
    # For each setting, what it declares as its low and as its high limit: a is at most every other one.
    shape = draw(_among(("chain from below", "chain from above", "chain from both", "diamond")))
    low: dict[str, str] = {}
    high: dict[str, str] = {}
    if shape == "diamond" and len(keys) == 4:
        low, high = {"b": "a", "c": "a", "d": "c"}, {"b": "d"}
    else:
        for lower, upper in pairwise(keys):
            declared = {"chain from below": "low", "chain from above": "high"}.get(shape) or draw(
                _among(("low", "high"))
            )
            if declared == "low":
                low[upper] = lower
            else:
                high[lower] = upper
    numbers = []
    for key in keys:
        step = draw(_among((1, 2, 3)))
        numbers.append(
            Number(
                key=key,
                label=key,
                low=low.get(key, 0),
                high=high.get(key, 6),
                step=step,
                initial=0,
                applies=draw(_among(("on-commit", "live"))),
                on_long_press=draw(_among(("revert", "commit"))),
                ends=draw(_among(("stop", "wrap"))),
                saved=False,
            )
        )
    over: list[Setting | Readout] = list(numbers)
    entries = [Entry(key, shown_if=draw(_condition(over, 1)) if draw(st.booleans()) else None) for key in keys]
    return Design(
        name="chained",
        settings=numbers,
        menus=[Menu(key="list", label="list", entries=[*entries, "back"])],
        home=Home(press="list", turn=draw(_among(("", *keys)))),
        idle=Idle(after_ms=0),
    )


@st.composite
def explored_designs(draw: st.DrawFn) -> tuple[Design, Graph]:
    """A small design of which brute force finds every state, and these states."""
    design = draw(small_designs())
    graph = explore(design)
    assume(graph is not None)
    assert graph is not None
    return design, graph
