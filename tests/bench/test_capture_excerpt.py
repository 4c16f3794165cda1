"""A part of a capture that is drawn: its pins, bursts, turned quarters and counts are those of the whole."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench.capture.excerpt import MOST_EDGES, Excerpt, choose_view, cut
from knobmenu.bench.capture.measure import Measured, measure
from knobmenu.bench.capture.recording import Capture, Recording
from knobmenu.bench.capture.replay import replay, replay_pieces
from knobmenu.bench.chain import Chain, Turning
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.errors import BenchError
from knobmenu.bench.plot.captured import draw_capture
from knobmenu.bench.plot.svg import LEFT, RIGHT, WIDTH, TimeScale
from knobmenu.bench.run import run
from knobmenu.bench.scope import View
from knobmenu.bench.signal import Floats, Signal
from tests.bench.test_capture_replay import Cut, captured

SVG = "{http://www.w3.org/2000/svg}"
CHAIN = Chain(turning=Turning(kind="reversals", detents=30, turns_per_s=1.0))


def knob(seed: int, turns_per_s: float = 1.0, contact: str = "encoder-3ms") -> Recording:
    done = run(attrs.evolve(CHAIN, contact=PRESETS[contact]), seed, turns_per_s)
    return captured(done.contacts, done.motion.end_s)


def whole(capture: Capture, measured: Measured) -> Excerpt:
    return cut(capture, measured, replay_pieces(capture, measured, CHAIN, 1), View(0.0, measured.end_s))


@given(st.integers(0, 50), st.sampled_from([0.5, 1.0, 3.0, 6.0]))
def test_the_bursts_turns_and_counts_of_the_whole_are_those_that_are_reported(seed: int, turns_per_s: float) -> None:
    capture = knob(seed, turns_per_s)
    measured = measure(capture)
    found = whole(capture, measured)
    real = found.bursts[found.are_clear & found.bursts.are_real]
    counted = replay(capture, measured, CHAIN, 1)

    assert len(real) == measured.on_make.edges + measured.on_break.edges
    assert real.lengths_s.max(initial=0.0) == measured.longest_bounce_s
    assert int(found.quarters[-1]) == measured.quarters_up - measured.quarters_down
    assert int(found.counted.sum()) == counted.net
    assert sum(len(pin.changes_s) for pin in found.pins) == int(found.bursts.edges.sum())


@given(st.integers(0, 50), st.floats(0.0, 0.9), st.floats(0.01, 1.0), st.floats(0.02, 0.5))
def test_a_part_is_the_same_however_the_capture_is_read(
    seed: int, from_part: float, length_s: float, piece_s: float
) -> None:
    capture = knob(seed)
    measured = measure(capture)
    begin_s = from_part * measured.end_s
    view = View(begin_s, min(length_s, measured.end_s - begin_s))
    pieces = Cut(capture, piece_s)
    one = cut(capture, measured, replay_pieces(capture, measured, CHAIN, 1), view)
    other = cut(pieces, measured, replay_pieces(pieces, measured, CHAIN, 1), view)
    everything = whole(capture, measured)

    for ours, theirs in zip(one.pins, other.pins, strict=True):
        assert ours.first == theirs.first
        assert ours.changes_s.tolist() == theirs.changes_s.tolist()
    assert one.bursts.begins_s.tolist() == other.bursts.begins_s.tolist()
    assert one.are_clear.tolist() == other.are_clear.tolist()
    assert one.quarters.tolist() == other.quarters.tolist()
    assert one.counted_s.tolist() == other.counted_s.tolist()
    # What came before a part and what is in it add up to the whole up to its end.
    assert one.quarters_before == other.quarters_before
    up_to = np.searchsorted(everything.turned_s, view.end_s)
    assert [one.quarters_before, *one.quarters][-1] == [0, *everything.quarters[:up_to]][-1]
    counted = everything.counted[: np.searchsorted(everything.counted_s, view.end_s)].sum()
    assert one.net_before + int(one.counted.sum()) == counted


@given(st.integers(0, 50), st.sampled_from(["encoder-2ms", "encoder-3ms", "clean"]))
def test_the_part_that_is_chosen_contains_the_longest_bounce_and_what_came_before(seed: int, contact: str) -> None:
    measured = measure(knob(seed, contact=contact))
    view = choose_view(measured)

    assert 0 <= view.begin_s < view.end_s <= measured.end_s * (1 + 1e-12)
    if measured.longest_bounce_s:
        assert measured.longest_at_s is not None
        assert view.begin_s < measured.longest_at_s
        assert measured.longest_at_s + measured.longest_bounce_s < view.end_s
        assert measured.longest_bounce_s < 0.1 * view.length_s


@pytest.mark.parametrize("turns_per_s", [1.0, 5.0])
def test_each_burst_is_shaded_over_its_own_phase_solid_where_it_was_measured(turns_per_s: float) -> None:
    capture = knob(3, turns_per_s)
    measured = measure(capture)
    found = whole(capture, measured)
    picture = ElementTree.fromstring(draw_capture(found, measured, "nobody"))
    scale = TimeScale(0.0, measured.end_s)
    shaded = [
        (part.get("class"), part.get("x"), float(part.get("y", "0")))
        for part in picture.iter(f"{SVG}rect")
        if part.get("class")
    ]
    tops = sorted({y for _, _, y in shaded})
    long = found.bursts.lengths_s > 0
    expected = {
        ("bounce" if is_clear else "unmeasured", f"{scale.find_x(begin_s):.2f}", tops[pin])
        for begin_s, pin, is_clear in zip(
            found.bursts.begins_s[long], found.bursts.pins[long], found.are_clear[long], strict=True
        )
    }

    assert len(tops) == 2
    assert set(shaded) == expected
    assert ("unmeasured" in {name for name, _, _ in shaded}) == (turns_per_s == 5.0)


def test_a_picture_names_the_pins_the_wiring_and_the_length_of_the_longest_bounce() -> None:
    capture = knob(3)
    pins = {"CLK\x1b[2J": capture.pins["a"], "a very long name of a data line": capture.pins["b"]}
    renamed = Recording(pins, capture.end_s)
    measured = measure(renamed)
    view = choose_view(measured)
    drawn = draw_capture(cut(renamed, measured, [], view), measured, "nobody")
    words = [part.text or "" for part in ElementTree.fromstring(drawn).iter(f"{SVG}text")]

    assert "\x1b" not in drawn
    assert words.count("up: high, open") == 2
    assert any(word.endswith("…") and len(word) < 22 for word in words)
    assert f"{measured.longest_bounce_s * 1000:.2g} ms" in words
    assert {"turned", "counted", "bounce", "too close to be measured"} <= set(words)


def test_up_is_a_high_pin_also_where_a_closed_contact_is_high() -> None:
    """With pull-downs both phases rest low, at the lower end of their rows, and the label says what high means."""
    capture = knob(3)
    turned = {name: Signal(1 - pin.first, pin.changes_s) for name, pin in capture.pins.items()}
    pulled_down = Recording(turned, capture.end_s)
    measured = measure(pulled_down)
    drawn = draw_capture(cut(pulled_down, measured, [], View(0.0, 0.1)), measured, "nobody")
    up = draw_capture(cut(capture, measure(capture), [], View(0.0, 0.1)), measure(capture), "nobody")

    def rests(svg: str) -> list[float]:
        return [float(y) for y in re.findall(rf'd="M{LEFT}.0 ([\d.]+)H{WIDTH - RIGHT}.0"', svg)][1:]

    assert not measured.closed_is_low
    assert "up: high, closed" in drawn
    assert [low - high for low, high in zip(rests(drawn), rests(up), strict=True)] == [46.0, 46.0]


def test_a_part_with_too_many_edges_is_refused_with_what_to_do() -> None:
    at_s: Floats = np.arange(2 * MOST_EDGES, dtype=np.float64) * 1e-4
    capture = Recording({"a": Signal(0, at_s), "b": Signal(0, at_s + 5e-5)}, 4.1)
    measured = measure(capture)

    with pytest.raises(BenchError, match="Draw a shorter part with --from-ms and --to-ms"):
        cut(capture, measured, [], View(0.0, 4.1))
    assert len(cut(capture, measured, [], View(1.0, 0.01)).pins[0].changes_s) == pytest.approx(100, abs=1)
