"""Device time while it runs with real time."""

from __future__ import annotations

import attrs

from knobmenu.events import LATEST_MS

LATEST_LIVE_MS = LATEST_MS - 1_000_000
"""Where device time stops running by itself: what is done then still has its time. [ms since power-on]"""


@attrs.frozen
class Clock:
    """A device time that belongs to a real time; from there on both run equally fast."""

    real_ms: int
    """Milliseconds of any clock that does not go back. [ms]"""
    device_ms: int
    """The device time then. [ms since power-on]"""

    def to_device(self, real_ms: int) -> int:
        """Return the device time at a real time. [ms since power-on]"""
        return min(self.device_ms + max(real_ms - self.real_ms, 0), LATEST_LIVE_MS)

    def to_real(self, device_ms: int) -> int:
        """Return the real time at a device time. [ms]"""
        return self.real_ms + device_ms - self.device_ms
