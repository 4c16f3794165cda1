"""The report of a design's costs, under profiles, as words, data, pages and pictures."""

from __future__ import annotations

import json
import random
import subprocess
import time
from functools import cache
from shutil import which
from xml.etree import ElementTree

import pytest

from knobmenu.analysis.cost.gestures import count_gestures, perform_all, time_gestures
from knobmenu.analysis.cost.letters import Digrams, count_keystrokes, count_text_keystrokes, load_digrams
from knobmenu.analysis.cost.page import write_cost_page, write_verdict
from knobmenu.analysis.cost.picture import draw_heat_picture, draw_value_picture
from knobmenu.analysis.cost.plain import report_to_plain
from knobmenu.analysis.cost.profile import make_even_profile, read_profile
from knobmenu.analysis.cost.report import Cost, Report, report_costs
from knobmenu.analysis.cost.routes import Model
from knobmenu.analysis.cost.track import Track
from knobmenu.analysis.cost.values import measure_value_cost, measure_value_costs
from knobmenu.design.home import Gestures, Home
from knobmenu.design.menu import Menu
from knobmenu.design.settings import Digits, Switch, TextSetting
from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.machine.state import get_value, make_initial_state
from knobmenu.trace import format_trace, parse_trace
from tests.analysis.cost.count_digrams import count_digrams
from tests.demos.playing import demo

DEMO_NAMES = ("darkroom", "instrument", "proofer", "radio")


@cache
def report_of(name: str) -> Report:
    return report_costs(demo(name))


@pytest.fixture(scope="module", params=DEMO_NAMES)
def report(request: pytest.FixtureRequest) -> Report:
    return report_of(request.param)


def cost(report: Report, key: str) -> Cost:
    return next(cost for cost in report.costs if cost.key == key)


def test_every_setting_and_action_is_counted(report: Report) -> None:
    design = report.design

    assert [cost.key for cost in report.costs] == [part.key for part in (*design.settings, *design.actions)]
    assert all(cost.home is not None and cost.expected is not None for cost in report.costs)


def test_the_home_route_is_never_longer_than_the_one_from_power_on(report: Report) -> None:
    for cost in report.costs:
        assert cost.home is not None
        assert cost.power_on is not None
        assert cost.home.tally.gestures <= cost.power_on.tally.gestures


def test_every_way_to_a_value_keeps_it_when_it_is_played(report: Report) -> None:
    chance, played = random.Random(4), 0
    for cost in report.costs:
        if cost.values is None or cost.home is None:
            continue
        for item in chance.sample(cost.values.listed, min(len(cost.values.listed), 12)):
            for way in (item.plain, item.held, item.fast):
                if way is None:
                    continue
                device = Device(report.design, cost.home.start)
                for event in time_gestures(report.design, cost.home.start, (*cost.home.way, *way)):
                    device.tell(event)
                assert device.state.focus is None
                assert get_value(report.design, device.state, cost.key) == item.value, (cost.key, item)
                played += 1
    assert played


def _has_fast_turning(report: Report) -> bool:
    return bool(report.design.knob.acceleration)


def test_a_written_way_of_fast_turning_is_read_back_as_fast() -> None:
    written = 0
    for report in map(report_of, DEMO_NAMES):
        for cost in report.costs:
            if cost.values is None or cost.power_on is None or cost.home is None or cost.power_on.way != cost.home.way:
                continue
            fast = [(item.value, item.fast) for item in cost.values.listed if item.fast is not None]
            for value, way in fast[-3:]:
                trace = format_trace(time_gestures(report.design, cost.power_on.start, (*cost.power_on.way, *way)))
                device = Device(report.design)
                device.tell_all(parse_trace(trace))
                assert get_value(report.design, device.state, cost.key) == value
                written += 1
    assert written


def test_a_trace_from_power_on_has_no_turn_that_the_knob_takes_for_a_fast_one(report: Report) -> None:
    for cost in report.costs:
        assert cost.power_on is not None
        device = Device(report.design)
        device.tell_all(parse_trace(cost.power_on.trace))
        plain, _ = perform_all(report.design, cost.power_on.start, cost.power_on.way)
        assert device.state.values == plain.values
        assert device.state.path == plain.path


def test_fast_turning_takes_no_more_detents_than_plain(report: Report) -> None:
    compared = 0
    for cost in report.costs:
        for item in cost.values.listed if cost.values else ():
            if item.fast is not None and item.plain is not None:
                assert count_gestures(item.fast).gestures <= count_gestures(item.plain).gestures
                compared += 1
    assert compared or not _has_fast_turning(report)


def test_the_page_stands_alone_and_says_the_verdict_first(report: Report) -> None:
    html = write_cost_page(report)

    assert "http://" not in html.replace("http://www.w3.org/2000/svg", "")
    assert "https://" not in html
    assert "<script" not in html
    first = html[html.index("<p ") : html.index("</p>")]
    assert write_verdict(report)[0][:20] in first


def test_the_pictures_are_well_formed(report: Report) -> None:
    ElementTree.fromstring(draw_heat_picture(report))
    for cost in report.costs:
        if cost.values is not None and len(cost.values.listed) > 1:
            ElementTree.fromstring(draw_value_picture(report.design, cost.key, cost.values))


def test_the_report_goes_to_json(report: Report) -> None:
    plain = json.loads(json.dumps(report_to_plain(report)))

    assert len(plain["costs"]) == len(report.costs)
    assert plain["operators"]["detent"]["source"].startswith("Assumption")


def test_what_is_used_alone_is_the_mean() -> None:
    design = demo("radio")
    alone = report_costs(design, profile=read_profile("format = 1\nuse = { bass = 3 }\n", design))

    assert alone.expected == pytest.approx(cost(alone, "bass").expected)


def test_values_of_the_profile_are_averaged() -> None:
    design = demo("radio")
    text = "format = 1\nuse = { volume = 1 }\nvalues.volume = { 10 = 3, 11 = 1 }\n"
    report = report_costs(design, profile=read_profile(text, design))

    # From 8, by turning at home: two detents three times of four, and three.
    assert report.expected == pytest.approx(2.25)


def test_people_who_let_the_device_idle_do_nothing_to_leave() -> None:
    design = demo("radio")
    use = "format = 1\nuse = { bass = 1 }\nvalues.bass = { 1 = 1 }\n"
    by_back = report_costs(design, profile=read_profile(use, design)).expected
    by_hold = report_costs(design, profile=read_profile(use + "leaving = { long-press = 1 }\n", design)).expected
    by_idle = report_costs(design, profile=read_profile(use + "leaving = { idle = 1 }\n", design)).expected

    # Back: three entries on and a press, then, with the knob held, two screens on and a press. Hold: two.
    assert by_hold - by_idle == 2
    assert by_back > by_hold


def test_an_even_profile_uses_everything_alike() -> None:
    design = demo("radio")

    assert {make_even_profile(design).get_probability(part.key) for part in design.settings} == {1 / 21}


# Texts.


def three_keys() -> dict[str, int]:
    return {character: place for place, character in enumerate(" abcdefghijklmnopqrstuvwxyz")}


def test_three_key_text_entry_comes_near_the_published_keystrokes_per_character() -> None:
    """MacKenzie, "Mobile text entry using three keys", NordiCHI 2002: six methods, 10.66 the most.

    The abstract does not say which method has 10.66. With the cursor staying where it was, the digrams of the King
    James Version give 10.79; with the cursor back at the space, 10.20. Both are within 5 %, the first within 3 %.
    """
    row, digrams = Track(27), load_digrams()
    stays = count_keystrokes(row, three_keys(), digrams, Model(demo("radio")).weights)
    snaps = count_keystrokes(row, three_keys(), digrams, Model(demo("radio")).weights, returns_to=0)

    assert stays.per_character == pytest.approx(10.79, abs=0.01)
    assert stays.per_character == pytest.approx(10.66, rel=0.03)
    assert snaps.per_character == pytest.approx(10.66, rel=0.05)
    assert stays.covered == 1


@pytest.mark.parametrize("count", [5, 27, 31])
def test_equally_likely_characters_take_what_the_formula_says(count: int) -> None:
    """Uniform over n places, back at the first one: (n - 1) / 2 detents; on a ring of odd n (n * n - 1) / (4 n)."""
    characters = "abcdefghijklmnopqrstuvwxyz01234"[:count]
    even = Digrams("even", "none", characters, tuple((1,) * count for _ in range(count)))
    places = {character: place for place, character in enumerate(characters)}
    weights = Model(demo("radio")).weights

    line = count_keystrokes(Track(count), places, even, weights, returns_to=0).per_character
    ring = count_keystrokes(Track(count, wraps=True), places, even, weights, returns_to=0).per_character
    assert line == pytest.approx((count - 1) / 2 + 1)
    assert ring == pytest.approx((count * count - 1) / (4 * count) + 1)


def test_the_digrams_are_those_of_the_named_text() -> None:
    digrams = load_digrams()

    assert "King James" in digrams.source
    assert len(digrams.characters) == len(digrams.counts) == 27
    assert sum(map(sum, digrams.counts)) == 4_012_107
    # Each character comes as often before another one as after one, since the text is closed to a ring.
    assert [sum(row) for row in digrams.counts] == [sum(column) for column in zip(*digrams.counts, strict=True)]


@pytest.mark.skipif(which("bible") is None, reason="the text is in the Debian packages bible-kjv and bible-kjv-text")
def test_the_digrams_can_be_counted_again() -> None:
    said = subprocess.run(["bible", "-f", "gen1:1-rev22:21"], capture_output=True, text=True, check=True).stdout

    assert tuple(map(tuple, count_digrams(said.splitlines()))) == load_digrams().counts


def test_a_text_that_holds_no_letters_has_no_keystrokes() -> None:
    setting = TextSetting(key="t", label="T", characters="01")

    assert count_text_keystrokes(setting, load_digrams(), Model(demo("radio")).weights, held=False) is None


def test_values_beyond_a_limit_are_not_counted() -> None:
    design = demo("radio")
    start = make_initial_state(design)
    values = measure_value_costs(design, start, "volume", Model(design).weights)

    assert values is not None
    assert [item.value for item in values.listed if item.least is None] == list(range(21, 31))
    assert measure_value_cost(design, start, "volume", 20, Model(design).weights).plain is not None


def test_the_instrument_is_counted_in_two_seconds_and_other_demos_in_a_fifth() -> None:
    seconds = {}
    for name in DEMO_NAMES:
        design = demo(name)
        before = time.process_time()
        report_costs(design)
        seconds[name] = time.process_time() - before

    # Twice what is aimed at: other work on the same machine slows this down, too.
    assert seconds["instrument"] < 4
    assert all(seconds[name] < 0.4 for name in DEMO_NAMES if name != "instrument")


def test_ten_thousand_entries_are_counted_in_ten_seconds() -> None:
    switches = [Switch(key=f"s{number}", label="S") for number in range(9_900)]
    menus = [
        Menu(key=f"m{number}", label="M", entries=[part.key for part in switches[100 * number : 100 * (number + 1)]])
        for number in range(99)
    ]
    main = Menu(key="main", label="Main", entries=[menu.key for menu in menus])
    design = Design(name="Large", settings=switches, menus=[main, *menus], home=Home(press="main"))
    before = time.process_time()
    report = report_costs(design)

    assert time.process_time() - before < 20
    assert all(cost.home is not None for cost in report.costs)


def test_values_of_digits_turned_at_home_cost_their_distance_and_are_kept_when_played() -> None:
    frequency = Digits(key="frequency", label="Frequency", low=875, high=1080, initial=1000, decimals=1)
    design = Design(
        name="Tuner", settings=[frequency], home=Home(turn="frequency"), gestures=Gestures(long_press="nothing")
    )
    start = make_initial_state(design)

    for value in (875, 999, 1000, 1080):
        way = measure_value_cost(design, start, "frequency", value, Model(design).weights).plain
        assert way is not None
        assert count_gestures(way).detents == abs(value - 1000)
        assert get_value(design, perform_all(design, start, way)[0], "frequency") == value
