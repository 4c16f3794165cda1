"""Knob sources: what lies between a hand and the firmware's events.

A session asks its source and knows no kind of source: the ideal encoder below, the simulated encoder of
`knobmenu.bench.simulated`, or a real knob.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol


class Reading(NamedTuple):
    """What the firmware read: a turn, or a level of the push switch."""

    at_ms: int
    """When. [ms of real time]"""
    detents: int
    """Counted detents, clockwise positive; 0 where a level of the switch was found. [detents]"""
    down: bool = False
    """Whether the switch was found closed."""


class KnobSource(Protocol):
    """A knob and a push switch, as the firmware reads them.

    Times are milliseconds of real time and never go back. Each call returns what the firmware read up to that time
    and has not been returned before, in order.
    """

    @property
    def bounces(self) -> bool:
        """Whether the switch bounces, so that the device needs its debouncing."""

    @property
    def due_ms(self) -> int | None:
        """When to call `wait` next; None while nothing is under way. [ms of real time]"""

    def turn(self, clockwise: int, real_ms: int) -> Sequence[Reading]:
        """Turn the knob; negative is counter-clockwise. [detents]"""

    def push(self, down: bool, real_ms: int) -> Sequence[Reading]:
        """Push the switch down, or release it."""

    def wait(self, real_ms: int) -> Sequence[Reading]:
        """Let time pass."""

    def rest(self) -> None:
        """Forget what is under way: the device went to another moment."""


class IdealEncoder:
    """An encoder that counts every detent immediately, and a switch that does not bounce."""

    bounces = False
    due_ms = None

    def turn(self, clockwise: int, real_ms: int) -> Sequence[Reading]:
        """Count the detents."""
        return (Reading(real_ms, clockwise),)

    def push(self, down: bool, real_ms: int) -> Sequence[Reading]:
        """Find the level."""
        return (Reading(real_ms, 0, down),)

    def wait(self, real_ms: int) -> Sequence[Reading]:
        """Read nothing: nothing is ever under way."""
        return ()

    def rest(self) -> None:
        """Do nothing: nothing is ever under way."""
