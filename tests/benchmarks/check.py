"""How fast a check is, and the searches under it; each figure from a process of its own.

Goals, on one core in processor time: check and cost of the instrument together under 2 s, of the other demos under
0.2 s after imports; a check of 10,000 entries under 10 s; a search of 10 million table states under 5 s and 1 GiB; at
one million at least 25 times networkx building and searching the same graph in the same run.
"""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from pathlib import Path

from knobmenu.analysis.abstraction import Abstraction
from knobmenu.analysis.check import check_design
from knobmenu.analysis.cones import Cone
from knobmenu.analysis.reachability import Model, build_model, search
from knobmenu.analysis.sites import HOME, Site, Sites
from knobmenu.design.conditions import All, AtLeast, Condition, Equal
from knobmenu.design.conditions import Any as AnyOf
from knobmenu.design.hardware import Lamp
from knobmenu.design.home import Home
from knobmenu.design.kinds import Setting
from knobmenu.design.menu import Entry, Menu
from knobmenu.design.settings import Choice, Number, Option, Switch
from knobmenu.design.whole import Design
from knobmenu.files import load
from tests.benchmarks._alone import most_memory, run_alone

DEMOS = Path(__file__).parents[2] / "demos"
OPTIONS = 4


def large_design(menus: int = 100, entries: int = 100) -> Design:
    """Make a design of `menus` times `entries` entries; three in four have a condition."""
    chance = random.Random(1)
    settings: list[Setting] = []
    lists: list[Menu] = []
    for menu in range(menus):
        options = [Option(key=f"o{number}", label=f"Option {number}") for number in range(OPTIONS)]
        switch = Switch(key=f"switch{menu}", label=f"Switch {menu}")
        choice = Choice(key=f"choice{menu}", label=f"Choice {menu}", options=options)
        settings += [switch, choice]
        rows: list[Entry | str] = [switch.key, choice.key]
        for number in range(entries - 3):
            key, other = f"number{menu}-{number}", chance.randrange(menu + 1)
            settings.append(Number(key=key, label=f"Number {number}", low=0, high=100, initial=50))
            conditions: tuple[Condition | None, ...] = (
                Equal(f"switch{other}", True),
                Equal(f"choice{other}", f"o{chance.randrange(OPTIONS)}"),
                All([AtLeast(f"number{menu}-{max(number - 1, 0)}", chance.randrange(100)), Equal(switch.key, False)]),
                None,
            )
            rows.append(Entry(key, shown_if=conditions[number % 4]))
        lists.append(Menu(key=f"menu{menu}", label=f"Menu {menu}", entries=[*rows, "back"]))
    main = Menu(key="main", label="Main", entries=[menu.key for menu in lists])
    return Design(name="large", settings=settings, menus=[main, *lists], home=Home(press="main"))


def table_design(choices: int, menus: int) -> Design:
    """Make a design whose every list hangs on two of its choices: ``4 ** choices * (menus + 2)`` table states."""
    options = [Option(key=f"o{number}", label=f"Option {number}") for number in range(OPTIONS)]
    settings = [Choice(key=f"c{number}", label=f"Choice {number}", options=options) for number in range(choices)]
    lists = []
    rows: list[Entry | str] = ["c0"]
    for menu in range(menus):
        one, other = settings[menu % choices].key, settings[(menu * 2 + 1) % choices].key
        rows.append(Entry(f"m{menu}", shown_if=AnyOf([Equal(one, "o0"), Equal(other, f"o{menu % 2}")])))
        edited = settings[(menu + 1) % choices].key
        lists.append(Menu(key=f"m{menu}", label=f"Menu {menu}", entries=[edited, "back"]))
    main = Menu(key="main", label="Main", entries=rows)
    lamps = [  # each tells all four options of a choice apart
        Lamp(key=f"lamp-{part.key}", label=part.label, lit_if=AnyOf([Equal(part.key, "o1"), Equal(part.key, "o2")]))
        for part in settings
    ]
    return Design(name="table", settings=settings, menus=[main, *lists], lamps=lamps, home=Home(press="main"))


def table_model(choices: int, menus: int) -> Model:
    """Build the model of a table design, every choice and every list in it."""
    design = table_design(choices, menus)
    sites = Sites(design)
    cone = Cone(frozenset(setting.key for setting in design.settings), frozenset(sites.all))
    return build_model(Abstraction(design), sites, cone)


def time_demos() -> None:
    """Print how long a check of each demo takes."""
    for path in sorted(DEMOS.glob("*.toml")):
        design = load(path)
        start_s = time.process_time()
        report = check_design(design)
        print(f"check {path.stem:12} {time.process_time() - start_s:6.3f} s, {report.states} abstract states")


def time_large() -> None:
    """Print how long a check of 10,000 entries takes."""
    design = large_design()
    start_s = time.process_time()
    report = check_design(design)
    print(f"check of 10,000 entries: {time.process_time() - start_s:.2f} s, {report.states:,} abstract states")


def time_ten_million() -> None:
    """Print how long a search takes, its model and masks included, and the memory of the whole process."""
    start_s = time.process_time()
    model = table_model(9, 38)
    reached = search(model)
    took_s = time.process_time() - start_s
    print(
        f"search of {model.size:,} table states: {took_s:.2f} s, {reached.count():,} reached, {most_memory():.0f} MiB"
    )


def time_one_million_against_networkx() -> None:
    """Print the ratio to networkx, which builds and searches the same graph in the same process."""
    import networkx  # type: ignore[import-untyped]

    start_s = time.process_time()
    model = table_model(8, 14)
    reached = search(model)
    ours_s = time.process_time() - start_s
    edges = list(explicit_edges(model))
    start_s = time.process_time()
    graph = networkx.DiGraph()
    graph.add_edges_from(edges)
    start = (HOME, model.space.join_number([0] * len(model.space.variables)))
    lengths = networkx.single_source_shortest_path_length(graph, start)
    theirs_s = time.process_time() - start_s
    depths = {
        (site, number): depth
        for depth, layer in enumerate(reached.layers)
        for site, bits in layer.items()
        for number in _numbers(bits)
    }
    assert lengths == depths, "the two searches disagree"
    print(
        f"{model.size:,} table states, {len(edges):,} edges: ours {ours_s:.3f} s, networkx {theirs_s:.2f} s,"
        f" {theirs_s / ours_s:.0f} times"
    )


Node = tuple[Site, int]


def explicit_edges(model: Model) -> Iterator[tuple[Node, Node]]:
    """Walk every edge of a model one by one, for a library that wants them so."""
    space = model.space
    for move in model.moves:
        if move.assumed:
            continue
        for number in _numbers(space.mask(move.way.when, True)):
            if not move.operations:
                yield (move.source, number), (move.to, number)
                continue
            ((place, _),) = move.operations
            stride = space.strides[place]
            base = number - number // stride % OPTIONS * stride
            for state in range(OPTIONS):
                yield (move.source, number), (move.to, base + state * stride)


def _numbers(bits: int) -> list[int]:
    return [number for number, digit in enumerate(bin(bits)[:1:-1]) if digit == "1"]


def main() -> None:
    """Print the figures."""
    for name in ("time_demos", "time_large", "time_ten_million", "time_one_million_against_networkx"):
        print(run_alone("tests.benchmarks.check", name), end="")


if __name__ == "__main__":
    main()
