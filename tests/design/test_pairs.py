"""The order of settings that limit each other: topological without cycles, and every cycle refused by its members."""

from __future__ import annotations

import re
from itertools import pairwise

import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.domains import get_domain
from knobmenu.design.home import Home
from knobmenu.design.limits import find_limit_problems
from knobmenu.design.menu import Menu
from knobmenu.design.pairs import Pair, find_cycles, group_pairs, order_pairs
from knobmenu.design.settings import Number
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError
from knobmenu.machine.changing import assign, get_number
from knobmenu.machine.state import make_initial_state

KEYS = "abcdefgh"


def graphs(acyclic: bool) -> st.SearchStrategy[list[Pair]]:
    """Pairs of different keys; where acyclic, each from an earlier key to a later one in a drawn order."""
    drawn = st.lists(st.tuples(st.sampled_from(KEYS), st.sampled_from(KEYS)).filter(lambda two: two[0] != two[1]))
    if not acyclic:
        return drawn.map(lambda pairs: list(dict.fromkeys(Pair(*two) for two in pairs)))
    return st.tuples(drawn, st.permutations(KEYS)).map(
        lambda made: list(dict.fromkeys(Pair(*sorted(two, key=made[1].index)) for two in made[0]))
    )


@given(graphs(acyclic=False))
def test_cycles_are_found_where_networkx_finds_them_and_name_every_member(pairs: list[Pair]) -> None:
    """Against the strongly connected components that networkx computes."""
    graph = networkx.DiGraph(pairs)
    members = {key for part in networkx.strongly_connected_components(graph) if len(part) > 1 for key in part}
    cycles = list(find_cycles(pairs))
    for cycle in cycles:
        assert cycle[0] == cycle[-1]
        assert all(Pair(*two) in pairs for two in pairwise(cycle))
    assert bool(cycles) == bool(members)
    assert {key for cycle in cycles for key in cycle} <= members


@given(graphs(acyclic=True))
def test_a_pair_comes_after_every_pair_that_can_move_its_lower_setting(pairs: list[Pair]) -> None:
    ordered = order_pairs(KEYS, pairs)
    assert sorted(ordered) == sorted(pairs)
    for place, pair in enumerate(ordered):
        assert all(other.upper != pair.lower for other in ordered[place:])


@given(graphs(acyclic=True))
def test_groups_hold_the_pairs_that_are_joined(pairs: list[Pair]) -> None:
    """Against the weakly connected components that networkx computes."""
    ordered = order_pairs(KEYS, pairs)
    groups = group_pairs(ordered)
    graph = networkx.DiGraph(pairs)
    assert set(groups) == set(graph)
    for part in networkx.weakly_connected_components(graph):
        inside = tuple(pair for pair in ordered if pair.lower in part)
        assert all(groups[key] == inside for key in part)


@st.composite
def bound_designs(draw: st.DrawFn) -> Design:
    """Numbers from 0 to 60 in different steps that limit each other in a web without cycles."""
    order = draw(st.permutations(KEYS[:6]))
    steps = {key: draw(st.sampled_from((1, 2, 3, 4))) for key in order}
    settings = []
    for place, key in enumerate(order):
        below: list[int | str] = [0, *order[:place]]
        above: list[int | str] = [60, *order[place + 1 :]]
        low, high = draw(st.sampled_from(below)), draw(st.sampled_from(above))
        settings.append(Number(key=key, label=key, low=low, high=high, initial=12, step=steps[key]))
    return Design(name="Web", home=Home(press="m"), settings=settings, menus=(Menu(key="m", label="M", entries=["a"]),))


@given(bound_designs(), st.data())
def test_a_push_moves_no_more_than_it_must_and_keeps_every_pair(design: Design, data: st.DataObject) -> None:
    """Against repeating the single pushes until nothing moves any more, in whatever order they come."""
    values = make_initial_state(design).values
    for _ in range(6):
        key = data.draw(st.sampled_from(sorted(design.index.settings)))
        value = data.draw(st.sampled_from(get_domain(design, key)))
        expected = {name: get_number(design, values, name) for name in design.index.settings}
        rises = value > expected[key]
        expected[key] = value
        pairs = data.draw(st.permutations(design.index.pairs))
        for _ in range(len(pairs) + 1):
            for lower, upper in pairs:
                if expected[lower] > expected[upper]:
                    moved, bound = (upper, expected[lower]) if rises else (lower, expected[upper])
                    fitting = [one for one in get_domain(design, moved) if (one >= bound if rises else one <= bound)]
                    expected[moved] = min(fitting) if rises else max(fitting)
        values = assign(design, values, key, value)
        assert {name: get_number(design, values, name) for name in design.index.settings} == expected


def setting(key: str, low: int | str, high: int | str) -> Number:
    return Number(key=key, label=key, low=low, high=high, initial=5)


@pytest.mark.parametrize(
    ("settings", "path", "cycle"),
    [
        ([setting("a", "b", "b"), setting("b", 0, 9)], r"settings\.a\.(low|high)", "ab"),
        ([setting("a", "c", "b"), setting("b", 0, "c"), setting("c", 0, 9)], r"settings\..\.(low|high)", "abc"),
        ([setting("a", "c", 9), setting("b", "a", 9), setting("c", "b", 9)], r"settings\..\.low", "abc"),
    ],
)
def test_a_cycle_of_limits_is_refused_with_its_members(settings: list[Number], path: str, cycle: str) -> None:
    with pytest.raises(DesignError) as refused:
        Design(name="Cycle", home=Home(press="a"), settings=settings)
    (problem,) = refused.value.problems
    assert re.fullmatch(path, problem.path)
    assert all(f'"{key}"' in problem.got for key in cycle)
    assert problem.got.startswith("the cycle ")


def test_a_pair_that_both_declare_is_no_cycle() -> None:
    both = {one.key: one for one in (setting("a", 0, "b"), setting("b", "a", 9))}
    assert list(find_limit_problems(both)) == []


def test_a_chain_of_1500_limits_pushes_from_end_to_end() -> None:
    keys = [f"n{place}" for place in range(1500)]
    limits: list[str | int] = [*keys[1:], 9]
    settings = [setting(key, 0, above) for key, above in zip(keys, limits, strict=True)]
    design = Design(name="Chain", home=Home(turn="n0"), settings=settings)

    raised = assign(design, make_initial_state(design).values, "n0", 7)
    lowered = assign(design, raised, "n1499", 2)

    assert {get_number(design, raised, key) for key in keys} == {7}
    assert {get_number(design, lowered, key) for key in keys} == {2}
