"""What is measured of a capture is what was put into it: pins, wiring, detents, bounce, speed, and a contact to fit."""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.bench import motion
from knobmenu.bench.capture.bounce import BIN_LIMITS_S
from knobmenu.bench.capture.fitting import find_nearest_preset, fit
from knobmenu.bench.capture.measure import Measured, measure
from knobmenu.bench.capture.recording import Capture, Recording
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.errors import BenchError
from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import Floats, Signal
from tests.bench.stages import bouncing_phases, contacts


@attrs.frozen(eq=False)
class Cut:
    """A recording that is given in pieces, cut at moments."""

    whole: Recording
    at_s: tuple[float, ...]

    def walk_pieces(self) -> Iterator[Recording]:
        begin_s = -np.inf
        for end_s in sorted({*(at for at in self.at_s if at < self.whole.end_s), self.whole.end_s}):
            pins = {}
            for name, pin in self.whole.pins.items():
                here = (pin.changes_s > begin_s) & (pin.changes_s <= end_s)
                before = int((pin.changes_s <= begin_s).sum())
                pins[name] = Signal((pin.first + before) & 1, pin.changes_s[here])
            yield Recording(pins, end_s)
            begin_s = end_s


def captured(
    part: Encoder, moved: Motion, bounce: Contact = PRESETS["clean"], *, pull_up: bool = True, seed: int = 1
) -> Recording:
    """Capture a turn, at pins named CLK and DT, beside a busy and an idle one."""
    bounced = bouncing_phases(bounce, contacts(part, moved, seed), seed)
    a, b = (Signal(1 - one.first if pull_up else one.first, one.changes_s) for one in bounced)
    return Recording({"GND": Signal(0, np.zeros(0)), "CLK": a, "DT": b, "SW": Signal(1, np.array([0.1]))}, moved.end_s)


def clicks(detents: int, per_s: float = 8.0) -> Motion:
    """Turn detent by detent, with a rest on each."""
    return motion.make_flicks(detents, per_s, np.random.default_rng(1), longest=1)


def strokes(detents: int, per_s: float = 16.0) -> Motion:
    """Turn by one to five detents at a time, with a rest after each stroke."""
    return motion.make_flicks(detents, per_s, np.random.default_rng(2), longest=5)


@pytest.mark.parametrize("pull_up", [True, False])
@pytest.mark.parametrize("per_period", [1, 2, 4])
@pytest.mark.parametrize("detents", [96, -96])
def test_pins_wiring_detents_and_direction_are_found(detents: int, per_period: int, pull_up: bool) -> None:
    part = Encoder(detents_per_period=per_period)
    found = measure(captured(part, strokes(detents), PRESETS["encoder-2ms"], pull_up=pull_up))

    assert (found.pin_a, found.pin_b) == ("CLK", "DT")
    assert found.determined_detents_per_period == found.detents_per_period == per_period
    # Where it rests open and closed alike, or on every code, nothing tells how it is wired: a pull-up is assumed.
    assert found.closed_is_low == (pull_up or per_period != 1)
    assert found.wiring_is_determined == (per_period == 1)
    assert found.detents == detents
    assert found.quarters_up - found.quarters_down == detents * 4 // per_period


def test_pins_given_the_other_way_round_turn_the_direction() -> None:
    capture = captured(Encoder(), clicks(5))

    assert measure(capture, "CLK", "DT").detents == 5
    assert measure(capture, "DT", "CLK").detents == -5


def test_what_was_turned_forth_and_back_is_told_apart() -> None:
    moved = motion.make_reversals(40, 10.0, np.random.default_rng(1))
    up = sum(true for _, _, true in moved.strokes if true > 0)

    found = measure(captured(Encoder(), moved, PRESETS["encoder-2ms"]))

    assert (found.up, found.down, found.detents) == (up, 40 - up, 2 * up - 40)
    assert 0 < up < 40


def test_the_fastest_period_is_that_of_the_turn() -> None:
    part = Encoder(pulses_per_turn=20, detents_per_period=2)

    found = measure(captured(part, motion.make_steady(200, 50.0), PRESETS["encoder-2ms"]))

    # 50 detents a second are 25 periods; each edge is taken for where its burst begins.
    assert found.fastest_periods_per_s == pytest.approx(25.0)


@pytest.mark.parametrize(
    ("pins", "wanted", "found"),
    [
        ({}, ("", ""), "no pin that changes"),
        ({"a": [0.1]}, ("", ""), '"a"'),
        ({"phase_a": [0.1], "phase_b": [0.2]}, ("phase_a", "phaseb"), '"phaseb"'),
    ],
)
def test_missing_pins_are_told(pins: dict[str, list[float]], wanted: tuple[str, str], found: str) -> None:
    capture = Recording({name: Signal(1, np.array(at)) for name, at in pins.items()}, 1.0)

    with pytest.raises(BenchError) as refused:
        measure(capture, *wanted)

    (problem,) = refused.value.problems
    assert found in problem.got


bursts = st.lists(st.lists(st.integers(2, 1500), max_size=7), min_size=1, max_size=20)
"""Bursts, each as the gaps between its edges: an even number is a real edge, an odd one a glitch. [us]"""


def train(drawn: list[list[int]]) -> tuple[Floats, Floats]:
    """Give the edges of two pins that burst by turns, farther apart than the longest burst. [s]"""
    apart_us = max(sum(gaps) for gaps in drawn) + 1000
    at_us = 200_000
    edges_us: tuple[list[int], list[int]] = ([], [])
    for nth, gaps in enumerate(drawn):
        edges_us[nth % 2].extend(np.cumsum([at_us, *gaps]).tolist())
        at_us = edges_us[nth % 2][-1] + apart_us
    a_us, b_us = edges_us
    return np.array(a_us, dtype=np.float64) / 1e6, np.array(b_us, dtype=np.float64) / 1e6


@given(bursts, st.lists(st.floats(0, 0.3), max_size=5))
def test_each_burst_is_measured_exactly_however_the_capture_is_cut(drawn: list[list[int]], cuts: list[float]) -> None:
    a_s, b_s = train(drawn)
    whole = Recording({"a": Signal(1, a_s), "b": Signal(1, b_s)}, float(np.concatenate((a_s, b_s)).max()) + 1.0)
    found = measure(Cut(whole, tuple(cuts)), "a", "b")

    # Both pins begin open; each pin's real edges are makes and breaks by turns.
    real = [[gaps for gaps in drawn[pin::2] if len(gaps) % 2 == 0] for pin in (0, 1)]
    made, broke = ([*real[0][first::2], *real[1][first::2]] for first in (0, 1))
    assert found.glitches == len(drawn) - len(real[0]) - len(real[1])
    assert found.merged == 0
    for measured, expected in ((found.on_make, made), (found.on_break, broke)):
        lengths_s = [sum(gaps) / 1e6 for gaps in expected if gaps]
        assert measured.edges == len(expected)
        assert measured.bounced == len(lengths_s) == measured.lengths.sum()
        assert measured.bounces == sum(len(gaps) // 2 for gaps in expected)
        assert measured.sum_s == pytest.approx(sum(lengths_s), abs=1e-9)
        assert measured.longest_s == pytest.approx(max(lengths_s, default=0.0), abs=1e-9)


def figures(found: Measured) -> tuple[object, ...]:
    return (
        *(
            found.pin_a,
            found.pin_b,
            found.closed_is_low,
            found.rests,
            found.detents_per_period,
            found.up,
            found.down,
        ),
        *(found.on_make.edges, found.on_make.bounces, found.on_make.lengths.tolist(), found.on_make.longest_s),
        *(found.on_break.edges, found.on_break.bounces, found.on_break.lengths.tolist(), found.on_break.longest_s),
        *(found.bounce_is, found.merged, found.glitches, found.double_changes, found.sample_s, found.doubts),
        *(found.quarters_up, found.quarters_down, found.fastest_periods_per_s, found.end_s),
    )


@given(st.lists(st.floats(0, 4), max_size=12), st.sampled_from((1, 2, 4)), st.booleans())
def test_pieces_measure_as_the_whole_does(cuts: list[float], per_period: int, pull_up: bool) -> None:
    part = Encoder(detents_per_period=per_period)
    moved = motion.make_reversals(12, 8.0, np.random.default_rng(1))
    whole = captured(part, moved, PRESETS["encoder-2ms"], pull_up=pull_up)
    pieces: Capture = Cut(whole, tuple(cuts))

    assert figures(measure(pieces)) == figures(measure(whole))


TURNED = clicks(1500, 5.0)


@pytest.mark.parametrize("name", ["encoder-2ms", "encoder-3ms", "switch"])
def test_a_fitted_contact_bounces_as_the_one_that_was_captured(name: str) -> None:
    """Over 1500 detents the means of what is fitted lie within 10 % of those that were drawn from.

    The knob is turned slowly, so that no burst reaches the next edge: only then is every length of it seen.
    """
    preset = PRESETS[name]
    found = measure(captured(Encoder(), TURNED, preset))
    fitted = fit(found)

    for kind in ("on_make", "on_break"):
        drawn, got = getattr(preset, kind), getattr(fitted, kind)
        assert isinstance(got, Burst)
        cut = np.minimum(np.random.default_rng(2).gamma(2.0, drawn.mean_ms / 2.0, 100_000), drawn.longest_ms).mean()
        assert got.mean_ms == pytest.approx(cut, rel=0.1)
        assert got.no_bounce_fraction == pytest.approx(drawn.no_bounce_fraction, abs=0.03)
        assert got.bounces == pytest.approx(drawn.bounces, rel=0.1)
        assert got.longest_ms <= drawn.longest_ms + 1e-9
    assert find_nearest_preset(found) == name


def test_the_distribution_of_lengths_is_that_which_was_drawn() -> None:
    """Median and 90 % quantile of the gamma distribution that the preset draws from, to a bin's ratio of 1.26."""
    preset = PRESETS["encoder-2ms"].on_make
    assert preset is not None
    told = measure(captured(Encoder(), TURNED, PRESETS["encoder-2ms"])).on_make
    drawn_s = np.random.default_rng(3).gamma(2.0, preset.mean_ms / 2.0, 100_000) / 1000

    for share in (0.5, 0.9):
        exact_s = float(np.quantile(np.minimum(drawn_s, preset.longest_ms / 1000), share))
        assert exact_s / 1.3 <= told.find_quantile_s(share) <= exact_s * 1.3
    assert told.find_quantile_s(1.0) == told.longest_s
    assert BIN_LIMITS_S[-1] / BIN_LIMITS_S[-2] == pytest.approx(10**0.1)


def test_a_contact_that_does_not_bounce_is_fitted_by_one_that_does_not() -> None:
    found = measure(captured(Encoder(), clicks(10)))

    assert fit(found) == Contact()
    assert find_nearest_preset(found) == "clean"
    assert found.on_make.find_quantile_s(0.9) == found.on_make.mean_s == 0.0


moments_s = st.lists(st.integers(0, 2_000_000), min_size=1, max_size=60, unique=True).map(
    lambda at_us: np.array(sorted(at_us), dtype=np.float64) / 1e6
)


@given(moments_s, moments_s, st.integers(0, 3), st.lists(st.floats(0, 3), max_size=4))
def test_any_two_pins_that_change_are_measured(a_s: Floats, b_s: Floats, code: int, cuts: list[float]) -> None:
    """However wild the edges: each is in a burst, and what cannot be determined is in doubt."""
    a, b = Signal(code >> 1, a_s), Signal(code & 1, b_s)
    found = measure(Cut(Recording({"a": a, "b": b}, 2.5), tuple(cuts)))

    assert (found.pin_a, found.pin_b) == ("a", "b")
    clear = found.on_make.edges + found.on_break.edges + found.glitches
    assert 1 <= clear + found.merged + 2 <= len(a_s) + len(b_s) + 2
    assert min(found.up, found.down) >= 0
    assert (found.bounce_is == "exact") or "bounce" in {doubt.about for doubt in found.doubts}
    if found.bounce_is == "undetermined":
        with pytest.raises(BenchError, match="bounce"):
            fit(found)
        return
    fitted = fit(found) if "pins" not in {doubt.about for doubt in found.doubts} else Contact()
    for burst in (fitted.on_make, fitted.on_break):
        assert burst is None or (0 < burst.mean_ms <= burst.longest_ms and burst.bounces >= 1)
    assert find_nearest_preset(found) in PRESETS
