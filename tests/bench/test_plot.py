"""Pictures are well-formed and show the cause: what was turned, contacts, voltages, pins, samples, counts, errors."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.chain import Chain
from knobmenu.bench.chain_file import loads
from knobmenu.bench.excerpt import choose_view, find_slips
from knobmenu.bench.motion import Motion
from knobmenu.bench.plot import svg
from knobmenu.bench.plot.error_map import choose_colour, draw_error_map
from knobmenu.bench.plot.waveforms import draw_waveforms
from knobmenu.bench.run import Run, count, run
from knobmenu.bench.schedule import find_held_up_s
from knobmenu.bench.scope import View
from knobmenu.bench.sweep import Axis, Cell, Map
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


def drawn(done: Run, begin_s: float = 0.2, end_s: float = 0.7) -> ElementTree.Element:
    return ElementTree.fromstring(draw_waveforms(done, find_slips(done), View(begin_s, end_s - begin_s)))


def words(picture: ElementTree.Element) -> list[str]:
    return [part.text or "" for part in picture.iter(f"{SVG}text")]


def triangles(picture: ElementTree.Element) -> tuple[int, int]:
    """Count the filled triangles, which are right, and the hollow ones, which are wrong."""
    parts = list(picture.iter(f"{SVG}polygon"))
    return (
        sum(1 for part in parts if part.get("fill") == svg.COUNT),
        sum(1 for part in parts if part.get("stroke") == svg.WRONG),
    )


def shaded(picture: ElementTree.Element) -> list[tuple[str, float, float]]:
    """List the shaded stretches: what each means, and from where to where. [px]"""
    return [
        (part.get("class", ""), x, x + float(part.get("width", "0")))
        for part in picture.iter(f"{SVG}rect")
        if part.get("class")
        for x in [float(part.get("x", "0"))]
    ]


def test_a_picture_names_every_stage_with_both_phases() -> None:
    said = words(drawn(run(FILTERED, 1)))

    for stage in ("contact", "voltage", "pin"):
        assert f"{stage} A" in said
        assert f"{stage} B" in said
    assert {"turned", "samples", "counted", "rising 2.65 V", "falling 1.7 V", "0 to 5 V"} <= set(said)


def test_up_is_an_open_contact_and_a_high_pin_in_every_row() -> None:
    """Where the voltage is above both thresholds long after an edge, the pin's row is up, and so is the contact's."""
    done = run(FILTERED, 1)
    said = words(drawn(done))
    rest = drawn(done, 0.0, 0.01)
    rows = [part.get("d", "") for part in rest.iter(f"{SVG}path") if (part.get("d") or "").startswith("M150.0")]
    heights = [float(row.split()[1].split("H")[0]) for row in rows]
    volts = [part.get("points", "").split()[0] for part in rest.iter(f"{SVG}polyline")][1:]
    tops = [float(part.get("y1", "0")) for part in rest.iter(f"{SVG}line") if part.get("stroke-dasharray") == "5 4"]

    assert {"up: open, down: closed", "up: high, down: low"} <= set(said)
    assert done.contacts[0].first == done.pins[0].first == 0, "this knob rests with both contacts open"
    assert len(rows) == 4, "two contacts, two pins"
    # A row is 30 px high, the second one of a pair 46 px below the first: all four lie at their upper ends.
    assert np.diff(heights[:2]) == pytest.approx(46)
    assert np.diff(heights[2:]) == pytest.approx(46)
    assert float(volts[0].split(",")[1]) < min(tops[:2])
    ends = [part.get("d", "") for part in drawn(done).iter(f"{SVG}path") if part.get("d", "").startswith("M150.0")]
    for row, height in zip(ends, heights, strict=True):
        downs = [float(step.split("H")[0]) for step in row.split("V")[1:]]
        assert {round(down - height) for down in downs} == {0, 30}


def test_a_chain_without_a_capacitor_has_no_voltages_to_draw() -> None:
    assert not any(word.startswith("voltage") for word in words(drawn(run(PLAIN, 1))))


def test_every_edge_within_the_picture_is_a_step() -> None:
    done = run(PLAIN, 1)
    text = draw_waveforms(done, find_slips(done), View(0.2, 0.5))
    edges = sum(int(((one.changes_s > 0.2) & (one.changes_s < 0.7)).sum()) for one in (*done.contacts, *done.pins))

    assert len(re.findall(r"H[\d.]+V", text)) == edges > 50


def test_every_sample_is_a_tick_and_every_count_a_triangle_hollow_where_it_is_wrong() -> None:
    done = run(PLAIN, 1)
    picture = drawn(done, 0.0, done.motion.end_s)
    ticks = next(part.get("d", "") for part in picture.iter(f"{SVG}path") if part.get("stroke") == svg.SAMPLE)

    assert ticks.count("v16") == len(done.counting.samples_s)
    found = count(done)
    assert triangles(picture) == (6, found.extra + found.reversed)
    assert found.extra > 6


def test_counts_of_a_counter_clockwise_turn_go_with_the_hand() -> None:
    back = loads("[turning]\nkind = 'steady'\ndetents = -6\n[contact]\npreset = 'clean'")
    done = run(back, 1)
    picture = drawn(done, 0.0, done.motion.end_s)

    assert triangles(picture) == (6, 0)
    assert {"-1", "-6"} <= set(words(picture))


def test_the_voltage_is_drawn_where_it_is() -> None:
    """The lowest and the highest point of a curve are those of the supply and of a closed contact."""
    picture = drawn(run(FILTERED, 1), 0.0, 0.9)
    lines = [part.get("points", "") for part in picture.iter(f"{SVG}polyline")]
    heights = [[float(point.split(",")[1]) for point in line.split()] for line in lines[1:]]

    assert len(lines) == 3, "the angle of the hand and two voltages"
    assert [max(ys) - min(ys) for ys in heights] == pytest.approx([90, 90], abs=0.2)


@given(chains(), motions(), seeds, st.floats(0, 0.9), st.floats(0.01, 1))
def test_any_part_of_any_run_is_well_formed_and_within_the_picture(
    chain: Chain, moved: Motion, seed: int, from_share: float, length_share: float
) -> None:
    done = send(chain, moved, seed)
    begin_s = done.motion.end_s * from_share
    end_s = min(begin_s + done.motion.end_s * length_share, done.motion.end_s)
    picture = drawn(done, begin_s, end_s)
    high = float(picture.get("height", "0"))

    for part in picture.iter():
        for key in ("x", "x1", "x2", "y", "y1", "y2"):
            if key in part.attrib:
                limit = svg.WIDTH if key[0] == "x" else high
                assert -6 <= float(part.attrib[key]) <= limit + 6
        for key in ("d", "points"):
            assert "nan" not in part.attrib.get(key, "")


@pytest.mark.parametrize("span_s", [1e-5, 1e-3, 0.1, 3.0, 1000.0])
def test_the_time_axis_has_a_few_round_marks_whatever_the_span(span_s: float) -> None:
    picture = drawn(run(PLAIN, 1), 0.1, 0.1 + span_s)
    marks = [float(word) for word in words(picture) if re.fullmatch(r"[\d.e+-]+", word) and float(word) >= 100]
    steps = np.diff(marks)

    assert 2 <= len(marks) <= 14
    assert np.allclose(steps, steps[0], rtol=1e-3)
    assert round(steps[0] / 10 ** math.floor(math.log10(steps[0]) + 1e-9), 3) in (1, 2, 5)


HELD_UP = {
    "blocked": loads(
        "[turning]\nkind = 'steady'\ndetents = 6\n[reader]\nkind = 'polled'\nblocked_for_ms = 12\nblocked_every_ms = 60"
    ),
    "masked": loads(
        "[turning]\nkind = 'steady'\ndetents = 6\n[reader]\nkind = 'timer'\nmasked_for_ms = 12\nmasked_every_ms = 60"
    ),
}


@pytest.mark.parametrize("shade", HELD_UP)
def test_blocked_and_masked_time_is_shaded_where_nothing_is_sampled_and_named(shade: str) -> None:
    done = run(HELD_UP[shade], 1)
    picture = drawn(done, 0.2, 0.5)
    stretches = shaded(picture)
    scale = svg.TimeScale(0.2, 0.5)

    assert {name for name, _, _ in stretches} == {shade}
    assert 5 <= len(stretches) <= 7
    for _, left, right in stretches[1:-1]:
        assert right - left == pytest.approx(scale.find_x(0.212) - scale.find_x(0.2), abs=0.1)
    for at_s in scale.select_inside(done.counting.samples_s).tolist():
        assert not any(left + 0.1 < scale.find_x(at_s) < right - 0.1 for _, left, right in stretches)
    assert {"blocked": "main loop blocked", "masked": "interrupts masked"}[shade] in words(picture)


def test_the_shades_differ_without_colour() -> None:
    """Each tile has its own lines, or none."""
    tiles = [re.findall(r' d="([^"]+)"', tile) for tile in svg._SHADES.values()]

    assert len({tuple(lines) for lines in tiles}) == len(tiles)


def test_time_that_does_not_disturb_the_reader_is_not_shaded() -> None:
    undisturbed = loads("[reader]\nkind = 'timer'\nblocked_for_ms = 12\nblocked_every_ms = 60")
    done = run(undisturbed, 1)

    assert not shaded(drawn(done))
    assert find_held_up_s(undisturbed.reader, 1, 0.0, 10.0) == []


def test_a_lost_detent_is_hollow_and_the_first_error_is_marked_and_said() -> None:
    done = run(HELD_UP["blocked"], 1, 3.0)
    slips = find_slips(done)
    view = choose_view(done, slips)
    picture = ElementTree.fromstring(draw_waveforms(done, slips, view))
    dots = list(picture.iter(f"{SVG}circle"))
    marks = [one for one in picture.iter(f"{SVG}line") if one.get("stroke-dasharray") == "2 3"]

    assert slips[0].kind == "lost"
    assert any(dot.get("stroke") == svg.WRONG for dot in dots)
    assert [float(mark.get("x1", "0")) for mark in marks] == [
        pytest.approx(svg.TimeScale(view.begin_s, view.end_s).find_x(slips[0].at_s), abs=0.1)
    ]
    assert any(said.startswith(f"{slips[0].words}, ") for said in words(picture))


MAP = Map(
    across=Axis(path="reader.period_ms", values=(1.0, 2.0, 5.0)),
    down=Axis(path="filter.supply_v", values=(2.0, 5.0)),
    cells=((None, None, None), (Cell(0.0, True), Cell(0.012, False), Cell(1.2, False))),
    tolerated_error_rate=0.01,
)


def test_a_map_has_a_cell_for_each_pair_and_says_which_cannot_be() -> None:
    picture = ElementTree.fromstring(draw_error_map(MAP))
    tips = [part.text for part in picture.iter(f"{SVG}title")]

    assert len(tips) == 6
    assert tips.count("filter.supply_v 2, reader.period_ms 1: not a chain") == 1
    assert tips[-1] == "filter.supply_v 5, reader.period_ms 5: 120 %, too many"
    assert {"reader.period_ms", "filter.supply_v", "0", "1.2", "120", "tolerated: 1 %"} <= set(words(picture))


def test_the_tolerated_rate_is_a_line_between_the_cells_that_it_parts_and_a_mark_on_the_scale() -> None:
    picture = ElementTree.fromstring(draw_error_map(MAP))
    lines = [line for line in picture.iter(f"{SVG}line") if line.get("stroke-width") == "3"]
    border, mark = (float(line.get("x1", "0")) for line in lines)

    cells = [part for part in picture.iter(f"{SVG}rect") if part.find(f"{SVG}title") is not None]
    assert len(lines) == 2
    assert border == pytest.approx(float(cells[4].get("x", "0")), abs=1)
    one_percent = [part for part in picture.iter(f"{SVG}text") if part.text == "1 %"]
    assert mark == pytest.approx(float(one_percent[0].get("x", "0")), abs=0.1)


def lightness(shade: str) -> float:
    """Return the lightness L* of a colour (CIE 1976, from memory), which is what remains of it in grey."""
    red, green, blue = (int(shade[place : place + 2], 16) / 255 for place in (1, 3, 5))
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in (red, green, blue)]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return float(116 * np.cbrt(luminance) - 16 if luminance > 0.008856 else 903.3 * luminance)


def test_none_one_and_ten_percent_differ_clearly_also_in_grey() -> None:
    light = [lightness(choose_colour(rate)) for rate in (0.0, 0.001, 0.01, 0.1, 1.0)]

    assert (np.diff(light) < -8).all()
    assert (np.diff([light[0], light[2], light[3], light[4]]) < -20).all()
    assert choose_colour(1.0) == choose_colour(5.0)


def test_a_map_of_very_many_cells_is_still_well_formed() -> None:
    values = tuple(float(nth + 1) for nth in range(100))
    found = Map(
        across=Axis(path="a", values=values),
        down=Axis(path="b", values=values),
        cells=tuple(tuple(Cell(one * other / 1e4, one * other <= 100) for one in values) for other in values),
        tolerated_error_rate=0.01,
    )
    picture = ElementTree.fromstring(draw_error_map(found))

    assert sum(1 for _ in picture.iter(f"{SVG}title")) == 10_000


def test_of_counts_that_crowd_the_last_one_has_the_number() -> None:
    done = run(PLAIN, 1)
    picture = drawn(done, 0.0, done.motion.end_s)
    numbers = [
        float(part.get("x", "0"))
        for part in picture.iter(f"{SVG}text")
        if part.get("font-size") == "11" and part.get("text-anchor") == "middle"
    ]

    assert len(done.counting.counted) > len(numbers) > 1
    assert min(np.diff(numbers)) > 24
    assert str(int(done.counting.counted.sum())) in words(picture)
