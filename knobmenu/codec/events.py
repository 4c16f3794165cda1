"""Events as plain data: ``{"event": "turn", "at_ms": 100, "detents": 1, "times": 1}`` and back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from knobmenu.errors import EventError, nearest, one_of, quote_value
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait

EVENTS: Mapping[str, type[Event]] = {
    event.word: event for event in (Turn, HeldTurn, Press, LongPress, DoublePress, Wait, Report)
}
"""Every event by its word."""


def event_to_plain(event: Event) -> dict[str, Any]:
    """Write an event as JSON's own types."""
    match event:
        case Turn(at_ms, detents, times):
            return {"event": event.word, "at_ms": at_ms, "detents": detents, "times": times}
        case HeldTurn(at_ms, detents):
            return {"event": event.word, "at_ms": at_ms, "detents": detents}
        case Report(at_ms, key, value):
            return {"event": event.word, "at_ms": at_ms, "key": key, "value": value}
        case _:
            return {"event": event.word, "at_ms": event.at_ms}


def event_from_plain(plain: object) -> Event:
    """Read an event.

    Raises:
        EventError: It is not an event; the message states what was expected and what was found.
    """
    if not isinstance(plain, dict):
        raise EventError(f"event: expected a table, got {quote_value(plain)}")
    fields = dict(plain)
    word = fields.pop("event", None)
    kind = EVENTS.get(word) if isinstance(word, str) else None
    if kind is None:
        advice = nearest(word, EVENTS) if isinstance(word, str) else ""
        raise EventError(f"event: expected {one_of(EVENTS)}, got {quote_value(word)}. {advice}".strip())
    try:
        return kind(**fields)
    except TypeError:
        # The event checks its values itself; missing and unknown fields raise TypeError.
        raise EventError(f"{word}: expected the fields of this event, got {_list_fields(fields)}") from None


def _list_fields(fields: Mapping[str, object]) -> str:
    return ", ".join(map(quote_value, fields)) or "none"
