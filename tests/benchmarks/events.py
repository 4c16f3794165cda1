"""Events per second against two general-purpose statechart libraries on an equal chart, in the same run.

The chart: a device with a home screen, a menu of ten entries and an editor of a number. The same hierarchical chart
is written for `transitions` and `python-statemachine`, with callbacks that keep the selection and the value, which is
the least that the device's own machine does too. The trace is the same for all: in, three entries down, edit, five
steps up, keep, out.

Goals: `advance` at least 8 times the faster library's rate, `advance` with `render` at least 5 times.

Times are of the processor, and the charts take turns, so that other programs disturb all of them alike.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable
from functools import partial
from typing import Any

from knobmenu.design.home import Home
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Number
from knobmenu.design.whole import Design
from knobmenu.events import Event, LongPress, Press, Turn
from knobmenu.machine.advance import advance
from knobmenu.machine.state import make_initial_state
from knobmenu.machine.values import unpack
from knobmenu.screen.render import render

ENTRIES = 10
ROUNDS = 400
REPEATS = 5

ENDED: list[list[object]] = []
"""The values with which each chart ended its walk: all the same, or the charts are not equal."""


def design(entries: int = ENTRIES) -> Design:
    """Give a design with a menu of so many numbers."""
    numbers = [
        Number(key=f"value{number}", label=f"Value {number}", low=0, high=100, initial=50) for number in range(entries)
    ]
    return Design(
        name="Chart",
        settings=numbers,
        menus=[Menu(key="main", label="Menu", entries=[number.key for number in numbers])],
        home=Home(press="main"),
    )


WALK: tuple[tuple[str, int], ...] = (
    ("press", 0),
    ("turn", 1),
    ("turn", 1),
    ("turn", 1),
    ("press", 0),
    ("turn", 1),
    ("turn", 1),
    ("turn", 1),
    ("turn", 1),
    ("turn", -1),
    ("press", 0),
    ("turn", -1),
    ("hold", 0),
)


def events() -> list[Event]:
    """Give the walk as events, 10 ms apart."""
    made: list[Event] = []
    for _ in range(ROUNDS):
        for word, detents in WALK:
            at_ms = len(made) * 10
            made.append(
                Turn(at_ms, detents) if word == "turn" else Press(at_ms) if word == "press" else LongPress(at_ms)
            )
    return made


def of_knobmenu(also_render: bool) -> float:
    """Return seconds an event takes here."""
    device, walk = design(), events()
    state = make_initial_state(device)
    start = time.process_time()
    for event in walk:
        state, _ = advance(device, state, event)
        if also_render:
            render(device, state)
    took = (time.process_time() - start) / len(walk)
    ENDED.append(list(unpack(state.values)))
    return took


class Model:
    """What the callbacks of the other charts keep: the selection, the values, the draft."""

    def __init__(self) -> None:
        self.entry, self.draft, self.values = 0, 0, [50] * ENTRIES

    def open(self, **_: Any) -> None:
        """Select the first entry."""
        self.entry = 0

    def move(self, detents: int = 0, **_: Any) -> None:
        """Move the selection."""
        self.entry = min(max(self.entry + detents, 0), ENTRIES - 1)

    def edit(self, **_: Any) -> None:
        """Open a draft."""
        self.draft = self.values[self.entry]

    def change(self, detents: int = 0, **_: Any) -> None:
        """Change the draft."""
        self.draft = min(max(self.draft + detents, 0), 100)

    def keep(self, **_: Any) -> None:
        """Keep the draft."""
        self.values[self.entry] = self.draft


def of_transitions() -> float:
    """Return seconds an event takes with `transitions`, hierarchical machine."""
    from transitions.extensions import HierarchicalMachine

    model = Model()
    rows: Any = [
        {"trigger": "press", "source": "home", "dest": "menu", "after": "open"},
        {"trigger": "turn", "source": "menu_list", "dest": None, "after": "move"},
        {"trigger": "press", "source": "menu_list", "dest": "menu_editor", "after": "edit"},
        {"trigger": "turn", "source": "menu_editor", "dest": None, "after": "change"},
        {"trigger": "press", "source": "menu_editor", "dest": "menu_list", "after": "keep"},
        {"trigger": "hold", "source": "menu_editor", "dest": "menu_list"},
        {"trigger": "hold", "source": "menu", "dest": "home"},
    ]
    HierarchicalMachine(
        model=model,
        states=["home", {"name": "menu", "initial": "list", "children": ["list", "editor"]}],
        initial="home",
        auto_transitions=False,
        transitions=rows,
    )
    took = timed(lambda word, detents: getattr(model, word)(detents=detents))
    ENDED.append(list(model.values))
    return took


def of_python_statemachine() -> float:
    """Return seconds an event takes with `python-statemachine`."""
    from statemachine import State, StateChart

    class Chart(StateChart[Any]):
        home = State(initial=True)

        class menu(State.Compound):  # noqa: N801 (the library names states so)
            listed = State(initial=True)
            editor = State()
            turn = listed.to.itself(internal=True, on="move") | editor.to.itself(internal=True, on="change")
            go_in = listed.to(editor, on="edit", event="press") | editor.to(listed, on="keep", event="press")
            undo = editor.to(listed, event="hold")

        opening = home.to(menu, on="open", event="press")
        leaving = menu.to(home, event="hold")

    model = Model()
    chart = Chart(model)
    took = timed(lambda word, detents: chart.send(word, detents=detents))
    ENDED.append(list(model.values))
    return took


def timed(tell: Callable[[str, int], object]) -> float:
    """Return seconds an event takes when it is told so."""
    start = time.process_time()
    for _ in range(ROUNDS):
        for word, detents in WALK:
            tell(word, detents)
    return (time.process_time() - start) / (ROUNDS * len(WALK))


def best(*measures: Callable[[], float]) -> list[float]:
    """Return the least of several measurements of each, taken in turns."""
    rounds = [[measure() for measure in measures] for _ in range(REPEATS)]
    return [min(times) for times in zip(*rounds, strict=True)]


def main() -> None:
    """Print rates and ratios."""
    gc.freeze()
    names = ("advance", "advance and render", "transitions", "python-statemachine")
    charts = (partial(of_knobmenu, False), partial(of_knobmenu, True), of_transitions, of_python_statemachine)
    times = best(*charts)
    assert all(values == ENDED[0] for values in ENDED), "the charts do not do the same"
    for name, seconds in zip(names, times, strict=True):
        print(f"{name:<22}{1 / seconds:>12,.0f} events/s {seconds * 1e6:>9.2f} us")
    own, shown, *others = times
    print(f"advance: {min(others) / own:.1f} times the faster library (goal 8)")
    print(f"advance and render: {min(others) / shown:.1f} times the faster library (goal 5)")
    small, large = best(partial(of_size, 10), partial(of_size, 10_000))
    print(f"10,000 entries against 10, per event: {large / small:.2f} (goal under 1.3)")


def of_size(entries: int) -> float:
    """Return seconds an event takes, with its screen, in a design of so many entries."""
    device, walk = design(entries), events()
    state = make_initial_state(device)
    render(device, advance(device, state, walk[0])[0])
    start = time.process_time()
    for event in walk:
        state, _ = advance(device, state, event)
        render(device, state)
    return (time.process_time() - start) / len(walk)


if __name__ == "__main__":
    main()
