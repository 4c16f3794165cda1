"""The user's notes on moments, and marks that structure a session."""

from __future__ import annotations

import attrs


@attrs.frozen
class Note:
    """A user's remark on a moment."""

    number: int
    """The number of the moment in the history."""
    at_ms: int
    """The time of the moment. [ms since power-on]"""
    text: str


@attrs.frozen
class Mark:
    """A named point of a session, such as the start of a task."""

    number: int
    """The number of the moment that was present."""
    real_ms: int
    """When the mark was set. [ms of real time]"""
    name: str
