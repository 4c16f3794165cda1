"""A device built from the standard and the spec alone does and shows what the machine does, after every event.

The other device is tests/export/independent.py and independent_screen.py, which import nothing of the project.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.events import Event, HeldTurn, Report, Turn, Wait
from knobmenu.export.spec import write_spec
from knobmenu.files.disk import load
from knobmenu.machine.advance import advance, advance_all, identify_screen
from knobmenu.machine.effects import Effect
from knobmenu.machine.indicators import find_lit_lamps
from knobmenu.machine.memory import collect_saved_values, power_on
from knobmenu.machine.state import (
    Asking,
    Editing,
    State,
    TextDraft,
    get_committed_values,
    get_value,
    make_initial_state,
)
from knobmenu.machine.values import get_at, unpack
from knobmenu.screen.cells import Screen
from knobmenu.screen.render import render
from tests.export.independent import IndependentDevice
from tests.export.independent_screen import IndependentDisplay, Shown
from tests.strategies import PLAIN_EVENTS, Story, designs, stories

Json = dict[str, Any]


def as_json(thing: Event | Effect, name: str) -> Json:
    fields = attrs.asdict(thing, recurse=False)
    return {name: thing.word, **{field: getattr(value, "value", value) for field, value in fields.items()}}


def picture_of_the_machine(design: Design, state: State) -> Json:
    mode, about = identify_screen(state)
    picture: Json = {
        "now": state.at_ms,
        "idle_from": state.idle_from_ms,
        "values": [get_value(design, state, setting.key) for setting in design.settings],
        "reports": list(state.reports),
        "mode": mode.value,
        "about": about,
        "path": [[place.menu, place.entry] for place in state.path],
        "last_used": dict(zip((menu.key for menu in design.menus), unpack(state.last_used), strict=True)),
        "unsaved": set(state.unsaved),
        "changed_at": state.changed_ms,
        "lamps": list(find_lit_lamps(design, state)),
    }
    if isinstance(state.focus, Editing):
        focus = state.focus
        place, pick = (0, focus.pick) if isinstance(focus, TextDraft) else (focus.place, 0)
        picture |= {"draft": focus.draft, "place": place, "pick": pick}
        picture["before"] = list(unpack(focus.before))
    if isinstance(state.focus, Asking):
        picture["yes"] = state.focus.yes
    return picture


def picture_of_the_other(other: IndependentDevice) -> Json:
    focus = other.focus or {}
    names = ("now", "idle_from", "values", "reports", "mode", "about", "path", "last_used", "unsaved", "changed_at")
    return {
        **{name: getattr(other, name) for name in names},
        "lamps": other.lamps_lit(),
        **{name: focus[name] for name in ("draft", "place", "pick", "before", "yes") if name in focus},
    }


def shown(screen: Screen) -> Shown:
    return Shown(
        list(screen.rows),
        {(span.row, cell) for span in screen.blinking for cell in range(span.start, span.stop)},
        {(0, cell) for cell in screen.points},
    )


def agree(design: Design, events: Iterable[Event]) -> None:
    """Assert that the machine and the other device do and show the same, after each event."""
    document = json.loads(write_spec(design))
    del document["design"]
    state, other = make_initial_state(design), IndependentDevice(document)
    display = IndependentDisplay(other)
    assert picture_of_the_other(other) == picture_of_the_machine(design, state)
    assert display.screen() == shown(render(design, state))
    for event in events:
        state, effects = advance(design, state, event)
        assert other.take(as_json(event, "event")) == [as_json(effect, "effect") for effect in effects]
        assert picture_of_the_other(other) == picture_of_the_machine(design, state)
        assert display.screen() == shown(render(design, state))


@given(stories())
def test_the_standard_is_enough_to_build_the_device(story: Story) -> None:
    agree(*story)


def long_walk(design: Design, seed: int, length: int = 250) -> Iterator[Event]:
    """Do whatever can be done to a device, mostly what leads somewhere, for a long time."""
    chance = random.Random(seed)
    idle_ms, now_ms = design.idle.after_ms, 0
    kinds = ["turn"] * 6 + ["press"] * 6 + ["held"] * 2 + ["long", "double", "wait", "report"]
    for _ in range(length):
        now_ms += chance.choice([0, 1, 20, 100, 100, 100, design.save_after_ms, max(idle_ms - 1, 0), idle_ms])
        match chance.choice(kinds):
            case "turn":
                detents = chance.choice([1, 1, 1, -1, -1, 2, -2, 5, -7, 60])
                yield Turn(now_ms, detents, times=chance.choice([1, 1, 2, 10]))
            case "held":
                yield HeldTurn(now_ms, chance.choice([1, -1, 2, -3]))
            case "report" if design.readouts:
                yield Report(now_ms, chance.choice(design.readouts).key, chance.randint(-5, 5))
            case other:
                yield PLAIN_EVENTS.get(other, Wait)(now_ms)  # a report that no readout takes is time that passes


@given(designs(), st.integers(0, 2**32))
def test_the_standard_holds_on_long_walks(design: Design, seed: int) -> None:
    knob = attrs.evolve(design.knob, double_press_ms=250, turns_while_held=True)
    short = attrs.evolve(design, knob=knob, save_after_ms=min(design.save_after_ms, 1000))
    agree(short, long_walk(short, seed))


@given(stories())
def test_the_standard_is_enough_to_power_the_device_on_again(story: Story) -> None:
    design, events = story
    state, _ = advance_all(design, make_initial_state(design), events)
    again = power_on(design, collect_saved_values(design, state)).state
    other = IndependentDevice(json.loads(write_spec(design)))
    values = get_committed_values(state)
    positions = design.index.positions
    other.restore({part.key: get_at(values, positions[part.key]) for part in design.settings if part.saved})
    assert picture_of_the_other(other) == picture_of_the_machine(design, again)


@pytest.mark.parametrize(
    "path", sorted((Path(__file__).parents[2] / "demos").glob("*.toml")), ids=lambda path: path.stem
)
def test_the_standard_is_enough_to_build_every_demo(path: Path) -> None:
    design = load(path)
    for seed in range(4):
        agree(design, long_walk(design, seed, length=600))
