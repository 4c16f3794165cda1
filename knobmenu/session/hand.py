"""Who holds the knob down: one of several sources, with lost and stray releases healed.

A press can come from a key, from the mouse, from a hold that stays, or from a long press made to measure. Only the
source that pressed can let go: a second press during it, or a release by another source, changes nothing. A release
that never comes is made up when the window loses its focus, and at the latest after `STUCK_MS`.
"""

from __future__ import annotations

from typing import Literal

import attrs

STUCK_MS = 30_000
"""Longest press by a key or the mouse; nobody holds a knob so long, a release got lost. [ms]"""

Holder = Literal["nobody", "key", "mouse", "sticky", "measured"]


@attrs.frozen
class Hand:
    """Who holds the knob down, and since when."""

    by: Holder = "nobody"
    """The kind of source."""
    name: str = ""
    """Which key, where it is a key."""
    since_ms: int = 0
    """Since when. [ms]"""

    @property
    def down(self) -> bool:
        """Whether the knob is held down."""
        return self.by != "nobody"


def press(hand: Hand, by: Holder, at_ms: int, name: str = "") -> Hand:
    """Press the knob; nothing changes while someone else holds it."""
    return hand if hand.down else Hand(by, name, at_ms)


def release(hand: Hand, by: Holder, name: str = "") -> Hand:
    """Release the knob; nothing changes unless the caller holds it."""
    return Hand() if hand.down and (hand.by, hand.name) == (by, name) else hand


def release_on_blur(hand: Hand) -> Hand:
    """Release what is held when the window loses focus, since its release is not reported."""
    return Hand() if hand.by in ("key", "mouse") else hand


def release_stuck(hand: Hand, at_ms: int) -> Hand:
    """Release a press that has lasted too long to be one."""
    return Hand() if hand.by in ("key", "mouse") and at_ms - hand.since_ms >= STUCK_MS else hand


def release_due_ms(hand: Hand, measured_ms: int) -> int | None:
    """Return when the knob lets go by itself, or None where it does not. [ms]

    Args:
        hand: Who holds it.
        measured_ms: How long a press made to measure lasts. [ms]
    """
    if hand.by == "measured":
        return hand.since_ms + measured_ms
    return hand.since_ms + STUCK_MS if hand.by in ("key", "mouse") else None
