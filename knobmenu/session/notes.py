"""What the user writes down about a moment, and marks that structure a session."""

from __future__ import annotations

import attrs


@attrs.frozen
class Note:
    """A remark about a moment."""

    number: int
    """The number of the moment in the history."""
    at_ms: int
    """When the moment was. [ms since power-on]"""
    text: str


@attrs.frozen
class Mark:
    """A named point of a session, such as the begin of a task."""

    number: int
    """The number of the moment that was present."""
    real_ms: int
    """When the mark was set. [ms of real time]"""
    name: str
