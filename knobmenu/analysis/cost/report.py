"""What everything in a design costs: each setting and action, each of its values, and a use on average."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Literal

import attrs

from knobmenu.analysis.cost.gestures import Way, count_gestures
from knobmenu.analysis.cost.letters import Keystrokes, count_text_keystrokes, load_digrams
from knobmenu.analysis.cost.lists import find_leaving_way
from knobmenu.analysis.cost.operators import Operators, Seconds, load_operators
from knobmenu.analysis.cost.profile import LEAVING, Profile, make_even_profile
from knobmenu.analysis.cost.routes import Model, Route, find_direct_routes, find_least_routes
from knobmenu.analysis.cost.usage import Usage, Visit
from knobmenu.analysis.cost.values import ValueCosts, measure_value_cost, measure_value_costs
from knobmenu.design.settings import TextSetting
from knobmenu.machine.state import State, make_initial_state
from knobmenu.machine.values import get_at, replace_value

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


@attrs.frozen(kw_only=True)
class Cost:
    """What one setting or action costs."""

    key: str
    kind: Literal["setting", "action"]
    label: str
    menus: tuple[str, ...]
    """The labels of the menus that lead to it, outermost first; none where home leads to it."""
    power_on: Route | None
    """From a new device at power-on, with everything that must be changed first; None: cannot be reached."""
    home: Route | None
    """From home, once what it needs is set: every list opens where it opens on a new device."""
    values: ValueCosts | None
    """For a setting with values to list: what each costs from there on."""
    keystrokes: Keystrokes | None
    """For a text: keystrokes per character."""
    use: float
    """The probability that a use is of this one."""
    expected: float | None
    """Gestures of a use on average: from home, to a value, and home again; None: cannot be reached."""
    expected_seconds: Seconds | None
    """How long that takes on average. [s]"""
    undecided: int = 0
    """States after which the search was given up; 0: it is certain."""


@attrs.frozen(kw_only=True)
class Report:
    """The costs of a design."""

    design: Design = attrs.field(repr=False)
    profile: Profile = attrs.field(repr=False)
    operators: Operators = attrs.field(repr=False)
    costs: tuple[Cost, ...]
    """One for each setting and action, in the design's order."""

    @property
    def expected(self) -> float:
        """The mean number of gestures of a use under the profile, over the parts that can be reached."""
        return self._compute_mean(lambda cost: cost.expected or 0.0)

    @property
    def expected_seconds(self) -> Seconds:
        """How long a use takes on average under the profile. [s]"""
        total, known = Seconds(), self._list_costs_in_use()
        for cost in known:
            assert cost.expected_seconds is not None
            total += cost.expected_seconds * cost.use
        return total * (1 / sum(cost.use for cost in known)) if known else total

    @property
    def worst(self) -> Cost | None:
        """The part that takes the most gestures to reach from home."""
        reached = [cost for cost in self.costs if cost.home is not None]
        return max(reached, key=lambda cost: cost.home.tally.gestures if cost.home else 0, default=None)

    def _list_costs_in_use(self) -> list[Cost]:
        return [cost for cost in self.costs if cost.expected is not None and cost.use]

    def _compute_mean(self, of: Callable[[Cost], float]) -> float:
        known = self._list_costs_in_use()
        total = sum(cost.use for cost in known)
        return sum(cost.use * of(cost) for cost in known) / total if total else 0.0


def report_costs(
    design: Design,
    *,
    profile: Profile | None = None,
    operators: Operators | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Report:
    """Count what every setting and action of a design costs.

    Args:
        design: The design.
        profile: How it is used; everything alike, without one.
        operators: How long gestures take; the published ones, without any.
        progress: Is called with what is done and all that is to do.
    """
    profile = make_even_profile(design) if profile is None else profile
    model = Model(design, load_operators() if operators is None else operators)
    keys = [part.key for part in (*design.settings, *design.actions)]
    start = make_initial_state(design)
    found = find_least_routes(
        model, start, keys, progress=None if progress is None else lambda done, _: progress(done, 2 * len(keys))
    )
    home = find_home_routes(model, start, found.routes)
    usage = Usage(design, profile, tuple(Visit.of(key, profile, route) for key, route in home.items()))
    costs = []
    for number, key in enumerate(keys):
        if progress is not None:
            progress(len(keys) + number, 2 * len(keys))
        costs.append(
            _make_cost(model, profile, usage, key, found.routes.get(key), home.get(key), found.undecided.get(key, 0))
        )
    return Report(design=design, profile=profile, operators=model.operators, costs=tuple(costs))


def find_home_routes(model: Model, start: State, routes: Mapping[str, Route]) -> dict[str, Route]:
    """Find the routes from home once what each part needs is set.

    The values and reports are those with which the route from power-on arrives; lists open as on a new device.
    """
    design = model.design
    home = {key: route for key, route in routes.items() if not _needs(design, key, route)}
    alike: dict[State, list[str]] = {}
    for key, route in routes.items():
        if key not in home:
            values = _find_values_before(design, key, start, route)
            ready = start._replace(values=values, reports=route.end.reports)
            alike.setdefault(ready, []).append(key)
    for ready, keys in alike.items():
        again = find_direct_routes(model, ready, keys)
        home.update({key: again.get(key, routes[key]) for key in keys})
    return home


def _needs(design: Design, key: str, route: Route) -> bool:
    return bool(route.reported or [changed for changed in route.changed if changed != key])


def _find_values_before(design: Design, key: str, start: State, route: Route) -> tuple[tuple[int | str, ...], ...]:
    """Return the values at the end of a route, without the change that reaching a switch makes."""
    position = design.index.positions.get(key)
    if position is None or position >= len(design.settings):
        return route.end.values
    return replace_value(route.end.values, position, get_at(start.values, position))


def _make_cost(
    model: Model, profile: Profile, usage: Usage, key: str, power_on: Route | None, home: Route | None, undecided: int
) -> Cost:
    design = model.design
    setting = design.index.settings.get(key)
    part = design.index.actions[key] if setting is None else setting
    values = keystrokes = expected = seconds = None
    menus: tuple[str, ...] = ()
    if home is not None:
        menus = tuple(design.index.menus[place.menu].label for place in usage.get_visit(key).places)
        if setting is not None:
            values = measure_value_costs(design, home.end, key, model.weights)
        if isinstance(setting, TextSetting):
            keystrokes = count_text_keystrokes(setting, load_digrams(), model.weights, design.knob.turns_while_held)
        expected, seconds = _expect(model, profile, usage, key, home, values, keystrokes)
    return Cost(
        key=key,
        kind="action" if setting is None else "setting",
        label=part.label,
        menus=menus,
        power_on=power_on,
        home=home,
        values=values,
        keystrokes=keystrokes,
        use=profile.get_probability(key),
        expected=expected,
        expected_seconds=seconds,
        undecided=undecided,
    )


def _expect(
    model: Model,
    profile: Profile,
    usage: Usage,
    key: str,
    home: Route,
    values: ValueCosts | None,
    keystrokes: Keystrokes | None,
) -> tuple[float, Seconds]:
    """Average over the values that are set and the ways in which people leave."""
    design, operators = model.design, model.operators
    gestures = home.tally.gestures + usage.count_extra_turning(key, model.weights)
    detent = operators.get_seconds("detent")
    seconds = home.seconds + detent * (gestures - home.tally.gestures)
    for way, often in _list_value_ways(model, profile, key, home, values):
        gestures += often * count_gestures(way).gestures
        for gesture in way:
            seconds += operators.time_gesture(design, gesture) * often
    if keystrokes is not None:
        strokes = _count_characters(model, profile, key) * keystrokes.per_character
        gestures += strokes
        seconds += detent * strokes
    if values is not None or keystrokes is not None:
        seconds += operators.get_seconds("M")
    # The draft is kept by then, which leaves the hand in the list, or at home.
    left = home.end._replace(focus=None)
    for how in LEAVING:
        often = profile.get_leaving_probability(how)
        if often:
            way = find_leaving_way(design, left, how, model.weights)
            gestures += often * count_gestures(way).gestures
            for gesture in way:
                if gesture.kind != "wait":  # nobody sits through the idle time
                    seconds += operators.time_gesture(design, gesture) * often
    return gestures, seconds


def _count_characters(model: Model, profile: Profile, key: str) -> float:
    """Return how many characters are written when a text is set: those of the profile's texts, else its longest."""
    setting = model.design.index.texts[key]
    texts = profile.values.get(key, {})
    total = sum(texts.values())
    return sum(len(str(text)) * often for text, often in texts.items()) / total if total else setting.longest


def _list_value_ways(
    model: Model, profile: Profile, key: str, home: Route, values: ValueCosts | None
) -> Iterable[tuple[Way, float]]:
    if values is None:
        return []
    asked = profile.values.get(key)
    if asked is None:
        items = [(item, 1.0) for item in values.reachable]
    else:
        items = [
            (measure_value_cost(model.design, home.end, key, value, model.weights), often)
            for value, often in asked.items()
        ]
    ways = [(way, often) for item, often in items if (way := item.least) is not None]
    total = sum(often for _, often in ways)
    return [(way, often / total) for way, often in ways] if total else []
