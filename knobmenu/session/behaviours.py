"""The values of a behaviour over time: within a segment they follow from the time alone.

All times are milliseconds of the simulation, all values whole numbers with the readout's decimals.
"""

from __future__ import annotations

from typing import NamedTuple

from knobmenu.design.fields import INT32_HIGH, INT32_LOW
from knobmenu.design.menu import Readout
from knobmenu.design.simulation import Approach, Countdown, Noise, Ramp
from knobmenu.session.decay import BITS, decay

FINE = 16
"""The binary places that an approach keeps of where it began."""

MOST_EQUAL = 1000
"""How many equal measurements with noise are passed over in search of one that differs."""


class Approaching(NamedTuple):
    """A first-order system on its way."""

    goal: int | None
    """None: it stays."""
    time_constant_ms: int
    since_ms: int
    start: int
    """Where it began, with `FINE` binary places."""


class Ramping(NamedTuple):
    """Equal steps on their way."""

    goal: int | None
    """None: it stays."""
    repeats: bool
    since_ms: int
    start: int


class Counting(NamedTuple):
    """A countdown."""

    runs: bool
    since_ms: int
    left_ms: int
    stopped: bool = False
    """Whether it shows where it would begin."""
    paused: bool = False
    """Whether it goes on when its condition holds again."""


class Measuring(NamedTuple):
    """A measurement with noise."""

    goal: int | None
    """None: it stays."""
    spread: int


Segment = Approaching | Ramping | Counting | Measuring
"""What a behaviour does until something about it changes."""


class Change(NamedTuple):
    """The next value that a readout is reported with."""

    due_ms: int
    value: int


def fine_value(segment: Approaching, at_ms: int) -> int:
    """Return where a first-order system is, with `FINE` binary places."""
    if segment.goal is None:
        return segment.start
    goal = segment.goal << FINE
    return goal + ((segment.start - goal) * decay(at_ms - segment.since_ms, segment.time_constant_ms) >> BITS)


def ramp_value(behaviour: Ramp, readout: Readout, segment: Ramping, at_ms: int) -> int:
    """Return where a ramp is."""
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


def left_ms(segment: Counting, at_ms: int) -> int:
    """Return how much of a countdown is left."""
    return segment.left_ms - (at_ms - segment.since_ms) if segment.runs else segment.left_ms


def noise(seed: int, number: int, spread: int) -> int:
    """Return the noise of a measurement, from -spread to spread: a hash of its number, so nothing has to be remembered.

    The mixing function is SplitMix64: G. L. Steele, D. Lea and C. H. Flood, "Fast splittable pseudorandom number
    generators", OOPSLA 2014.
    """
    mask = 2**64 - 1
    mixed = (seed * 0xD1342543DE82EF95 + (number + 1) * 0x9E3779B97F4A7C15) & mask
    mixed = ((mixed ^ mixed >> 30) * 0xBF58476D1CE4E5B9) & mask
    mixed = ((mixed ^ mixed >> 27) * 0x94D049BB133111EB) & mask
    mixed ^= mixed >> 31
    return (mixed * (2 * spread + 1) >> 64) - spread


def next_change(
    behaviour: Approach | Ramp | Countdown | Noise, readout: Readout, segment: Segment, at_ms: int, shown: int
) -> Change | None:
    """Return the next value that differs from the one that is shown; None where it stays."""
    match behaviour, segment:
        case Approach(), Approaching():
            return _next_difference(behaviour, readout, segment, at_ms, shown)
        case Ramp(), Ramping():
            return _next_step(behaviour, readout, segment, at_ms, shown)
        case Countdown(), Counting():
            return _next_count(behaviour, segment, at_ms, shown)
        case Noise(), Measuring():
            return _next_measurement(behaviour, readout, segment, at_ms, shown)
        case _:
            raise AssertionError(f"{behaviour} has no segment {segment}")


def _clamp(readout: Readout, value: int) -> int:
    low = INT32_LOW if readout.low is None else readout.low
    high = INT32_HIGH if readout.high is None else readout.high
    return min(max(value, low), high)


def _report_value(readout: Readout, segment: Approaching, at_ms: int) -> int:
    return _clamp(readout, (fine_value(segment, at_ms) + (1 << FINE - 1)) >> FINE)


def _next_difference(
    behaviour: Approach, readout: Readout, segment: Approaching, at_ms: int, shown: int
) -> Change | None:
    """Return the first measurement that differs: the response is monotonic, so it is found by doubling and halving."""
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


def _next_step(behaviour: Ramp, readout: Readout, segment: Ramping, at_ms: int, shown: int) -> Change | None:
    now = _clamp(readout, ramp_value(behaviour, readout, segment, at_ms))
    if now != shown:
        return Change(at_ms, now)
    if segment.goal is None:
        return None
    steps = (at_ms - segment.since_ms) // behaviour.every_ms + 1
    due_ms = segment.since_ms + steps * behaviour.every_ms
    value = _clamp(readout, ramp_value(behaviour, readout, segment, due_ms))
    return None if value == shown and not segment.repeats else Change(due_ms, value)


def _next_count(behaviour: Countdown, segment: Counting, at_ms: int, shown: int) -> Change | None:
    left, unit = left_ms(segment, at_ms), behaviour.unit_ms
    now = -(-left // unit)
    if now != shown:
        return Change(at_ms, now)
    return Change(at_ms + left - (now - 1) * unit, now - 1) if segment.runs and now > 0 else None


def _next_measurement(behaviour: Noise, readout: Readout, segment: Measuring, at_ms: int, shown: int) -> Change | None:
    if segment.goal is None:
        return None
    first = at_ms // behaviour.every_ms + 1
    for number in range(first, first + MOST_EQUAL if segment.spread else first + 1):
        value = _clamp(readout, segment.goal + noise(behaviour.seed, number, segment.spread))
        if value != shown:
            return Change(number * behaviour.every_ms, value)
    return None
