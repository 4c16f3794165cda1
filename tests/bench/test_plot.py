"""Pictures are well-formed and show what happened: every contact, voltage, threshold, pin, look and count."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench import plot
from knobmenu.bench.chain import Chain
from knobmenu.bench.chain_file import loads
from knobmenu.bench.motion import Motion
from knobmenu.bench.run import Run, run
from knobmenu.bench.sweep import Axis, Map
from tests.bench.strategies import chains, motions, seeds, send

SVG = "{http://www.w3.org/2000/svg}"
FILTERED = loads(
    "[turning]\nkind = 'steady'\ndetents = 6\n[contact]\npreset = 'encoder-3ms'\n"
    "[filter]\ncapacitor_f = 1e-7\nrising_v = 2.65\nfalling_v = 1.7\n[decoder]\nkind = 'one-edge'"
)
PLAIN = loads(
    "[turning]\nkind = 'steady'\ndetents = 6\n[contact]\npreset = 'encoder-3ms'\n"
    "[reader]\nperiod_ms = 0.02\n[decoder]\nkind = 'one-edge'"
)


def drawn(chain: Chain, done: Run, begin_s: float = 0.2, end_s: float = 0.7) -> ElementTree.Element:
    return ElementTree.fromstring(plot.waveforms(chain, done, begin_s, end_s))


def words(picture: ElementTree.Element) -> list[str]:
    return [part.text or "" for part in picture.iter(f"{SVG}text")]


def triangles(picture: ElementTree.Element, colour: str) -> int:
    return sum(1 for part in picture.iter(f"{SVG}polygon") if part.get("fill") == colour)


def test_a_picture_names_every_stage_with_both_phases() -> None:
    said = words(drawn(FILTERED, run(FILTERED, 1)))

    for stage in ("contact", "voltage", "pin"):
        assert f"{stage} A" in said
        assert f"{stage} B" in said
    assert {"samples", "counted", "2.65 V", "1.7 V", "0 to 5 V"} <= set(said)


def test_a_chain_without_a_capacitor_has_no_voltages_to_draw() -> None:
    assert not any(word.startswith("voltage") for word in words(drawn(PLAIN, run(PLAIN, 1))))


def test_every_edge_within_the_picture_is_a_step() -> None:
    done = run(PLAIN, 1)
    text = plot.waveforms(PLAIN, done, 0.2, 0.7)
    edges = sum(int(((one.changes_s > 0.2) & (one.changes_s < 0.7)).sum()) for one in (*done.contacts, *done.pins))

    assert len(re.findall(r"H[\d.]+V", text)) == edges > 50


def test_every_look_is_a_tick_and_every_count_a_triangle_red_where_it_goes_against_the_hand() -> None:
    done = run(PLAIN, 1)
    picture = drawn(PLAIN, done, 0.0, done.motion.end_s)
    ticks = next(part.get("d", "") for part in picture.iter(f"{SVG}path") if part.get("stroke") == plot.SAMPLE)

    assert ticks.count("v16") == len(done.samples_s)
    assert triangles(picture, plot.COUNT) == int((done.counted > 0).sum()) > 6
    assert triangles(picture, plot.WRONG) == int((done.counted < 0).sum()) > 0


def test_counts_of_a_counter_clockwise_turn_go_with_the_hand() -> None:
    back = loads("[turning]\nkind = 'steady'\ndetents = -6\n[contact]\npreset = 'clean'")
    done = run(back, 1)
    picture = drawn(back, done, 0.0, done.motion.end_s)

    assert triangles(picture, plot.WRONG) == 0
    assert triangles(picture, plot.COUNT) == 6
    assert {"-1", "-6"} <= set(words(picture))


def test_the_voltage_is_drawn_where_it_is() -> None:
    """The lowest and the highest point of a curve are those of the supply and of a closed contact."""
    picture = drawn(FILTERED, run(FILTERED, 1), 0.0, 0.9)
    lines = [part.get("points", "") for part in picture.iter(f"{SVG}polyline")]
    heights = [[float(point.split(",")[1]) for point in line.split()] for line in lines]

    assert len(heights) == 2
    assert [max(ys) - min(ys) for ys in heights] == pytest.approx([90, 90], abs=0.2)


@given(chains(), motions(), seeds, st.floats(0, 0.9), st.floats(0.01, 1))
def test_any_part_of_any_run_is_well_formed_and_within_the_picture(
    chain: Chain, moved: Motion, seed: int, from_share: float, length_share: float
) -> None:
    done = send(chain, moved, seed)
    begin_s = done.motion.end_s * from_share
    end_s = min(begin_s + done.motion.end_s * length_share, done.motion.end_s)
    picture = drawn(chain, done, begin_s, end_s)
    high = float(picture.get("height", "0"))

    for part in picture.iter():
        for key in ("x", "x1", "x2", "y", "y1", "y2"):
            if key in part.attrib:
                limit = plot.WIDTH if key[0] == "x" else high
                assert -6 <= float(part.attrib[key]) <= limit + 6
        for key in ("d", "points"):
            assert "nan" not in part.attrib.get(key, "")


@pytest.mark.parametrize("span_s", [1e-5, 1e-3, 0.1, 3.0, 1000.0])
def test_the_time_axis_has_a_few_round_marks_whatever_the_span(span_s: float) -> None:
    picture = drawn(PLAIN, run(PLAIN, 1), 0.1, 0.1 + span_s)
    marks = [float(word) for word in words(picture) if re.fullmatch(r"[\d.e+-]+", word) and float(word) >= 100]
    steps = np.diff(marks)

    assert 2 <= len(marks) <= 14
    assert np.allclose(steps, steps[0], rtol=1e-3)
    assert round(steps[0] / 10 ** math.floor(math.log10(steps[0]) + 1e-9), 3) in (1, 2, 5)


def test_a_map_has_a_cell_for_each_pair_and_says_which_cannot_be() -> None:
    found = Map(
        across=Axis(path="reader.period_ms", values=(1.0, 2.0, 5.0)),
        down=Axis(path="filter.supply_v", values=(2.0, 5.0)),
        error_rates=((None, None, None), (0.0, 0.012, 1.2)),
    )
    picture = ElementTree.fromstring(plot.error_map(found))
    tips = [part.text for part in picture.iter(f"{SVG}title")]

    assert len(tips) == 6
    assert tips.count("filter.supply_v 2, reader.period_ms 1: not a chain") == 1
    assert tips[-1] == "filter.supply_v 5, reader.period_ms 5: 120.00%"
    assert {"reader.period_ms", "filter.supply_v", "0", "1.2", "120"} <= set(words(picture))


def test_more_errors_are_a_darker_cell() -> None:
    shades = [plot._heat(share) for share in (0.0, 0.001, 0.01, 0.1, 1.0, 5.0)]
    light = [sum(int(shade[place : place + 2], 16) for place in (1, 3, 5)) for shade in shades]

    assert light == sorted(light, reverse=True)
    assert shades[-1] == shades[-2]


def test_a_map_of_very_many_cells_is_still_well_formed() -> None:
    values = tuple(float(nth + 1) for nth in range(100))
    found = Map(
        across=Axis(path="a", values=values),
        down=Axis(path="b", values=values),
        error_rates=tuple(tuple(one * other / 1e4 for one in values) for other in values),
    )
    picture = ElementTree.fromstring(plot.error_map(found))

    assert sum(1 for _ in picture.iter(f"{SVG}title")) == 10_000


def test_of_counts_that_crowd_the_last_one_has_the_number() -> None:
    done = run(PLAIN, 1)
    picture = drawn(PLAIN, done, 0.0, done.motion.end_s)
    numbers = [float(part.get("x", "0")) for part in picture.iter(f"{SVG}text") if part.get("font-size") == "11"]

    assert len(done.counted) > len(numbers) > 1
    assert min(np.diff(numbers)) > 24
    assert str(int(done.counted.sum())) in words(picture)
