"""The least that a hand must do from a state until something is reached: a setting, an action, a screen, a condition.

A route to a setting or an action changes no other setting where there is such a route at all: nobody changes the
waveform to shorten a list. Only where none exists, other settings are changed on the way, and only where that is not
enough, the device is asked to report something first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

import attrs

from knobmenu.analysis.cost.cone import Cone, Reading
from knobmenu.analysis.cost.gestures import Tally, Way, count_gestures, perform_all, time_gestures
from knobmenu.analysis.cost.operators import Operators, Seconds, load_operators
from knobmenu.analysis.cost.ways import MOST_STATES, Found, Search, make_names_of_reached
from knobmenu.analysis.cost.weights import Weights, weigh_gestures
from knobmenu.design.conditions import Condition, Resolved, resolve
from knobmenu.design.domains import get_domain, walk_resolved_comparisons
from knobmenu.design.whole import resolve_operand
from knobmenu.machine.advance import identify_screen
from knobmenu.machine.changing import find_bounds, list_changed_keys
from knobmenu.machine.effects import Effect
from knobmenu.machine.state import Mode, State, get_number_at, get_value
from knobmenu.machine.walking import condition_holds
from knobmenu.trace import format_trace

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


@attrs.frozen(slots=False)
class Model:
    """A design with what is computed once for all questions about its costs."""

    design: Design
    operators: Operators = attrs.field(factory=load_operators)

    @cached_property
    def reading(self) -> Reading:
        """Which conditions read what."""
        return Reading(self.design)

    counts_gestures: bool = False
    """Whether ways are compared by the gestures of the hand before waits and reports, rather than after them."""

    @cached_property
    def weights(self) -> Weights:
        """What each gesture weighs."""
        found = weigh_gestures(self.design, self.operators)
        return attrs.evolve(found, wait=1, report=1) if self.counts_gestures else found


@attrs.frozen(slots=False)
class Route:
    """A way from a state to a goal."""

    design: Design
    start: State
    way: Way
    seconds: Seconds
    """How long it is predicted to take."""
    proved: bool = True
    """Whether no way of fewer gestures can exist."""

    @cached_property
    def tally(self) -> Tally:
        """How many of each gesture."""
        return count_gestures(self.way)

    @cached_property
    def end(self) -> State:
        """The state after it."""
        return perform_all(self.design, self.start, self.way)[0]

    @property
    def changed(self) -> tuple[str, ...]:
        """The settings whose values it leaves changed."""
        return tuple(list_changed_keys(self.design, self.start.values, self.end.values))

    @property
    def reported(self) -> tuple[str, ...]:
        """The readouts that the device must report on the way."""
        return tuple(dict.fromkeys(gesture.key for gesture in self.way if gesture.kind == "report"))

    @property
    def trace(self) -> str:
        """The way as a trace that `knobmenu play` plays; from power-on, where it starts there."""
        return format_trace(time_gestures(self.design, self.start, self.way))


@attrs.frozen
class Routes:
    """Routes to several goals."""

    routes: dict[str, Route]
    """For each goal that can be reached, the least route."""
    undecided: dict[str, int]
    """Goals whose search was given up, each with the states looked at."""


def _make_route(model: Model, start: State, found: Found) -> Route:
    seconds = model.operators.predict(model.design, start, found.way)
    return Route(model.design, start, found.way, seconds, found.proved)


def _make_search(
    model: Model,
    start: State,
    cone: Cone,
    *,
    pressed: frozenset[str] | None = None,
    compared: tuple[Resolved, ...] = (),
    values: Mapping[str, int | str] | None = None,
    fast: bool = False,
) -> Search:
    return Search(
        design=model.design,
        reading=model.reading,
        weights=model.weights,
        start=start,
        cone=cone,
        pressed=pressed,
        compared=compared,
        values=values or {},
        fast=fast,
    )


def find_direct_routes(model: Model, start: State, goals: Iterable[str]) -> dict[str, Route]:
    """Find the least routes to settings, actions and menus that change no other setting."""
    design = model.design
    cone = Cone(frozenset(), frozenset(), frozenset(design.index.menus))
    search = _make_search(model, start, cone)
    answer = search.run(goals, make_names_of_reached(design), most_states=10**9)
    return {key: _make_route(model, start, found) for key, found in answer.found.items()}


def find_least_routes(
    model: Model,
    start: State,
    goals: Iterable[str],
    *,
    most_states: int = MOST_STATES,
    progress: Callable[[int, int], None] | None = None,
) -> Routes:
    """Find the least routes to settings, actions and menus.

    Args:
        model: The design and its operators.
        start: Where the hand starts.
        goals: Keys of settings, actions and menus.
        most_states: States after which a search for what is hidden is given up.
        progress: Is called with the goals that are decided and all of them.
    """
    targets = list(dict.fromkeys(goals))
    routes = find_direct_routes(model, start, targets)
    undecided: dict[str, int] = {}
    for cone, keys in _group_by_cone(model, [key for key in targets if key not in routes]):
        if progress is not None:
            progress(len(routes), len(targets))
        search = _make_search(model, start, cone, pressed=frozenset(keys))
        answer = search.run(keys, make_names_of_reached(model.design), most_states)
        routes.update({key: _make_route(model, start, found) for key, found in answer.found.items()})
        if not answer.whole:
            undecided.update({key: answer.states for key in keys if key not in answer.found})
    return Routes(routes, undecided)


def _group_by_cone(model: Model, keys: Iterable[str]) -> Iterator[tuple[Cone, list[str]]]:
    """Group what depends on the same values, so that it is searched for once."""
    groups: dict[tuple[frozenset[str], frozenset[str]], list[str]] = {}
    for key in keys:
        cone = model.reading.build_cone([key])
        if cone.settings or cone.readouts:
            groups.setdefault((cone.settings, cone.readouts), []).append(key)
    for together in groups.values():
        yield model.reading.build_cone(together), together


def find_least_route_to_condition(
    model: Model,
    start: State,
    condition: Condition,
    *,
    reports: bool = False,
    fast: bool = False,
    most_states: int = MOST_STATES,
) -> Route | None:
    """Find the least route to a state in which a condition over settings and readouts holds and no draft is open.

    Args:
        model: The design and its operators.
        start: Where the hand starts.
        condition: What is to hold.
        reports: Whether the device may report values on the way, as it likes.
        fast: Whether values may be turned to so fast that detents count more. The first detent at a value can be fast
            as well, since the knob may be turning when its editor opens; so the route takes no more gestures than any
            hand does, and at most 2 detents fewer for each value that is turned to.
        most_states: States after which the search is given up.

    Raises:
        OverflowError: The search was given up; says after how many states, or for how many values.
    """
    design = model.design
    index = design.index
    judged = resolve(
        condition, lambda key, operand: (index.numbers[key], resolve_operand(index.settings, key, operand))
    )
    compared = tuple(walk_resolved_comparisons(judged))
    parts = tuple(index.positions)
    cone = model.reading.build_cone((), {parts[comparison.position] for comparison in compared})

    def names(state: State, effects: tuple[Effect, ...]) -> Iterator[str]:
        if state.focus is None and condition_holds(design, state, judged):
            yield ""

    return _find_least(model, start, cone, names, frozenset(), reports, most_states, compared, fast=fast)


def find_least_route_to_value(
    model: Model, start: State, key: str, value: int | str, *, reports: bool = False, most_states: int = MOST_STATES
) -> Route | None:
    """Find the least route to a state in which a setting has been set to a value.

    Where another setting's value limits this one short of it, and too many states would have to be looked at, the other
    setting is moved first, to the values that are near enough in turn; such a route is not proved to be the least.

    Raises:
        OverflowError: The search was given up; says after how many states.
    """
    design = model.design
    if not isinstance(value, str) and value not in get_domain(design, key):
        return None
    cone = model.reading.build_cone((), [key])
    limit = _find_limit_in_the_way(design, start, key, value) if isinstance(value, int) else ""
    if not limit or not isinstance(value, int):
        return _find_route_to_value(model, start, cone, key, value, reports, most_states)
    try:
        return _find_route_to_value(model, start, cone, key, value, reports, min(most_states, MOST_STATES_PAST_LIMITS))
    except OverflowError:
        return _find_route_past_limit(model, start, limit, (key, value), reports)


MOST_STATES_PAST_LIMITS = 5_000
"""States after which a search for a value beyond a limit is cut in two: first the limit, then the value."""

MOST_LIMIT_VALUES = 12
"""Values of the limiting setting that are tried, the nearest first."""


def _find_limit_in_the_way(design: Design, start: State, key: str, value: int) -> str:
    """Return the setting whose present value limits another one short of a value, or nothing."""
    limits = design.index.limits.get(key)
    if limits is None:
        return ""
    low, high = find_bounds(design, start.values, key)
    return limits.high_from if value > high else limits.low_from if value < low else ""


def _find_route_past_limit(model: Model, start: State, limit: str, goal: tuple[str, int], reports: bool) -> Route:
    """Find a route that moves a limiting setting out of the way first, and no other setting."""
    key, value = goal
    rises = value > get_number_at(model.design, start, model.design.index.numbers[key])
    values = get_domain(model.design, limit)
    enough = [one for one in values if one >= value] if rises else [one for one in reversed(values) if one <= value]
    cones = [attrs.evolve(model.reading.build_cone((), [moved]), settings=frozenset([moved])) for moved in (limit, key)]
    routes = []
    for one in enough[:MOST_LIMIT_VALUES]:
        try:
            first = _find_route_to_value(model, start, cones[0], limit, one, reports, MOST_STATES_PAST_LIMITS)
            then = first and _find_route_to_value(
                model, first.end, cones[1], key, value, reports, MOST_STATES_PAST_LIMITS
            )
        except OverflowError:
            continue
        if first is not None and then is not None:
            routes.append((*first.way, *then.way))
    if not routes:
        raise OverflowError(f"not decided: {MOST_STATES_PAST_LIMITS} states")
    way = min(routes, key=model.weights.weigh_way)
    return Route(model.design, start, way, model.operators.predict(model.design, start, way), proved=False)


def _find_route_to_value(
    model: Model, start: State, cone: Cone, key: str, value: int | str, reports: bool, most_states: int
) -> Route | None:
    design = model.design

    def names(state: State, effects: tuple[Effect, ...]) -> Iterator[str]:
        if state.focus is None and get_value(design, state, key) == value:
            yield ""

    compared = (Resolved("equal", design.index.numbers[key], value),) if isinstance(value, int) else ()
    return _find_least(model, start, cone, names, frozenset(), reports, most_states, compared, {key: value})


def find_least_route_to_screen(
    model: Model, start: State, mode: Mode, key: str = "", *, reports: bool = False, most_states: int = MOST_STATES
) -> Route | None:
    """Find the least route to a screen: home, the list of a menu, the editor of a setting, or a question.

    Raises:
        OverflowError: The search was given up; says after how many states.
    """
    cone = model.reading.build_cone([key] if key else ())

    def names(state: State, effects: tuple[Effect, ...]) -> Iterator[str]:
        if identify_screen(state) == (mode, key):
            yield ""

    return _find_least(model, start, cone, names, frozenset({key}), reports, most_states)


def _find_least(
    model: Model,
    start: State,
    cone: Cone,
    names: Callable[[State, tuple[Effect, ...]], Iterable[str]],
    pressed: frozenset[str],
    reports: bool,
    most_states: int,
    compared: tuple[Resolved, ...] = (),
    values: Mapping[str, int | str] | None = None,
    fast: bool = False,
) -> Route | None:
    if not reports:
        cone = attrs.evolve(cone, readouts=frozenset())
    search = _make_search(model, start, cone, pressed=pressed, compared=compared, values=values or {}, fast=fast)
    answer = search.run([""], names, most_states)
    if "" in answer.found:
        return _make_route(model, start, answer.found[""])
    if not answer.whole:
        raise OverflowError(f"not decided: {answer.states} states")
    return None
