"""The least way to keep a value equals a search over `advance` in the open editor."""

from __future__ import annotations

import random
from collections.abc import Callable
from heapq import heappop, heappush
from typing import Literal

import pytest

from knobmenu.analysis.cost.editors import find_least_commit
from knobmenu.analysis.cost.gestures import HOLD, PRESS, Gesture, Way, perform, perform_all
from knobmenu.analysis.cost.weights import Weights
from knobmenu.design.hardware import Knob
from knobmenu.design.home import Home
from knobmenu.design.kinds import Setting
from knobmenu.design.settings import Choice, Clock, Digits, Number, Option, Scale, TextSetting
from knobmenu.design.whole import Design
from knobmenu.machine.effects import Committed
from knobmenu.machine.state import Editing, State, make_initial_state
from knobmenu.machine.values import Value
from tests.sampling import sampled

WEIGHTS = Weights(turn=10**9 + 240, held=10**9 + 520, press=10**9 + 280, hold=10**9 + 500, double=10**9, wait=10**18)

OnLongPress = Literal["revert", "commit", "nothing"]
Make = Callable[[random.Random, OnLongPress], Setting]


def digits(chance: random.Random, on_long_press: OnLongPress) -> Setting:
    low = chance.randint(0, 300)
    high = low + chance.randint(1, chance.choice((9, 30, 400)))
    start = chance.randint(low, high)
    return Digits(key="s", label="S", low=low, high=high, initial=start, on_long_press=on_long_press)


def clocks(chance: random.Random, on_long_press: OnLongPress) -> Setting:
    most = chance.randint(1, 3)
    return Clock(key="s", label="S", most=most, initial=chance.randint(0, 100), on_long_press=on_long_press)


def texts(chance: random.Random, on_long_press: OnLongPress) -> Setting:
    characters = "ABCDEFGHIJKLM"[: chance.randint(2, 13)]
    longest = chance.randint(1, 2)
    return TextSetting(
        key="s",
        label="S",
        characters=characters,
        longest=longest,
        initial="".join(chance.choices(characters, k=chance.randint(0, longest))),
        after_each=chance.choice(("stay", "first")),
        on_long_press=on_long_press,
    )


def numbers(chance: random.Random, on_long_press: OnLongPress) -> Setting:
    step, count, low = chance.choice((1, 2, 5)), chance.randint(1, 60), chance.randint(-5, 5)
    return Number(
        key="s",
        label="S",
        low=low,
        high=low + count * step,
        step=step,
        initial=low + chance.randint(0, count) * step,
        ends=chance.choice(("stop", "wrap")),
        on_long_press=on_long_press,
    )


def scales(chance: random.Random, on_long_press: OnLongPress) -> Setting:
    values = tuple(sorted(chance.sample(range(500), chance.randint(2, 40))))
    return Scale(key="s", label="S", values=values, initial=chance.choice(values), on_long_press=on_long_press)


def choices(chance: random.Random, on_long_press: OnLongPress) -> Setting:
    options = tuple(Option(key=f"o{n}", label="O") for n in range(chance.randint(2, 9)))
    return Choice(
        key="s", label="S", options=options, ends=chance.choice(("stop", "wrap")), on_long_press=on_long_press
    )


def searched(design: Design, opened: State) -> dict[Value, int]:
    """Find the least weight at which each value can be kept."""
    gestures = [Gesture("turn", 1), Gesture("turn", -1), PRESS, HOLD]
    if design.knob.turns_while_held:
        gestures += [Gesture("held", 1), Gesture("held", -1)]
    best, kept = {opened.focus: 0}, dict[Value, int]()
    heap, tick = [(0, 0, opened)], 0
    while heap:
        weight, _, state = heappop(heap)
        if weight > best[state.focus]:
            continue
        for gesture in gestures:
            after, effects = perform(design, state, gesture)
            total = weight + WEIGHTS.weigh(gesture)
            for effect in effects:
                if isinstance(effect, Committed):
                    kept[effect.value] = min(kept.get(effect.value, total), total)
            if isinstance(after.focus, Editing) and total < best.get(after.focus, total + 1):
                best[after.focus] = total
                tick += 1
                heappush(heap, (total, tick, after))
    return kept


def _least(design: Design, opened: State, value: Value) -> Way | None:
    assert isinstance(opened.focus, Editing)
    return find_least_commit(design, opened, opened.focus, value, WEIGHTS)


@pytest.mark.parametrize("make", [numbers, scales, choices, digits, clocks, texts])
def test_keeping_a_value_weighs_what_a_search_finds(make: Make) -> None:
    chance = random.Random(3)
    for _ in range(sampled(100, 8)):
        on_long_press: OnLongPress = chance.choice(("revert", "commit", "nothing"))
        setting = make(chance, on_long_press)
        design = Design(
            name="One", settings=[setting], home=Home(press="s"), knob=Knob(turns_while_held=chance.random() < 0.5)
        )
        opened, _ = perform(design, make_initial_state(design), PRESS)
        for value, weight in searched(design, opened).items():
            way = _least(design, opened, value)
            assert way is not None, (setting, value)
            assert WEIGHTS.weigh_way(way) == weight, (setting, value)
            _, effects = perform_all(design, opened, way)
            assert Committed("s", value) in effects, (setting, value)


def test_a_value_beyond_a_limit_cannot_be_kept() -> None:
    settings = [
        Number(key="s", label="S", low=0, high="t", initial=2),
        Number(key="t", label="T", low=0, high=9, initial=4),
    ]
    design = Design(name="Two", settings=settings, home=Home(press="s"))
    opened, _ = perform(design, make_initial_state(design), PRESS)

    assert _least(design, opened, 4) is not None
    assert _least(design, opened, 5) is None
