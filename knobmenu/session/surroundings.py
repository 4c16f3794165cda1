"""The surroundings of a device while it is tried: what makes its readouts change.

Surroundings are one function of values. After every event it is asked with its own memory and with the device, and says
what the device reports next by itself, and when. So surroundings enter a device as reports only; a history, a recording
and a test hold those like every other event. `knobmenu.session.simulation` runs what a design says; any other function
of this kind can stand in for it.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

from knobmenu.design.whole import Design
from knobmenu.device.moment import Moment
from knobmenu.events import Report

MOST_AT_ONCE = 200
"""After so many reports at one time, surroundings that answer their own reports for ever are silent until something
else happens. [reports]"""


class Response(NamedTuple):
    """What surroundings answer."""

    memory: object = None
    """What they remember, for the next call; it must not be changed in place."""
    report: Report | None = None
    """What the device reports next if nothing else happens before; not before the moment that was asked about."""


class Surroundings(Protocol):
    """The surroundings of a device: a pure function."""

    def __call__(self, design: Design, memory: object, moment: Moment) -> Response:
        """Answer what just happened.

        Args:
            design: The device's design.
            memory: What was answered last; None at power-on.
            moment: The device just after an event: its state, the event (None at power-on, and where the design
                changed) and the effects.
        """
