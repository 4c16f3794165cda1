"""Device time that runs with real time."""

from __future__ import annotations

import attrs

from knobmenu.events import LATEST_MS

LATEST_LIVE_MS = LATEST_MS - 1_000_000
"""Where device time stops running by itself, which leaves room for events after it. [ms since power-on]"""


@attrs.frozen
class Clock:
    """A device time and the real time that it corresponds to; both run at the same rate."""

    real_ms: int
    """Time of any monotonic clock. [ms]"""
    device_ms: int
    """The device time at `real_ms`. [ms since power-on]"""

    def to_device(self, real_ms: int) -> int:
        """Return the device time at a real time. [ms since power-on]"""
        return min(self.device_ms + max(real_ms - self.real_ms, 0), LATEST_LIVE_MS)

    def to_real(self, device_ms: int) -> int:
        """Return the real time at a device time. [ms]"""
        return self.real_ms + device_ms - self.device_ms
