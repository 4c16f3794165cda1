"""The advice of a doubt survives being followed: captured again as it says, and the doubt is gone."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np
import pytest

from knobmenu.bench import motion
from knobmenu.bench.capture.measure import Measured, measure
from knobmenu.bench.capture.recording import Recording
from knobmenu.bench.contact import PRESETS
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import Signal
from tests.bench.test_capture_doubts import GOOD, beside, sample, stretch, strokes, turn

BOUNCE = PRESETS["encoder-2ms"]
FINE_S = 1e-5
"""100 kHz, as is advised. [s]"""


@attrs.frozen
class Followed:
    """A capture in doubt, an advice that it is given, and the capture that follows it."""

    before: Callable[[], Measured]
    about: str
    advice: str
    after: Callable[[], Measured]


def turned(moved: Motion, pulses: int = 24, detents_per_period: int = 1, interval_s: float = 0.0) -> Recording:
    part = Encoder(pulses_per_turn=pulses, detents_per_period=detents_per_period)
    whole = turn(part, moved, BOUNCE)
    return sample(whole, interval_s) if interval_s else whole


def halfway() -> Motion:
    """Turn by half a period, and back, with a pause."""
    return motion.make_recorded(np.array([0.0, 0.2, 0.5, 0.7]), np.array([0.0, 2.0, 2.0, 0.0]))


def turned_back(rest_s: float) -> Recording:
    """Turn over one edge and back, resting for a time in between, and then on, on a knob that does not bounce."""
    clean = turn(Encoder(), strokes())
    edges_s = np.append([0.05, 0.055 + rest_s], clean.pins["DT"].changes_s)
    return Recording({**clean.pins, "DT": Signal(1, edges_s)}, clean.end_s)


def two_knobs() -> Recording:
    """Capture a knob, and beside it one that is turned likewise a little later."""
    pins = {f"{name}2": Signal(pin.first, pin.changes_s + 0.0031) for name, pin in GOOD.pins.items()}
    return beside(GOOD, **pins)


CASES = {
    **{
        f"merged pulses, {about}": Followed(
            lambda: measure(turned(motion.make_steady(96, 96.0))),
            about,
            "Turn more slowly",
            lambda: measure(turned(motion.make_steady(96, 12.0))),
        )
        for about in ("bounce", "speed", "turns")
    },
    "few edges": Followed(
        lambda: measure(turned(motion.make_steady(1, 4.0))),
        "bounce",
        "Turn slowly, by some ten detents",
        lambda: measure(turned(motion.make_steady(10, 4.0))),
    ),
    "coarse samples": Followed(
        lambda: measure(turned(strokes(), interval_s=3e-4)),
        "bounce",
        "Sample at 100 kHz or faster",
        lambda: measure(turned(strokes(), interval_s=FINE_S)),
    ),
    "double changes": Followed(
        lambda: measure(turned(strokes(per_s=24.0), interval_s=5e-3)),
        "turns",
        "Sample faster",
        lambda: measure(turned(strokes(per_s=24.0), interval_s=FINE_S)),
    ),
    "even turning": Followed(
        lambda: measure(turned(motion.make_steady(40, 10.0))),
        "detents per period",
        "Turn by two or more detents at a time",
        lambda: measure(turned(strokes(60))),
    ),
    "another encoder than in the chain": Followed(
        lambda: measure(turned(strokes(), detents_per_period=2), assumed_detents_per_period=1),
        "detents per period",
        "Write detents_per_period = 2 in the chain",
        lambda: measure(turned(strokes(), detents_per_period=2), assumed_detents_per_period=2),
    ),
    "half a period": Followed(
        lambda: measure(turned(halfway(), detents_per_period=4)),
        "speed",
        "Turn by several detents in one direction",
        lambda: measure(turned(motion.make_steady(8, 8.0), detents_per_period=4)),
    ),
    "milliseconds read as seconds": Followed(
        lambda: measure(stretch(GOOD, 1000.0)),
        "time",
        "Check the unit of the time column",
        lambda: measure(GOOD),
    ),
    "microseconds read as nanoseconds": Followed(
        lambda: measure(stretch(GOOD, 1e-3)),
        "time",
        "Check the unit of the time column",
        lambda: measure(GOOD),
    ),
    "two knobs": Followed(
        lambda: measure(two_knobs()),
        "pins",
        "Name the phases with --pins",
        lambda: measure(two_knobs(), "CLK", "DT"),
    ),
    "quick turns back": Followed(
        lambda: measure(turned_back(0.0)),
        "turns",
        "Pause where you turn back",
        lambda: measure(turned_back(0.15)),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_a_capture_that_follows_the_advice_is_no_more_in_doubt_about_it(name: str) -> None:
    case = CASES[name]
    before, after = case.before(), case.after()

    assert [doubt for doubt in before.doubts if doubt.about == case.about and case.advice in doubt.advice]
    assert not [doubt for doubt in after.doubts if doubt.about == case.about], after.doubts
