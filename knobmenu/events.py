"""Events: what a knob can report, and the passing of time.

Every event has a time in integer milliseconds since power-on. Constructors validate events, so the machine checks only
their order.
"""

from __future__ import annotations

from typing import Any, ClassVar

import attrs

from knobmenu.errors import EventError, quote_value
from knobmenu.structure import Structure

CLOCK_MS = 2**32 - 1
"""The latest time that a machine's clock can hold, 49 days; `knobmenu.machine.clock` rebases it. [ms]"""

LATEST_MS = 2**53 - 1
"""The latest time of an event, which any program that reads JSON can represent exactly. [ms since power-on]"""

MOST_DETENTS = 10_000
"""The most detents in one event; longer turns are split. [detents]"""


class _Whole:
    """A validator for integers from `low` to `high`."""

    def __init__(self, low: int, high: int) -> None:
        self.low = low
        self.high = high

    def __call__(self, instance: object, attribute: attrs.Attribute[Any], value: Any) -> None:
        if type(value) is not int or not self.low <= value <= self.high:
            raise EventError(
                f"{type(instance).__name__}.{attribute.name}: expected a whole number"
                f" from {self.low} to {self.high}, got {quote_value(value)}"
            )


def _check_detents(instance: object, attribute: attrs.Attribute[Any], value: Any) -> None:
    """Validate an integer number of detents other than 0."""
    if value == 0 or type(value) is not int or not -MOST_DETENTS <= value <= MOST_DETENTS:
        raise EventError(
            f"{type(instance).__name__}.{attribute.name}: expected a whole number"
            f" from -{MOST_DETENTS} to {MOST_DETENTS}, but not 0, got {quote_value(value)}"
        )


@attrs.frozen(repr=False)
class Event(Structure):
    """The base class of events; only subclasses are sent to a machine.

    Subclasses without fields need no decorator: the methods that attrs generates here also compare classes.
    """

    at_ms: int = attrs.field(validator=_Whole(0, LATEST_MS))
    """The time. [ms since power-on]"""

    word: ClassVar[str] = "event"
    """The name of the event in traces and diagrams."""


@attrs.frozen(repr=False)
class Turn(Event):
    """The knob was turned by whole detents."""

    detents: int = attrs.field(validator=_check_detents)
    """The number; positive is up, which may be either direction of the knob. [detents]"""
    times: int = attrs.field(default=1, validator=_Whole(1, 1000))
    """Steps for each detent in a setting that accelerates; see `knobmenu.knob.acceleration`. [steps]"""

    word: ClassVar[str] = "turn"


class Press(Event):
    """The knob was pressed and released before a long press."""

    __slots__ = ()
    word: ClassVar[str] = "press"


class LongPress(Event):
    """The knob was held down for the time of a long press; sent at that time, not at the release."""

    __slots__ = ()
    word: ClassVar[str] = "long"


class DoublePress(Event):
    """The knob was pressed twice in quick succession; only sent if the design uses it."""

    __slots__ = ()
    word: ClassVar[str] = "double"


@attrs.frozen(repr=False)
class HeldTurn(Event):
    """The knob was turned while held down; only sent if the design uses it."""

    detents: int = attrs.field(validator=_check_detents)
    """The number; positive is up. [detents]"""

    word: ClassVar[str] = "held"


Turning = Turn | HeldTurn
"""An event of turning."""

Gesture = Turn | HeldTurn | Press | LongPress | DoublePress
"""An event that the user causes."""


class Wait(Event):
    """Time passed up to this moment, and nothing else happened."""

    __slots__ = ()
    word: ClassVar[str] = "wait"


@attrs.frozen(repr=False)
class Report(Event):
    """The device reported a value, such as a measured temperature, without any input."""

    key: str = attrs.field(validator=attrs.validators.instance_of(str))
    """The key of the readout."""
    value: int = attrs.field(validator=_Whole(-(2**31), 2**31 - 1))
    """The new value, an integer scaled by the readout's decimals."""

    word: ClassVar[str] = "report"
