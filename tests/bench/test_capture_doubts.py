"""What is wrong with a capture is reported: pins, times, samples, speeds; and what was fine before is not doubted."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

from knobmenu.bench import motion
from knobmenu.bench.capture.fitting import fit
from knobmenu.bench.capture.measure import Measured, measure
from knobmenu.bench.capture.recording import Recording
from knobmenu.bench.contact import PRESETS, Contact
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.errors import BenchError
from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import Floats, Signal
from tests.bench.stages import bouncing_phases, contacts

IDLE = Signal(1, np.zeros(0))


def turn(part: Encoder, moved: Motion, bounce: Contact = PRESETS["clean"]) -> Recording:
    """Capture a turn under pull-ups."""
    a, b = bouncing_phases(bounce, contacts(part, moved, 1), 1)
    pins = {"CLK": Signal(1 - a.first, a.changes_s), "DT": Signal(1 - b.first, b.changes_s)}
    return Recording(pins, moved.end_s)


def strokes(detents: int = 100, per_s: float = 12.0) -> Motion:
    return motion.make_flicks(detents, per_s, np.random.default_rng(2), longest=4)


GOOD = turn(Encoder(), strokes(), PRESETS["encoder-2ms"])


def beside(capture: Recording, **pins: Signal) -> Recording:
    return Recording({**pins, **capture.pins}, capture.end_s)


def stretch(capture: Recording, factor: float) -> Recording:
    """Misread the unit of the time."""
    pins = {name: Signal(pin.first, pin.changes_s * factor) for name, pin in capture.pins.items()}
    return Recording(pins, capture.end_s * factor)


def sample(capture: Recording, interval_s: float) -> Recording:
    """Sample the pins, each at the same moments."""
    at_s: Floats = np.arange(0, capture.end_s, interval_s)
    pins = {}
    for name, pin in capture.pins.items():
        levels = pin.get_levels(at_s).astype(int)
        pins[name] = Signal(int(levels[0]), at_s[1:][np.diff(levels) != 0])
    return Recording(pins, float(at_s[-1]))


def reasons(found: Measured, about: str) -> str:
    return "; ".join(doubt.reason for doubt in found.doubts if doubt.about == about)


def test_a_good_capture_is_not_in_doubt() -> None:
    found = measure(GOOD)

    assert found.doubts == ()
    assert (found.bounce_is, found.merged, found.glitches, found.double_changes) == ("exact", 0, 0, 0)
    assert (found.up, found.down, found.wiring_is_determined) == (100, 0, True)


@pytest.mark.parametrize(("turns_per_s", "certain"), [(1.0, True), (2.0, True), (4.0, False)])
def test_a_fast_turn_is_not_taken_for_bounce(turns_per_s: float, certain: bool) -> None:
    """At 4 turns/s a pulse of a 24-pulse knob lasts 5.2 ms: 2 ms of bounce were reported as 10.8 ms and 18 glitches."""
    moved = motion.make_steady(96, turns_per_s * 24)
    found = measure(turn(Encoder(pulses_per_turn=24), moved, PRESETS["encoder-2ms"]))

    assert found.longest_bounce_s <= 0.002 + 1e-9
    assert found.glitches == 0
    assert (found.up, found.down) == (96, 0)
    if certain:
        assert found.bounce_is == "exact"
        assert found.longest_bounce_s == pytest.approx(0.002, rel=0.05)
        # 24 periods per turn; 10.417 ms per quarter at 60 rpm: 60000 / (rpm * pulses * 4), as data sheets give speeds.
        assert 1 / found.fastest_periods_per_s == pytest.approx(4 * 0.010417 / turns_per_s, rel=1e-3)
    else:
        assert found.bounce_is == "at least"
        assert "the longest may be longer" in reasons(found, "bounce")


@pytest.mark.parametrize("turns_per_s", [1.0, 5.0, 20.0])
def test_a_clean_knob_of_many_pulses_is_timed(turns_per_s: float) -> None:
    """100 pulses without bounce were reported as 0 periods/s."""
    found = measure(turn(Encoder(pulses_per_turn=100), motion.make_steady(500, turns_per_s * 100)))

    assert found.fastest_periods_per_s == pytest.approx(turns_per_s * 100)
    assert (found.bounce_is, found.longest_bounce_s, found.up) == ("exact", 0.0, 500)


def test_two_rests_do_not_override_the_assumed_detents() -> None:
    """The knob rests at one code, as one with a detent per period does; it was turned once by an even number."""
    part = Encoder(detents_per_period=2)
    found = measure(turn(part, motion.make_steady(40, 20.0)), assumed_detents_per_period=2)

    assert (found.determined_detents_per_period, found.detents_per_period, found.up) == (0, 2, 40)
    assert "2 is assumed" in reasons(found, "detents per period")


def test_a_knob_that_is_turned_slowly_and_evenly_does_not_determine_its_detents() -> None:
    """It pauses at each of the four codes alike, as one with four detents per period would."""
    found = measure(turn(Encoder(), motion.make_steady(40, 1.0)))

    assert found.determined_detents_per_period == 0


def test_detents_other_than_assumed_are_reported_and_used() -> None:
    capture = turn(Encoder(detents_per_period=2), strokes())
    found = measure(capture, assumed_detents_per_period=1)

    assert (found.detents_per_period, found.up) == (2, 100)
    assert "2 detents per period does, where 1 is assumed" in reasons(found, "detents per period")


def test_a_clock_and_a_switch_are_not_taken_for_phases() -> None:
    clock = Signal(0, np.arange(0.0, GOOD.end_s, 0.0004))
    switch = Signal(1, np.arange(1.0, GOOD.end_s, 0.7))
    found = measure(beside(GOOD, SCK=clock, SW=switch))

    assert (found.pin_a, found.pin_b) == ("CLK", "DT")
    assert found.doubts == ()


def test_a_clock_given_as_a_phase_is_in_doubt() -> None:
    clock = Signal(0, np.arange(0.0, GOOD.end_s, 0.0004))
    found = measure(beside(GOOD, SCK=clock), "SCK", "DT")

    assert "SCK may be a clock" in reasons(found, "pins")


def test_a_copy_of_the_phases_behind_a_filter_is_pointed_out() -> None:
    late = {f"{name}_IN": Signal(pin.first, pin.changes_s + 1e-5) for name, pin in GOOD.pins.items()}
    found = measure(beside(GOOD, **late))

    assert "turn together as" in reasons(found, "pins")


@pytest.mark.parametrize("skew_s", [0.0, 5e-8])
def test_phases_that_are_shorted_together_are_in_doubt(skew_s: float) -> None:
    one = GOOD.pins["CLK"]
    shorted = Recording({"CLK": one, "DT": Signal(one.first, one.changes_s + skew_s)}, GOOD.end_s)
    found = measure(shorted)

    assert "never changes without" in reasons(found, "pins")
    assert found.double_changes >= len(one.changes_s)


@pytest.mark.parametrize(
    ("factor", "found"), [(1e6, "too long"), (1e-6, "too short"), (1e-3, "too short"), (1e3, "too long")]
)
def test_a_wrong_unit_of_the_time_is_in_doubt(factor: float, found: str) -> None:
    assert found in reasons(measure(stretch(GOOD, factor)), "time")


def test_coarse_samples_are_in_doubt_and_fine_ones_are_not() -> None:
    coarse, fine = measure(sample(GOOD, 5e-4)), measure(sample(GOOD, 1e-5))

    assert coarse.sample_s == pytest.approx(5e-4)
    assert "sampled every 0.5 ms" in reasons(coarse, "bounce")
    assert fine.sample_s == pytest.approx(1e-5)
    assert fine.doubts == ()
    assert fine.longest_bounce_s == pytest.approx(measure(GOOD).longest_bounce_s, abs=2e-5)


def test_samples_too_slow_for_the_turn_show_double_changes() -> None:
    found = measure(sample(turn(Encoder(pulses_per_turn=24), motion.make_steady(96, 48.0)), 0.008))

    assert found.double_changes > 0
    assert "changed together" in reasons(found, "turns")


def test_a_pull_down_is_found() -> None:
    down = Recording({name: Signal(1 - pin.first, pin.changes_s) for name, pin in GOOD.pins.items()}, GOOD.end_s)
    up, found = measure(GOOD), measure(down)

    assert (found.closed_is_low, found.wiring_is_determined) == (False, True)
    assert attrs.asdict(found.on_make)["edges"] == up.on_make.edges
    assert found.on_make.longest_s == up.on_make.longest_s
    assert found.detents == up.detents


def test_a_knob_that_is_rocked_on_an_edge_does_not_determine_the_bounce() -> None:
    found = measure(turn(Encoder(), motion.make_dither(200, 8.0, np.random.default_rng(3)), PRESETS["encoder-2ms"]))

    assert found.bounce_is == "undetermined"
    assert (found.up, found.down) == (0, 0)


def test_total_and_net_turns_are_reported_where_the_knob_turns_back() -> None:
    """Up 10, down 4, up 3, with a short pause at each end."""
    at_s = np.array([0.0, 1.0, 1.08, 1.48, 1.56, 1.86])
    moved = motion.make_recorded(at_s, np.array([0.0, 10.0, 10.0, 6.0, 6.0, 9.0]))
    found = measure(turn(Encoder(), moved))

    assert (found.up, found.down, found.detents) == (13, 4, 9)
    assert reasons(found, "turns") == ""


def test_a_turn_back_too_quick_to_be_told_from_a_glitch_is_in_doubt() -> None:
    clean = turn(Encoder(), strokes())
    pulse = Signal(1, np.sort(np.append(clean.pins["DT"].changes_s, [0.15, 0.155])))
    turned = motion.make_recorded(np.array([0.0, 1.0, 1.4, 1.7]), np.array([0.0, 10.0, 6.0, 9.0]))
    found = measure(Recording({**clean.pins, "DT": pulse}, clean.end_s))

    assert (found.glitches, found.detents) == (1, 100)
    assert "changed back within 5 ms" in reasons(found, "turns")
    assert reasons(measure(turn(Encoder(), turned)), "turns") != ""


def test_a_bounce_that_cannot_be_determined_is_not_made_into_a_contact() -> None:
    found = measure(turn(Encoder(), motion.make_steady(96, 400.0), PRESETS["encoder-10ms"]))

    assert found.bounce_is == "undetermined"
    with pytest.raises(BenchError, match="cannot be determined"):
        fit(found)


def test_one_pin_given_twice_is_refused() -> None:
    with pytest.raises(BenchError, match="two different pins"):
        measure(GOOD, "CLK", "CLK")
