"""The time by which the terminal library stamps what comes, moved by hand."""

from __future__ import annotations


class Clock:
    """Stands in for the library's module of time, where messages are stamped."""

    def __init__(self) -> None:
        self.now_ms = 1_000_000

    def get_time(self) -> float:
        """Return the time. [s]"""
        # A little more than whole milliseconds, so that no rounding loses one.
        return (self.now_ms + 0.01) / 1000

    def later(self, by_ms: int) -> None:
        """Let time pass. [ms]"""
        self.now_ms += by_ms
