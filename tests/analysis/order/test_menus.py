"""Better orders of whole designs: what is advised is followed, and counted again."""

from __future__ import annotations

import itertools
import random
from pathlib import Path

import attrs
import pytest

from knobmenu.analysis.cost.profile import Profile, make_even_profile, read_profile
from knobmenu.analysis.cost.report import report_costs
from knobmenu.analysis.order.grouping import count_grouping_cost, find_least_grouping, group_menu
from knobmenu.analysis.order.menus import OrderRules, find_usage, list_trips, order_menus, reorder
from knobmenu.analysis.order.report import orders_to_plain, write_order_page, write_verdict
from knobmenu.cli.main import main
from knobmenu.design.home import Home
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Switch
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError
from knobmenu.files.disk import load
from tests.demos.playing import DEMOS, demo

RADIO_USE = """format = 1
use = { station = 30, bass = 1, treble = 1, alarm = 10, alarm-time = 12, sleep = 20, light = 3 }
leaving = { long-press = 1 }
"""


def switches(count: int, **menu: object) -> Design:
    keys = [f"s{number}" for number in range(count)]
    return Design(
        name="Switches",
        settings=[Switch(key=key, label=key) for key in keys],
        menus=[Menu(key="main", label="Main", entries=[*keys, "back"], **menu)],  # type: ignore[arg-type]
        home=Home(press="main"),
    )


@pytest.mark.parametrize("reopens", ["first", "last-used"])
@pytest.mark.parametrize("leaving", ["back", "long-press", "idle"])
def test_the_gain_that_is_promised_is_the_gain_that_is_counted(reopens: str, leaving: str) -> None:
    chance = random.Random(f"{reopens} {leaving}")
    design = switches(7, reopens=reopens)
    profile = Profile({f"s{number}": chance.randint(0, 9) for number in range(7)})
    profile = attrs.evolve(profile, leaving={leaving: 1.0})
    for moves_back in (False, True):
        orders = order_menus(design, profile=profile, rules=OrderRules(moves_back=moves_back))
        better = reorder(design, orders)
        gain = sum(order.present - order.solution.cost for order in orders)
        before, after = report_costs(design, profile=profile), report_costs(better, profile=profile)
        assert before.expected - after.expected == pytest.approx(gain)


def test_no_order_of_a_small_menu_is_counted_cheaper_than_the_one_that_is_advised() -> None:
    design = switches(4, reopens="last-used")
    profile = read_profile("format = 1\nuse = { s0 = 1, s1 = 5, s2 = 2, s3 = 9 }\nleaving = { idle = 1 }\n", design)
    (advised,) = order_menus(design, profile=profile, rules=OrderRules(moves_back=True))
    menu = design.menus[0]
    counted = [
        report_costs(attrs.evolve(design, menus=[attrs.evolve(menu, entries=entries)]), profile=profile).expected
        for entries in itertools.permutations(menu.entries)
    ]

    assert report_costs(reorder(design, [advised]), profile=profile).expected == pytest.approx(min(counted))


def test_with_the_back_entry_last_and_people_leaving_by_it_every_order_is_as_good() -> None:
    design = switches(6)
    (found,) = order_menus(design, profile=make_even_profile(design))

    assert not found.changes


def test_rules_are_kept() -> None:
    design = demo("radio")
    profile = read_profile(RADIO_USE, design)
    rules = OrderRules(pinned=("tone",), first=("waking",), sequence=(("sleep", "station"),))
    orders = order_menus(design, profile=profile, menus=["main"], rules=rules)
    entries = [entry.target for entry in reorder(design, orders).index.menus["main"].entries]

    assert entries[0] == "waking"
    assert entries.index("tone") == 4
    assert entries.index("sleep") < entries.index("station")
    assert entries[-1] == "back"


@pytest.mark.parametrize(
    ("rules", "menus", "said"),
    [
        (OrderRules(pinned=("stat",)), None, "station"),
        (OrderRules(), ["men"], "main"),
        (OrderRules(first=("tone",), sequence=(("waking", "tone"),)), ["main"], "constraints"),
    ],
)
def test_rules_that_cannot_be_kept_are_refused(rules: OrderRules, menus: list[str] | None, said: str) -> None:
    with pytest.raises(DesignError, match=said):
        order_menus(demo("radio"), menus=menus, rules=rules)


def test_a_hidden_entry_takes_no_detent() -> None:
    design = demo("radio")
    trips = list_trips(find_usage(design, read_profile(RADIO_USE, design)), "main")

    # Band, FM and MW are hidden while the station is not tuned by hand.
    assert all(trip.shown[1:4] == (0, 0, 0) for trip in trips.trips)


def test_the_better_design_is_written_with_its_comments(tmp_path: Path) -> None:
    use, better = tmp_path / "use.toml", tmp_path / "better.toml"
    use.write_text(RADIO_USE, encoding="utf-8")
    design = DEMOS / "radio.toml"

    assert main(["order", str(design), "--profile", str(use), "-o", str(better)]) == 0
    comments = [line.partition("#")[2] for line in design.read_text(encoding="utf-8").splitlines() if "#" in line]
    text = better.read_text(encoding="utf-8")
    assert all(comment in text for comment in comments)
    profile = read_profile(RADIO_USE, load(design))
    assert load(better) == reorder(load(design), order_menus(load(design), profile=profile))
    assert load(better) != load(design)


def test_the_orders_are_told_as_words_data_and_a_page() -> None:
    design = demo("proofer")
    orders = order_menus(design)
    before, after = report_costs(design), report_costs(reorder(design, orders))

    assert "1 of 5 menus" in write_verdict(orders, before, after)[0]
    assert orders_to_plain(design, orders, before, after)["menus"][0]["proved"]
    assert "<table>" in write_order_page(design, orders, before, after)


# Grouping.


def test_a_grouping_costs_what_the_best_of_all_costs() -> None:
    chance = random.Random(2)
    for _ in range(60):
        count = chance.randint(1, 8)
        weights = [chance.choice((0.0, 1.0, 3.0, chance.random())) for _ in range(count)]
        by_back, most, longest = chance.choice((0.0, 0.5, 1.0)), chance.randint(1, 5), chance.randint(1, 8)
        cuts = [
            (0, *rest)
            for length in range(count)
            for rest in itertools.combinations(range(1, count), length)
            if length < most and all(b - a <= longest for a, b in itertools.pairwise((0, *rest, count)))
        ]
        if not cuts:
            with pytest.raises(ValueError, match="do not fit"):
                find_least_grouping(weights, by_back, most, longest)
            continue
        best = min(count_grouping_cost(weights, starts, by_back) for starts in cuts)
        found = find_least_grouping(weights, by_back, most, longest)
        assert found.cost == pytest.approx(best)
        assert count_grouping_cost(weights, found.starts, by_back) == pytest.approx(found.cost)


def test_a_grouped_menu_costs_what_its_grouping_says() -> None:
    design = switches(9)
    profile = read_profile("format = 1\nuse = { s0 = 1, s4 = 5, s5 = 2, s8 = 9 }\nleaving = { back = 1 }\n", design)
    grouped, found = group_menu(design, find_usage(design, profile), "main", most_groups=4, longest=5)

    # The press at home that opens the list, and the one that turns the switch over.
    assert report_costs(grouped, profile=profile).expected == pytest.approx(found.cost + 2)
    assert {setting.key for setting in grouped.settings} == {setting.key for setting in design.settings}
