"""Values of a simulated behaviour over time: within a segment a value depends on the time alone.

All times are milliseconds of simulation time; all values are integers scaled by the readout's decimals.
"""

from __future__ import annotations

from typing import NamedTuple

from knobmenu.design.fields import INT32_HIGH, INT32_LOW
from knobmenu.design.menu import Readout
from knobmenu.design.simulation import Approach, Countdown, Noise, Ramp
from knobmenu.session.decay import BITS, decay

FINE = 16
"""Fractional bits with which an approach keeps its start value."""

MOST_EQUAL = 1000
"""How many equal noisy measurements are skipped in search of one that differs."""


class ApproachSegment(NamedTuple):
    """A segment of a first-order response."""

    goal: int | None
    """None: the value stays."""
    time_constant_ms: int
    since_ms: int
    start: int
    """The value at `since_ms`, with `FINE` fractional bits."""


class RampSegment(NamedTuple):
    """A segment of a ramp."""

    goal: int | None
    """None: the value stays."""
    repeats: bool
    since_ms: int
    start: int


class CountdownSegment(NamedTuple):
    """A segment of a countdown."""

    runs: bool
    since_ms: int
    left_ms: int
    stopped: bool = False
    """Whether the readout shows the start value."""
    paused: bool = False
    """Whether the countdown continues when its condition holds again."""


class NoiseSegment(NamedTuple):
    """A segment of noisy measurements."""

    goal: int | None
    """None: the value stays."""
    spread: int


Segment = ApproachSegment | RampSegment | CountdownSegment | NoiseSegment
"""What a behaviour does until its condition, target or value changes."""


class Change(NamedTuple):
    """The next value that is reported for a readout."""

    due_ms: int
    value: int


def compute_fine_value(segment: ApproachSegment, at_ms: int) -> int:
    """Compute the value of a first-order response, with `FINE` fractional bits."""
    if segment.goal is None:
        return segment.start
    goal = segment.goal << FINE
    return goal + ((segment.start - goal) * decay(at_ms - segment.since_ms, segment.time_constant_ms) >> BITS)


def compute_ramp_value(behaviour: Ramp, readout: Readout, segment: RampSegment, at_ms: int) -> int:
    """Compute the value of a ramp."""
    if segment.goal is None:
        return segment.start
    steps = (at_ms - segment.since_ms) // behaviour.every_ms
    first, goal = segment.start, segment.goal
    needed = -(-abs(goal - first) // behaviour.step)
    if steps > needed and segment.repeats:
        first = readout.initial
        needed = -(-abs(goal - first) // behaviour.step)
        steps = (steps - 1 - -(-abs(goal - segment.start) // behaviour.step)) % (needed + 1)
    way = min(steps * behaviour.step, abs(goal - first))
    return first + way if goal > first else first - way


def compute_left_ms(segment: CountdownSegment, at_ms: int) -> int:
    """Compute the remaining time of a countdown. [ms of simulation time]"""
    return segment.left_ms - (at_ms - segment.since_ms) if segment.runs else segment.left_ms


def compute_noise(seed: int, number: int, spread: int) -> int:
    """Compute the noise of a measurement, from -spread to spread, as a hash of its number, which needs no state.

    The mixing function is SplitMix64: G. L. Steele, D. Lea and C. H. Flood, "Fast splittable pseudorandom number
    generators", OOPSLA 2014.
    """
    mask = 2**64 - 1
    mixed = (seed * 0xD1342543DE82EF95 + (number + 1) * 0x9E3779B97F4A7C15) & mask
    mixed = ((mixed ^ mixed >> 30) * 0xBF58476D1CE4E5B9) & mask
    mixed = ((mixed ^ mixed >> 27) * 0x94D049BB133111EB) & mask
    mixed ^= mixed >> 31
    return (mixed * (2 * spread + 1) >> 64) - spread


def find_next_change(
    behaviour: Approach | Ramp | Countdown | Noise, readout: Readout, segment: Segment, at_ms: int, shown: int
) -> Change | None:
    """Find the next value that differs from the one shown; None if the value stays."""
    match behaviour, segment:
        case Approach(), ApproachSegment():
            return _find_approach_change(behaviour, readout, segment, at_ms, shown)
        case Ramp(), RampSegment():
            return _find_ramp_change(behaviour, readout, segment, at_ms, shown)
        case Countdown(), CountdownSegment():
            return _find_countdown_change(behaviour, segment, at_ms, shown)
        case Noise(), NoiseSegment():
            return _find_noise_change(behaviour, readout, segment, at_ms, shown)
        case _:
            raise AssertionError(f"{behaviour} has no segment {segment}")


def _clamp(readout: Readout, value: int) -> int:
    low = INT32_LOW if readout.low is None else readout.low
    high = INT32_HIGH if readout.high is None else readout.high
    return min(max(value, low), high)


def _report_value(readout: Readout, segment: ApproachSegment, at_ms: int) -> int:
    return _clamp(readout, (compute_fine_value(segment, at_ms) + (1 << FINE - 1)) >> FINE)


def _find_approach_change(
    behaviour: Approach, readout: Readout, segment: ApproachSegment, at_ms: int, shown: int
) -> Change | None:
    """Find the first measurement that differs: the response is monotonic, so galloping and bisection find it."""
    every_ms = behaviour.every_ms
    first = at_ms // every_ms + 1

    def measure(number: int) -> int:
        return _report_value(readout, segment, number * every_ms)

    if (value := measure(first)) != shown:
        return Change(first * every_ms, value)
    if segment.goal is None or _clamp(readout, segment.goal) == shown:
        return None
    ahead = 1
    while measure(first + ahead) == shown:
        ahead *= 2
    same, different = first + ahead // 2, first + ahead
    while different - same > 1:
        middle = (same + different) // 2
        if measure(middle) == shown:
            same = middle
        else:
            different = middle
    return Change(different * every_ms, measure(different))


def _find_ramp_change(behaviour: Ramp, readout: Readout, segment: RampSegment, at_ms: int, shown: int) -> Change | None:
    now = _clamp(readout, compute_ramp_value(behaviour, readout, segment, at_ms))
    if now != shown:
        return Change(at_ms, now)
    if segment.goal is None:
        return None
    steps = (at_ms - segment.since_ms) // behaviour.every_ms + 1
    due_ms = segment.since_ms + steps * behaviour.every_ms
    value = _clamp(readout, compute_ramp_value(behaviour, readout, segment, due_ms))
    return None if value == shown and not segment.repeats else Change(due_ms, value)


def _find_countdown_change(behaviour: Countdown, segment: CountdownSegment, at_ms: int, shown: int) -> Change | None:
    left, unit = compute_left_ms(segment, at_ms), behaviour.unit_ms
    now = -(-left // unit)
    if now != shown:
        return Change(at_ms, now)
    return Change(at_ms + left - (now - 1) * unit, now - 1) if segment.runs and now > 0 else None


def _find_noise_change(
    behaviour: Noise, readout: Readout, segment: NoiseSegment, at_ms: int, shown: int
) -> Change | None:
    if segment.goal is None:
        return None
    first = at_ms // behaviour.every_ms + 1
    for number in range(first, first + MOST_EQUAL if segment.spread else first + 1):
        value = _clamp(readout, segment.goal + compute_noise(behaviour.seed, number, segment.spread))
        if value != shown:
            return Change(number * behaviour.every_ms, value)
    return None
