"""The surroundings of a device while it is tried: what makes its readouts change.

Surroundings are a pure function. The session calls it after every event with its own memory and with the device; it
returns what the device reports next, and when. So surroundings act on a device only by reports, which a history, a
recording and a test contain like every other event. `knobmenu.session.simulation` simulates what a design describes;
any other function with this signature can replace it.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

from knobmenu.design.whole import Design
from knobmenu.device.moment import Moment
from knobmenu.events import Report

MOST_AT_ONCE = 200
"""After this many reports at one time, surroundings that endlessly respond to their own reports are ignored until
another event. [reports]"""


class Response(NamedTuple):
    """The result of a call."""

    memory: object = None
    """The memory for the next call; it must not be changed in place."""
    report: Report | None = None
    """What the device reports next if nothing else happens before; its time is not before that of the moment."""


class Surroundings(Protocol):
    """The surroundings of a device: a pure function."""

    def __call__(self, design: Design, memory: object, moment: Moment) -> Response:
        """Respond to an event.

        Args:
            design: The device's design.
            memory: The memory of the last response; None at power-on.
            moment: The device just after an event: its state, the event (None at power-on, and after a change of
                the design) and the effects.
        """
