"""Acceleration: detents in quick succession count as several steps.

The time between detents picks the first rule of `Knob.acceleration` that is fast enough. A reversal starts again, so
that turning back after an overshoot is always slow and exact. Whole numbers only.
"""

from __future__ import annotations

from typing import NamedTuple

import attrs

from knobmenu.design.hardware import Knob
from knobmenu.errors import EventError
from knobmenu.events import Event, Turn


@attrs.frozen
class AccelerationState:
    """The last turn, if there was one."""

    direction: int = 0
    """1 up, -1 down, 0 where there was none."""
    at_ms: int = 0
    """When. [ms]"""


class Interval(NamedTuple):
    """A range of times between detents in one direction, and how many steps a detent counts as in it."""

    from_ms: int
    """The shortest such time. [ms]"""
    below_ms: int | None
    """The upper end, exclusive; nothing: it has no end. [ms]"""
    times: int
    """Steps that such a detent counts as. [steps per detent]"""


def list_intervals(knob: Knob) -> tuple[Interval, ...]:
    """List the intervals in which the rules of acceleration apply, fastest first; the last one has no acceleration.

    The times are those between single detents in one direction; the first detent and one that reverses always count as
    one step.
    """
    borders = [0, *(rule.faster_than_ms for rule in knob.acceleration), None]
    times = [*(rule.times for rule in knob.acceleration), 1]
    return tuple(Interval(low or 0, high, by) for low, high, by in zip(borders, borders[1:], times, strict=False))


def choose_times(knob: Knob, state: AccelerationState, detents: int, at_ms: int) -> tuple[AccelerationState, int]:
    """Return how many steps each of these detents counts as.

    Several detents sent together share the time since the previous turn equally.

    Args:
        knob: holds the rules.
        state: what the turn before left.
        detents: this turn, not 0; positive is up. [detents]
        at_ms: when. [ms]

    Returns:
        The next state, and the steps that each detent counts as, at least 1; for `knobmenu.events.Turn.times`.

    Raises:
        EventError: the turn is before the one it follows.
    """
    if at_ms < state.at_ms:
        raise EventError(f"turn at {at_ms} ms is earlier than the last one ({state.at_ms} ms)")
    direction = 1 if detents > 0 else -1
    times = 1
    if direction == state.direction:
        for rule in knob.acceleration:
            if at_ms - state.at_ms < rule.faster_than_ms * abs(detents):
                times = rule.times
                break
    return AccelerationState(direction, at_ms), times


def accelerate(knob: Knob, state: AccelerationState, event: Event) -> tuple[AccelerationState, Event]:
    """Set how many steps each detent of a turn counts as; every other event passes unchanged.

    Raises:
        EventError: The turn is before the one it follows.
    """
    if not isinstance(event, Turn):
        return state, event
    state, times = choose_times(knob, state, event.detents, event.at_ms)
    return state, Turn(event.at_ms, event.detents, times)
