"""Every state of a small design, found with `advance` alone: the oracle that the abstraction is held to."""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn
from knobmenu.knob.gestures import list_gestures
from knobmenu.machine.advance import advance, make_idle_event
from knobmenu.machine.state import State, make_initial_state, strip_time
from knobmenu.machine.walking import is_enabled, is_shown


@attrs.frozen(eq=False)
class Graph:
    """Every state that a design can get to from power-on, and which leads to which in one event."""

    design: Design
    states: tuple[State, ...]
    following: tuple[tuple[int, ...], ...]
    """For each state, the numbers of those after it."""

    def back_from(self, goals: set[int]) -> set[int]:
        """Return the states from which a goal can be reached."""
        before: list[list[int]] = [[] for _ in self.states]
        for number, ends in enumerate(self.following):
            for end in ends:
                before[end].append(number)
        found, ahead = set(goals), list(goals)
        while ahead:
            for number in before[ahead.pop()]:
                if number not in found:
                    found.add(number)
                    ahead.append(number)
        return found


def events_of(design: Design, state: State, reports: bool) -> Iterator[Event]:
    """Walk everything that can happen to a small design, one detent at a time."""
    for gesture in list_gestures(design.knob):
        if gesture in (Turn, HeldTurn):
            yield from (gesture(0, detents) for detents in (1, -1))
        else:
            assert gesture in (Press, LongPress, DoublePress)
            yield gesture(0)
    if (idle := make_idle_event(design, state)) is not None:
        yield idle
    if reports:
        for readout in design.readouts:
            assert readout.low is not None
            assert readout.high is not None
            yield from (Report(0, readout.key, value) for value in range(readout.low, readout.high + 1))


def explore(design: Design, reports: bool = True, most: int = 20_000) -> Graph | None:
    """Find every state from power-on; None where there are more than `most`."""
    return explore_from(design, make_initial_state(design), reports, most)


def explore_from(design: Design, state: State, reports: bool = True, most: int = 20_000) -> Graph | None:
    """Find every state from one on; None where there are more than `most`, or where values have no small range."""
    if reports and any(readout.low is None or readout.high is None for readout in design.readouts):
        return None
    start = strip_time(state)
    numbers = {start: 0}
    states = [start]
    following = []
    for state in states:  # grows while it is walked
        ends = []
        for event in events_of(design, state, reports):
            end = strip_time(advance(design, state, event)[0])
            if end not in numbers:
                numbers[end] = len(states)
                states.append(end)
            ends.append(numbers[end])
        following.append(tuple(set(ends)))
        if len(states) > most:
            return None
    return Graph(design, tuple(states), tuple(following))


def showing(graph: Graph, menu: str, entry: int) -> set[int]:
    """Return the states in which a list is open and shows an entry."""
    return {
        number
        for number, state in enumerate(graph.states)
        if state.focus is None and state.path and state.path[-1].menu == menu
        if is_shown(graph.design, state, menu, entry)
    }


def pressable(graph: Graph, menu: str, entry: int) -> set[int]:
    """Return the states in which a list is open and an entry of it can be pressed."""
    return {n for n in showing(graph, menu, entry) if is_enabled(graph.design, graph.states[n], menu, entry)}


def at_home(graph: Graph) -> set[int]:
    """Return the states of the home screen."""
    return {number for number, state in enumerate(graph.states) if state.focus is None and not state.path}


def in_list(graph: Graph, site: tuple[str, ...]) -> set[int]:
    """Return the states in which some menus are open and nothing lies over them."""
    return {
        number
        for number, state in enumerate(graph.states)
        if state.focus is None and tuple(place.menu for place in state.path) == site
    }
