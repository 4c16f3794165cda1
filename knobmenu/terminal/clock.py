"""The clock that the library stamps events by."""

from __future__ import annotations

from textual import events
from textual.message import Message


def now_ms() -> int:
    """Return the time on the clock that events are stamped by. [ms]"""
    return int(Message().time * 1000)


def real_ms(event: events.Event) -> int:
    """Return when an event came, on the same clock. [ms]"""
    return int(event.time * 1000)
