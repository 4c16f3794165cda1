"""Everything that a hand can do with a small design, written out as a graph by `advance` alone."""

from __future__ import annotations

from collections import deque
from typing import NamedTuple

import networkx

from knobmenu.analysis.cost.gestures import DOUBLE, HOLD, PRESS, WAIT, Gesture, perform
from knobmenu.analysis.cost.ways import make_names_of_reached
from knobmenu.analysis.cost.weights import Weights
from knobmenu.design.domains import find_all_thresholds
from knobmenu.design.whole import Design
from knobmenu.machine.changing import list_changed_keys
from knobmenu.machine.effects import ActionRun
from knobmenu.machine.state import Editing, State, strip_time
from tests.sampling import sampled


class Edge(NamedTuple):
    """One gesture from one state to another."""

    start: int
    end: int
    gesture: Gesture
    names: tuple[str, ...]
    """What it reaches."""


class Walks(NamedTuple):
    """All states that a hand can come to, numbered from 0, and all gestures between them."""

    states: list[State]
    edges: list[Edge]
    done: bool
    """Whether that is all; else there are more states than were asked for."""


def single_gestures(design: Design, reports: bool) -> list[Gesture]:
    """List every gesture of a design's knob, one detent at a time, and every report that a condition could read."""
    gestures = [Gesture("turn", 1), Gesture("turn", -1), PRESS, HOLD]
    if design.knob.double_press_ms:
        gestures.append(DOUBLE)
    if design.knob.turns_while_held:
        gestures += [Gesture("held", 1), Gesture("held", -1)]
    if design.idle.after_ms:
        gestures.append(WAIT)
    if reports:
        thresholds = find_all_thresholds(design)
        gestures += [
            Gesture("report", value, key=part.key)
            for part in design.readouts
            for cut in thresholds.get(part.key, ())
            for value in (cut - 1, cut)
        ]
    return gestures


def within(design: Design, start: State, state: State, varying: frozenset[str]) -> bool:
    """Tell whether a state differs from the start in the values and the draft of certain settings alone."""
    if isinstance(state.focus, Editing) and state.focus.setting not in varying:
        return False
    return state.values == start.values or varying.issuperset(list_changed_keys(design, start.values, state.values))


def walks(
    design: Design,
    start: State,
    *,
    frozen: bool = False,
    reports: bool = False,
    varying: frozenset[str] | None = None,
    most_states: int = sampled(8_000, 5_000),
) -> Walks:
    """Walk through all states, breadth first.

    Args:
        design: A small design.
        start: Where to begin.
        frozen: Whether to go on only from states whose values are those of the start.
        reports: Whether the device may report.
        varying: The settings whose values and drafts the walk changes; None: all.
        most_states: States after which to give up.
    """
    names = make_names_of_reached(design)
    gestures = single_gestures(design, reports)
    states, numbers = [start], {strip_time(start): 0}
    edges: list[Edge] = []
    waiting = deque([0])
    while waiting:
        here = waiting.popleft()
        state = states[here]
        for gesture in gestures:
            after, effects = perform(design, state, gesture)
            reached = tuple(names(after, effects))
            ends = any(isinstance(effect, ActionRun) for effect in effects)
            ends = ends or (frozen and after.values != start.values)
            ends = ends or (varying is not None and not within(design, start, after, varying))
            if ends:
                if reached:
                    edges.append(Edge(here, here, gesture, reached))
                continue
            key = strip_time(after)
            if key not in numbers:
                if len(states) >= most_states:
                    return Walks(states, edges, False)
                numbers[key] = len(states)
                states.append(after)
                waiting.append(numbers[key])
            edges.append(Edge(here, numbers[key], gesture, reached))
    return Walks(states, edges, True)


def fewest_gestures(found: Walks, names_at_start: set[str]) -> dict[str, int]:
    """Count the fewest gestures to everything, breadth first, without waits and reports."""
    onward: dict[int, list[Edge]] = {}
    for edge in found.edges:
        if edge.gesture.kind not in ("wait", "report"):
            onward.setdefault(edge.start, []).append(edge)
    counts, distance, waiting = dict.fromkeys(names_at_start, 0), {0: 0}, deque([0])
    while waiting:
        here = waiting.popleft()
        for edge in onward.get(here, ()):
            for name in edge.names:
                counts[name] = min(counts.get(name, 10**9), distance[here] + 1)
            if edge.end not in distance:
                distance[edge.end] = distance[here] + 1
                waiting.append(edge.end)
    return counts


def least_weights(found: Walks, weights: Weights, names_at_start: set[str]) -> dict[str, int]:
    """Weigh the least way to everything."""
    distance = distances(found, weights)
    least = dict.fromkeys(names_at_start, 0)
    for edge in found.edges:
        total = distance[edge.start] + weights.weigh(edge.gesture)
        for name in edge.names:
            least[name] = min(least.get(name, total), total)
    return least


def distances(found: Walks, weights: Weights) -> dict[int, int]:
    """Weigh the least way to every state with Dijkstra's algorithm of networkx."""
    graph = networkx.DiGraph()
    graph.add_node(0)
    lightest: dict[tuple[int, int], int] = {}
    for edge in found.edges:
        ends, weight = (edge.start, edge.end), weights.weigh(edge.gesture)
        lightest[ends] = min(lightest.get(ends, weight), weight)
    graph.add_weighted_edges_from((*ends, weight) for ends, weight in lightest.items())
    return dict(networkx.single_source_dijkstra_path_length(graph, 0))
