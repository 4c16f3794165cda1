"""The abstraction is held to brute force: every state of small designs, found with `advance` alone."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from knobmenu.analysis.abstraction import Abstraction, TooLargeError
from knobmenu.analysis.cones import Cone, Cones
from knobmenu.analysis.projection import list_abstract_states, project
from knobmenu.analysis.reachability import build_model, search, search_back
from knobmenu.analysis.sites import HOME, Sites, walk_settings
from knobmenu.design.conditions import AtLeast, Equal
from knobmenu.design.home import Gestures, Home, Idle
from knobmenu.design.menu import Action, Entry, Menu
from knobmenu.design.settings import Number, Switch
from knobmenu.design.whole import Design
from tests.analysis.brute_force import Graph, at_home, explore, in_list, pressable, showing
from tests.analysis.strategies import chained_designs, explored_designs
from tests.sampling import sampled

EXAMPLES = sampled(1000, 60)


def assert_states_equal(design: Design, graph: Graph) -> None:
    """Search the states of all settings together, and compare them with those of brute force."""
    abstraction, sites = Abstraction(design), Sites(design)
    keys = frozenset(setting.key for setting in design.settings)
    reached = search(build_model(abstraction, sites, Cone(keys, frozenset(sites.all))))

    assert list_abstract_states(reached) == {project(abstraction, keys, state) for state in graph.states}


@settings(max_examples=EXAMPLES)
@given(explored_designs())
def test_projected_states_equal_those_of_brute_force(explored: tuple[Design, Graph]) -> None:
    assert_states_equal(*explored)


@settings(max_examples=EXAMPLES)
@given(chained_designs())
def test_states_of_settings_that_limits_tie_along_several_paths_equal_those_of_brute_force(design: Design) -> None:
    graph = explore(design)
    assert graph is not None, "the designs are bounded, so that none is skipped"
    assert_states_equal(design, graph)


def test_a_chain_of_limits_of_any_length_is_divided_into_classes_or_refused_as_too_large() -> None:
    length = 1500
    names = [f"s{place}" for place in range(length)]
    chain = [
        Number(key=key, label=key, low=names[place - 1] if place else 0, high=9, initial=3)
        for place, key in enumerate(names)
    ]
    entries = [*names[:-1], Entry(names[-1], shown_if=AtLeast("s0", 5))]
    design = Design(
        name="chain", settings=chain, menus=[Menu(key="list", label="list", entries=entries)], home=Home(press="list")
    )
    abstraction = Abstraction(design)

    assert [abstraction.cuts[key] for key in names] == [(5,)] * length
    with pytest.raises(TooLargeError):
        abstraction.get_variable("s0")


@settings(max_examples=EXAMPLES)
@given(explored_designs())
def test_verdicts_on_cones_equal_those_of_brute_force(explored: tuple[Design, Graph]) -> None:
    design, graph = explored
    abstraction, sites = Abstraction(design), Sites(design)
    cones = Cones(sites)
    home = at_home(graph)
    for menu in design.menus:
        for site in sites.of_menu[menu.key]:
            model = build_model(abstraction, sites, cones.build_cone([site]))
            reached = search(model)
            leaving = search_back(model, {HOME: model.space.full})
            stuck = bool(reached.get_states(site) & ~leaving.get(site, 0))

            assert bool(reached.get_states(site)) == bool(in_list(graph, site))
            assert stuck == bool(in_list(graph, site) - graph.back_from(home))

            empty = sites.build_empty_condition(menu.key)
            model = build_model(abstraction, sites, cones.build_cone([site], walk_settings(design, empty)))
            reached = search(model)

            assert bool(reached.get_states(site) & reached.mask(empty)) == any(
                graph.states[number].path[-1].entry < 0 for number in in_list(graph, site)
            )
        for entry in range(len(menu.entries)):
            shown, pressed = sites.get_shown_condition(menu.key, entry), sites.build_pressed_condition(menu.key, entry)
            found = [False, False, False]
            keys = [*walk_settings(design, shown), *walk_settings(design, pressed)]
            cone = cones.build_cone(sites.of_menu[menu.key], keys)
            model = build_model(abstraction, sites, cone)
            reached = search(model)
            goals = {site: reached.mask(pressed) for site in sites.of_menu[menu.key]}
            found[0] = any(reached.get_states(site) & reached.mask(shown) for site in sites.of_menu[menu.key])
            found[1] = any(reached.get_states(site) & goal for site, goal in goals.items())
            found[2] = bool(reached.get_states(HOME) & ~search_back(model, goals).get(HOME, 0))

            assert found == [
                bool(showing(graph, menu.key, entry)),
                bool(pressable(graph, menu.key, entry)),
                bool(home - graph.back_from(pressable(graph, menu.key, entry))),
            ]


def test_a_list_that_only_a_submenu_leads_home_from_ties_the_answer_to_that_way() -> None:
    """Nothing leaves the first list but an action in the second, which a condition may take away."""
    act = Action(key="act", label="act", then="home")
    switch = Switch(key="lock", label="lock", initial=False)
    inner = Menu(key="inner", label="inner", entries=[Entry("act", shown_if=Equal("lock", False)), "lock"])
    design = Design(
        name="small",
        settings=[switch],
        actions=[act],
        menus=[Menu(key="outer", label="outer", entries=["inner"]), inner],
        home=Home(press="outer"),
        idle=Idle(after_ms=0),
        gestures=Gestures(long_press="nothing"),
    )
    abstraction, sites = Abstraction(design), Sites(design)
    cone = Cones(sites).build_cone([("outer",)])
    model = build_model(abstraction, sites, cone)

    assert cone == Cone(frozenset({"lock"}), frozenset({HOME, ("outer",), ("outer", "inner")}))
    assert search_back(model, {HOME: model.space.full})[("outer",)] == model.space.full
