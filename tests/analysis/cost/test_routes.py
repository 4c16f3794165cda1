"""The least ways equal a search of the whole graph, which knows nothing of what the analysis leaves out."""

from __future__ import annotations

from contextlib import suppress
from functools import cache
from pathlib import Path

import pytest

from knobmenu.analysis.cost.gestures import count_gestures
from knobmenu.analysis.cost.routes import (
    Model,
    Route,
    find_direct_routes,
    find_least_route_to_condition,
    find_least_route_to_screen,
    find_least_route_to_value,
    find_least_routes,
)
from knobmenu.analysis.cost.ways import make_names_of_reached
from knobmenu.design.conditions import All, AtLeast, Equal
from knobmenu.device.device import Device
from knobmenu.errors import DesignError
from knobmenu.files.disk import load
from knobmenu.machine.advance import identify_screen
from knobmenu.machine.effects import ActionRun, Committed
from knobmenu.machine.state import Editing, Mode, get_value, make_initial_state
from knobmenu.trace import parse_trace
from tests.analysis.cost.small_designs import small_design
from tests.analysis.cost.walks import distances, fewest_gestures, least_weights, walks
from tests.sampling import sampled

DEMOS = Path(__file__).parents[3] / "demos"
DEMO_NAMES = ("darkroom", "instrument", "proofer", "radio")


@cache
def demo(name: str) -> Model:
    return Model(load(DEMOS / f"{name}.toml"))


def parts(model: Model) -> list[str]:
    design = model.design
    return [part.key for part in (*design.settings, *design.actions, *design.menus)]


def small_models(count: int) -> list[tuple[int, Model]]:
    """Make models of small designs; a seed whose design is refused is passed over."""
    found: list[tuple[int, Model]] = []
    for seed in range(2 * count):
        with suppress(DesignError):
            found.append((seed, Model(small_design(seed))))
    return found[:count]


def test_routes_weigh_what_dijkstra_finds_on_the_graph_of_all_states() -> None:
    compared = changing = 0
    for seed, model in small_models(sampled(500, 30)):
        start = make_initial_state(model.design)
        at_start = set(make_names_of_reached(model.design)(start, ()))
        direct = walks(model.design, start, frozen=True, reports=False)
        everything = walks(model.design, start, frozen=False, reports=True)
        if not (direct.done and everything.done):
            continue
        expected = {
            **least_weights(everything, model.weights, at_start),
            **least_weights(direct, model.weights, at_start),
        }
        found = find_least_routes(model, start, parts(model)).routes
        for key in parts(model):
            weight = model.weights.weigh_way(found[key].way) if key in found else None
            assert weight == expected.get(key), (seed, key)
            compared += 1
            changing += key in found and bool(found[key].changed)

    assert compared > 100
    assert changing > 0


def test_direct_routes_have_as_few_gestures_as_a_breadth_first_search() -> None:
    for seed, model in small_models(sampled(500, 60)):
        start = make_initial_state(model.design)
        at_start = set(make_names_of_reached(model.design)(start, ()))
        everything = walks(model.design, start, frozen=True, reports=False)
        assert everything.done
        fewest = fewest_gestures(everything, at_start)
        for key, route in find_direct_routes(model, start, parts(model)).items():
            if not route.tally.waits:
                assert route.tally.gestures == fewest[key], (seed, key)


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_direct_routes_of_demos_have_as_few_gestures_as_a_breadth_first_search(name: str) -> None:
    model = demo(name)
    start = make_initial_state(model.design)
    everything = walks(model.design, start, frozen=True, reports=False, most_states=sampled(40_000, 5_000))
    fewest = fewest_gestures(everything, set(make_names_of_reached(model.design)(start, ())))
    found = find_direct_routes(model, start, parts(model))

    # Where menus reopen at the last used entry there are too many states to walk through all of them; the walk is
    # breadth first, so that what it has seen by then it has seen at its fewest.
    for key, count in fewest.items():
        if key in found:
            assert found[key].tally.gestures == count, key
    assert len(fewest.keys() & found.keys()) > len(found) * 0.3


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_routes_of_demos_that_change_settings_weigh_what_dijkstra_finds(name: str) -> None:
    """The walks vary every setting that a condition on the way reads, gesture by gesture; there are too many others."""
    model = demo(name)
    start = make_initial_state(model.design)
    found = find_least_routes(model, start, parts(model)).routes
    direct = find_direct_routes(model, start, parts(model))
    compared = 0
    seen: dict[frozenset[str], dict[str, int]] = {}
    for key in parts(model):
        cone = model.reading.build_cone([key])
        if key in direct or cone.readouts or len(cone.settings) > sampled(3, 1):
            continue
        if cone.settings not in seen and len(seen) == sampled(100, 3):
            continue
        if cone.settings not in seen:
            everything = walks(model.design, start, varying=cone.settings, most_states=sampled(60_000, 10_000))
            seen[cone.settings] = least_weights(everything, model.weights, set()) if everything.done else {}
        if key in seen[cone.settings]:
            assert model.weights.weigh_way(found[key].way) == seen[cone.settings][key], key
            compared += 1

    assert compared > 0 or name in ("darkroom", "proofer", "radio")


def reaches(route: Route, key: str) -> bool:
    """Play the trace of a route on a device, and tell whether its last event reaches a part."""
    device = Device(route.design)
    events = parse_trace(route.trace)
    device.tell_all(events)
    focus = device.state.focus
    effects = device.present.effects
    return (
        (isinstance(focus, Editing) and focus.setting == key)
        or any(isinstance(effect, ActionRun | Committed) and effect.key == key for effect in effects)
        or bool(device.state.path and device.state.path[-1].menu == key)
        or (not events and key in (route.design.home.turn, route.design.home.held_turn))
    )


@pytest.mark.parametrize("name", DEMO_NAMES)
def test_every_part_of_a_demo_has_a_route_whose_trace_does_what_it_says(name: str) -> None:
    model = demo(name)
    found = find_least_routes(model, make_initial_state(model.design), parts(model))

    assert found.undecided == {}
    assert found.routes.keys() == set(parts(model))
    for key, route in found.routes.items():
        assert reaches(route, key), (key, route.trace)
        assert route.tally == count_gestures(route.way)


def test_traces_of_generated_designs_do_what_they_say() -> None:
    for seed, model in small_models(sampled(500, 60)):
        for key, route in find_least_routes(model, make_initial_state(model.design), parts(model)).routes.items():
            assert reaches(route, key), (seed, key, route.trace)


def test_a_hidden_entry_is_reached_over_the_setting_that_shows_it() -> None:
    model = demo("radio")
    route = find_least_routes(model, make_initial_state(model.design), ["mw"]).routes["mw"]

    assert route.changed == ("station", "band")
    assert route.reported == ()


def test_what_needs_a_report_says_which() -> None:
    model = demo("proofer")
    route = find_least_routes(model, make_initial_state(model.design), ["heat-off"]).routes["heat-off"]

    assert route.reported == ("heat",)
    assert route.tally.reports == 1


def test_a_route_to_a_condition_ends_where_it_holds() -> None:
    model = demo("radio")
    start = make_initial_state(model.design)
    condition = All((Equal("station", "by-hand"), AtLeast("bass", 3)))
    route = find_least_route_to_condition(model, start, condition)

    assert route is not None
    # With the knob held a detent is worth ten steps, and the bass ends at 6.
    assert get_value(model.design, route.end, "bass") == 6
    assert get_value(model.design, route.end, "station") == 4
    assert route.changed == ("station", "bass")


def test_a_route_to_a_value_keeps_it_in_as_few_gestures_as_any() -> None:
    compared = 0
    for seed, model in small_models(sampled(300, 25)):
        start = make_initial_state(model.design)
        everything = walks(model.design, start, frozen=False, reports=False)
        if not everything.done:
            continue
        fewest: dict[tuple[str, int | str], int] = {}
        for node, distance in distances(everything, model.weights).items():
            state = everything.states[node]
            if state.focus is None:
                for setting in model.design.settings:
                    at = (setting.key, get_value(model.design, state, setting.key))
                    fewest[at] = min(fewest.get(at, distance), distance)
        for (key, value), weight in fewest.items():
            route = find_least_route_to_value(model, start, key, value)
            assert route is not None, (seed, key, value)
            assert model.weights.weigh_way(route.way) == weight, (seed, key, value)
            compared += 1

    assert compared > 100


def test_a_route_to_a_screen_opens_it() -> None:
    model = demo("instrument")
    route = find_least_route_to_screen(model, make_initial_state(model.design), Mode.EDITING, "threshold")

    assert route is not None
    assert identify_screen(route.end) == (Mode.EDITING, "threshold")


@pytest.mark.parametrize(("name", "key", "value"), [("radio", "volume", 25), ("proofer", "target", 340)])
def test_a_route_to_a_value_beyond_a_limit_moves_the_limit_first(name: str, key: str, value: int) -> None:
    model = demo(name)
    start = make_initial_state(model.design)
    route = find_least_route_to_value(model, start, key, value)

    assert route is not None
    assert get_value(model.design, route.end, key) == value
    assert route.end.focus is None
    assert not route.proved
    assert set(route.changed) > {key}


def test_a_value_that_no_one_can_set_has_no_route() -> None:
    model = demo("radio")

    assert find_least_route_to_value(model, make_initial_state(model.design), "volume", 99) is None
