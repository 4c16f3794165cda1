"""Knob sources: what stands between the hand and the firmware's events.

A session does not depend on the kind of its source: the ideal encoder below, the simulated encoder of
`knobmenu.bench.simulated`, or a real knob.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol


class Reading(NamedTuple):
    """What the firmware read: a turn, or a level of the push switch."""

    at_ms: int
    """The time. [ms of real time]"""
    detents: int
    """Counted detents, clockwise positive; 0 for a level of the switch. [detents]"""
    down: bool = False
    """Whether the switch is closed."""


class KnobSource(Protocol):
    """A knob and a push switch, as the firmware reads them.

    Times are milliseconds of real time and never go back. Each call returns the readings up to that time that have
    not been returned before, in order.
    """

    @property
    def bounces(self) -> bool:
        """Whether the switch bounces, so that the device needs its debouncing."""

    @property
    def due_ms(self) -> int | None:
        """When to call `wait` next; None if nothing is in progress. [ms of real time]"""

    def turn(self, clockwise: int, real_ms: int) -> Sequence[Reading]:
        """Turn the knob; negative is counter-clockwise. [detents]"""

    def push(self, down: bool, real_ms: int) -> Sequence[Reading]:
        """Push the switch down, or release it."""

    def wait(self, real_ms: int) -> Sequence[Reading]:
        """Let time pass."""

    def reset(self) -> None:
        """Discard what is in progress, since the device went to another moment."""


class IdealEncoder:
    """An encoder that counts every detent immediately, and a switch that does not bounce."""

    bounces = False
    due_ms = None

    def turn(self, clockwise: int, real_ms: int) -> Sequence[Reading]:
        """Return the detents as one reading."""
        return (Reading(real_ms, clockwise),)

    def push(self, down: bool, real_ms: int) -> Sequence[Reading]:
        """Return the level as one reading."""
        return (Reading(real_ms, 0, down),)

    def wait(self, real_ms: int) -> Sequence[Reading]:
        """Return no readings, since nothing is ever in progress."""
        return ()

    def reset(self) -> None:
        """Do nothing, since nothing is ever in progress."""
