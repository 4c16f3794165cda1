"""No figure of a capture is wrong without a warning: captures made by the bench itself, whose truth is known.

Each capture has a random encoder, motion, speed and bounce; speeds go up to where pulses merge, and knobs are rocked.
The truth of the bounce is the longest time from an ideal edge to the last edge of its burst.
"""

from __future__ import annotations

from collections import Counter

import attrs
import numpy as np
import pytest

from knobmenu.bench import motion
from knobmenu.bench.capture.measure import Measured, measure
from knobmenu.bench.capture.recording import Recording
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import Signal
from tests.bench.stages import bouncing_phases, contacts
from tests.sampling import sampled

CAPTURES = sampled(whole=10_000, sample=200)


@attrs.frozen
class Truth:
    """What was put into a capture."""

    detents_per_period: int
    up: int
    down: int
    longest_bounce_s: float
    fastest_quarter_s: float
    """The shortest time between two ideal edges. [s]"""
    pull_up: bool


def draw_contact(generator: np.random.Generator) -> Contact:
    kind = generator.random()
    if kind < 0.1:
        return Contact()
    if kind < 0.5:
        return PRESETS[str(generator.choice([name for name in PRESETS if name != "clean"]))]
    longest_ms = float(np.exp(generator.uniform(np.log(0.05), np.log(20))))
    make, broken = (
        Burst(
            mean_ms=longest_ms * float(generator.uniform(0.1, 0.6)),
            longest_ms=longest_ms,
            bounces=float(generator.uniform(1, 8)),
            no_bounce_fraction=float(generator.uniform(0, 0.5)),
        )
        for _ in range(2)
    )
    return Contact(on_make=make, on_break=broken if generator.random() < 0.8 else None)


def draw_motion(generator: np.random.Generator, detents_per_turn: int) -> Motion:
    per_s = float(np.exp(generator.uniform(np.log(0.05), np.log(8)))) * detents_per_turn
    detents = int(generator.integers(5, 120)) * int(generator.choice([-1, 1]))
    match str(generator.choice(["steady", "flicks", "clicks", "reversals", "dither"], p=[0.2, 0.4, 0.15, 0.2, 0.05])):
        case "steady":
            return motion.make_steady(detents, per_s)
        case "flicks":
            return motion.make_flicks(detents, per_s, generator)
        case "clicks":
            return motion.make_flicks(detents, per_s, generator, longest=1)
        case "reversals":
            return motion.make_reversals(detents, per_s, generator)
        case _:
            return motion.make_dither(abs(detents), min(per_s, 20.0), generator)


def draw_capture(seed: int) -> tuple[Recording, Truth]:
    generator = np.random.default_rng(seed)
    part = Encoder(
        pulses_per_turn=int(generator.choice([9, 12, 15, 20, 24, 30, 100])),
        detents_per_period=int(generator.choice([1, 2, 4])),
        phase_error_deg=float(generator.uniform(-20, 20)),
        dwell_tolerance_deg=float(generator.uniform(0, 10)),
    )
    moved = draw_motion(generator, part.detents_per_turn)
    bounce = draw_contact(generator)
    ideal = contacts(part, moved, seed)
    bounced = bouncing_phases(bounce, ideal, seed)
    lengths_s = [
        after.changes_s - before.changes_s[np.searchsorted(before.changes_s, after.changes_s, side="right") - 1]
        for before, after in zip(ideal, bounced, strict=True)
    ]
    pull_up = bool(generator.random() < 0.7)
    a, b = (Signal(1 - one.first if pull_up else one.first, one.changes_s) for one in bounced)
    truth = Truth(
        part.detents_per_period,
        sum(true for _, _, true in moved.strokes if true > 0),
        -sum(true for _, _, true in moved.strokes if true < 0),
        max(float(one.max(initial=0.0)) for one in lengths_s),
        float(np.diff(np.sort(np.concatenate([one.changes_s for one in ideal]))).min(initial=np.inf)),
        pull_up,
    )
    return Recording({"CLK": a, "DT": b}, moved.end_s), truth


def doubted(found: Measured) -> set[str]:
    return {doubt.about for doubt in found.doubts}


@pytest.fixture(scope="module")
def measured() -> list[tuple[Measured, Truth]]:
    drawn = [draw_capture(seed) for seed in range(CAPTURES)]
    return [
        (measure(recording, assumed_detents_per_period=truth.detents_per_period), truth)
        for recording, truth in drawn
        if all(len(pin.changes_s) for pin in recording.pins.values())
    ]


def test_the_longest_bounce_is_right_or_in_doubt(measured: list[tuple[Measured, Truth]]) -> None:
    certainty: Counter[str] = Counter()
    for found, truth in measured:
        certainty[found.bounce_is] += 1
        match found.bounce_is:
            case "exact":
                assert found.longest_bounce_s == pytest.approx(truth.longest_bounce_s, rel=0.05, abs=1e-9), truth
            case "at least":
                assert found.longest_bounce_s <= truth.longest_bounce_s * 1.05, truth
                assert "bounce" in doubted(found)
            case "undetermined":
                assert "bounce" in doubted(found)

    # The estimator must not take refuge in doubt, nor find everything certain.
    assert certainty["exact"] > 0.6 * len(measured)
    assert certainty["undetermined"] > 0.05 * len(measured)


def test_a_bounce_of_less_than_048_of_the_shortest_quarter_is_determined(
    measured: list[tuple[Measured, Truth]],
) -> None:
    """The pause after such a burst exceeds the longest gap within one, which is known to a bin of 7.5 %: 1 / 2.075."""
    slow = [
        found
        for found, truth in measured
        if truth.longest_bounce_s < 0.48 * truth.fastest_quarter_s and truth.up + truth.down >= 10
    ]

    assert len(slow) > 0.3 * len(measured)
    assert {found.bounce_is for found in slow} == {"exact"}


def test_detents_and_direction_are_right_or_in_doubt(measured: list[tuple[Measured, Truth]]) -> None:
    right = 0
    for found, truth in measured:
        if (found.up, found.down) == (truth.up, truth.down):
            right += 1
        else:
            assert "turns" in doubted(found), truth

    assert right > 0.7 * len(measured)


def test_detents_per_period_and_wiring_are_right_or_undetermined(measured: list[tuple[Measured, Truth]]) -> None:
    determined = 0
    for found, truth in measured:
        if found.determined_detents_per_period:
            determined += 1
            assert found.determined_detents_per_period == truth.detents_per_period, truth
        else:
            assert "detents per period" in doubted(found)
        if found.wiring_is_determined:
            assert found.closed_is_low == truth.pull_up, truth

    assert determined > 0.25 * len(measured)
