"""What a knob can say, and the passing of time.

Every event carries when it happened, in whole milliseconds since power-on. An event that exists is valid: the machine
checks only the order in which events come.
"""

from __future__ import annotations

from typing import Any, ClassVar

import attrs

from knobmenu.errors import EventError, quote_value
from knobmenu.structure import Structure

CLOCK_MS = 2**32 - 1
"""The latest time that a machine's clock holds, 49 days; `knobmenu.machine.clock` moves it on. [ms]"""

LATEST_MS = 2**53 - 1
"""The latest time of an event; any program that reads JSON holds it exactly. [ms since power-on]"""

MOST_DETENTS = 10_000
"""Most detents in one event; a slower reader sends them in several. [detents]"""


class _Whole:
    """A validator: a whole number from `low` to `high`."""

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
    """Refuse anything but a whole number of detents that is not 0; a validator."""
    if value == 0 or type(value) is not int or not -MOST_DETENTS <= value <= MOST_DETENTS:
        raise EventError(
            f"{type(instance).__name__}.{attribute.name}: expected a whole number"
            f" from -{MOST_DETENTS} to {MOST_DETENTS}, but not 0, got {quote_value(value)}"
        )


@attrs.frozen(repr=False)
class Event(Structure):
    """Something that happened at a moment; only its subclasses are sent to a machine.

    Those that add no field are plain subclasses: the methods that attrs makes for this class compare classes, too.
    """

    at_ms: int = attrs.field(validator=_Whole(0, LATEST_MS))
    """When, since power-on. [ms]"""

    word: ClassVar[str] = "event"
    """What a trace and a diagram call it."""


@attrs.frozen(repr=False)
class Turn(Event):
    """The knob turned by whole detents."""

    detents: int = attrs.field(validator=_check_detents)
    """How many; positive is up, whatever direction that is by hand. [detents]"""
    times: int = attrs.field(default=1, validator=_Whole(1, 1000))
    """Steps that each detent is worth where a setting accelerates; from `knobmenu.knob.acceleration`."""

    word: ClassVar[str] = "turn"


class Press(Event):
    """The knob pressed and let go before the press was long."""

    __slots__ = ()
    word: ClassVar[str] = "press"


class LongPress(Event):
    """The knob held down as long as a long press takes; sent at that moment, not at the release."""

    __slots__ = ()
    word: ClassVar[str] = "long"


class DoublePress(Event):
    """Two presses close together; only from a knob whose design asks for it."""

    __slots__ = ()
    word: ClassVar[str] = "double"


@attrs.frozen(repr=False)
class HeldTurn(Event):
    """The knob turned while it was held down; only from a knob whose design asks for it."""

    detents: int = attrs.field(validator=_check_detents)
    """How many; positive is up. [detents]"""

    word: ClassVar[str] = "held"


Turning = Turn | HeldTurn
"""The knob turned."""

Gesture = Turn | HeldTurn | Press | LongPress | DoublePress
"""What a person does with the knob."""


class Wait(Event):
    """Nothing, up to this moment: time alone passed."""

    __slots__ = ()
    word: ClassVar[str] = "wait"


@attrs.frozen(repr=False)
class Report(Event):
    """The device reported a value, such as a measured temperature; nobody touched the knob."""

    key: str = attrs.field(validator=attrs.validators.instance_of(str))
    """Which readout."""
    value: int = attrs.field(validator=_Whole(-(2**31), 2**31 - 1))
    """Its new value, as a whole number with the readout's decimals."""

    word: ClassVar[str] = "report"
