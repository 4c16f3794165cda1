"""Reasons why the figures of a capture may be wrong, and what to do about each."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

import attrs

from knobmenu.bench.capture.gaps import REST_S
from knobmenu.bench.capture.turning import LEAST_RESTS
from knobmenu.bench.figures import format_number

Certainty = Literal["exact", "at least", "undetermined"]
"""What the longest bounce is worth."""

Subject = Literal["time", "pins", "bounce", "turns", "detents per period", "speed"]
"""The figure that is in doubt; nothing can be relied on where the time or the pins are."""

SLOWEST_PERIODS_PER_S, FASTEST_PERIODS_PER_S = 0.05, 20_000.0
"""No hand is so slow all the time: a turn of 24 periods in 8 minutes; none is so fast: 20 turns/s with 1000 periods."""

SHORTEST_CAPTURE_S, LONGEST_CAPTURE_S = 0.01, 7 * 86_400.0
"""No capture of a hand that turned a knob by a period is shorter or longer. [s]"""

MOST_EDGES_PER_S = 400_000.0
"""No hand turns a knob so fast, bounce included, on average over a capture. [edges/s]"""

CLOCK_RATIO = 20
"""A phase changes at most so many times as often as the other one. [unitless]"""


GLITCH_RATIO = 1.5
"""A glitch so many times as long as the longest bounce may be a hand that turned back. [unitless]"""


@attrs.frozen
class Doubt:
    """One thing that may be wrong."""

    about: Subject
    """Which figure."""
    reason: str
    """Why, as a sentence without its full stop."""
    advice: str
    """What to do, likewise."""


@attrs.frozen(kw_only=True)
class Evidence:
    """The figures in which doubts are looked for."""

    pin_a: str
    pin_b: str
    rival: tuple[str, str] | None
    """Another pair of pins that could be the phases."""
    edges: tuple[int, int]
    """Edges of A and B. [edges]"""
    double_changes: int
    merged: int
    bounce_is: Certainty
    longest_bounce_s: float
    longest_glitch_s: float
    sample_s: float
    rests: int
    """Proven rests. [rests]"""
    determined_detents_per_period: int
    assumed_detents_per_period: int
    fastest_periods_per_s: float
    end_s: float


def find_doubts(evidence: Evidence) -> tuple[Doubt, ...]:
    """Return what may be wrong, the most serious first."""
    return (
        *_doubt_time(evidence),
        *_doubt_pins(evidence),
        *_doubt_bounce(evidence),
        *_doubt_turns(evidence),
        *_doubt_detents(evidence),
    )


def _doubt_time(evidence: Evidence) -> Iterator[Doubt]:
    fastest = evidence.fastest_periods_per_s
    advice = "Check the unit of the time column, or the sampling rate"
    edges = sum(evidence.edges)
    if fastest > FASTEST_PERIODS_PER_S:
        yield Doubt("time", f"no hand turns {format_number(fastest)} periods/s: times are too short by far", advice)
    elif edges >= 8 and (evidence.end_s < SHORTEST_CAPTURE_S or edges / evidence.end_s > MOST_EDGES_PER_S):
        reason = (
            f"no hand makes {edges} edges within {format_number(evidence.end_s * 1000)} ms: times are too short by far"
        )
        yield Doubt("time", reason, advice)
    elif 0 < fastest < SLOWEST_PERIODS_PER_S:
        reason = f"the fastest period lasts {format_number(1 / fastest)} s: times are too long by far"
        yield Doubt("time", reason, advice)
    elif evidence.end_s > LONGEST_CAPTURE_S:
        yield Doubt(
            "time",
            f"the capture lasts {format_number(evidence.end_s / 86_400)} days: times are too long by far",
            advice,
        )


def _doubt_pins(evidence: Evidence) -> Iterator[Doubt]:
    a, b = evidence.pin_a, evidence.pin_b
    fewer, more = sorted(evidence.edges)
    if fewer and evidence.double_changes >= 0.9 * fewer:
        never_alone = a if evidence.edges[0] == fewer else b
        other = b if never_alone == a else a
        reason = f"{never_alone} never changes without {other}: the two are shorted together, or are one signal twice"
        yield Doubt("pins", reason, "Check the wiring, and name the phases with --pins")
    elif more > CLOCK_RATIO * fewer:
        busy = a if evidence.edges[0] == more else b
        other = b if busy == a else a
        reason = f"{busy} changes {more} times and {other} {fewer} times: {busy} may be a clock or a noisy line"
        yield Doubt("pins", reason, "Name the phases with --pins")
    elif evidence.rival:
        reason = f"{evidence.rival[0]} and {evidence.rival[1]} turn together as {a} and {b} do"
        yield Doubt("pins", reason, "Name the phases with --pins")


def _doubt_bounce(evidence: Evidence) -> Iterator[Doubt]:
    slower = "Turn more slowly to measure all of them"
    if evidence.bounce_is == "undetermined":
        reason = "the bounce cannot be determined: pulses merge, the knob was rocked on an edge, or there are few edges"
        yield Doubt("bounce", reason, "Turn slowly, by some ten detents")
    elif evidence.bounce_is == "at least":
        reason = f"{evidence.merged} bursts are too close to their neighbours to be measured: the longest may be longer"
        yield Doubt("bounce", reason, slower)
    if evidence.bounce_is != "undetermined" and evidence.longest_bounce_s > REST_S:
        longest_s = format_number(evidence.longest_bounce_s)
        reason = f"a phase chattered for {longest_s} s: the knob stood on an edge, or it is noise"
        yield Doubt("bounce", reason, "Pause at detents only, and check the pull-ups and the ground")
    if evidence.sample_s > max(0.05 * evidence.longest_bounce_s, 2e-5):
        reason = (
            f"the capture was sampled every {format_number(evidence.sample_s * 1000)} ms: shorter bounces were not seen"
        )
        yield Doubt("bounce", reason, "Sample at 100 kHz or faster")


def _doubt_turns(evidence: Evidence) -> Iterator[Doubt]:
    if evidence.double_changes:
        reason = f"both phases changed together {evidence.double_changes} times: the direction there is not known"
        yield Doubt("turns", reason, "Sample faster, turn more slowly, or look for a short between the phases")
    elif evidence.merged or evidence.bounce_is == "undetermined":
        reason = "where pulses merge, one period too many or too few may be counted"
        yield Doubt("turns", reason, "Turn more slowly")
    elif evidence.longest_glitch_s > GLITCH_RATIO * evidence.longest_bounce_s:
        reason = (
            f"a phase changed and changed back within {format_number(evidence.longest_glitch_s * 1000)} ms: a"
            " disturbance is not counted, a quick turn back would be"
        )
        yield Doubt("turns", reason, "Pause where you turn back")
    if not evidence.fastest_periods_per_s:
        reason = "no whole period one way stands clear of the bounce"
        yield Doubt("speed", reason, "Turn by several detents in one direction")
    elif evidence.merged:
        reason = "only periods whose pulses do not merge were timed: the knob was turned faster than that"
        yield Doubt("speed", reason, "Turn more slowly")


def _doubt_detents(evidence: Evidence) -> Iterator[Doubt]:
    found, assumed = evidence.determined_detents_per_period, evidence.assumed_detents_per_period
    if not found:
        reason = f"{evidence.rests} clear rests do not determine the detents per period: {assumed} is assumed"
        advice = f"Turn by two or more detents at a time, at least {LEAST_RESTS} times, and pause after each turn"
        yield Doubt("detents per period", reason, advice)
    elif found != assumed:
        reason = f"the knob rested as one with {found} detents per period does, where {assumed} is assumed"
        yield Doubt("detents per period", reason, f"Write detents_per_period = {found} in the chain")
