"""What holds the knob down: one of several input sources, tolerating lost and stray releases.

A press can come from a key, from the mouse, from a latched hold, or from a long press of measured length. Only the
source that pressed can release: a second press during it, or a release by another source, changes nothing. If a
release is lost, losing the window's focus releases the knob, and `STUCK_MS` does so at the latest.
"""

from __future__ import annotations

from typing import Literal

import attrs

STUCK_MS = 30_000
"""Longest press by a key or the mouse; after it, the release is taken to be lost. [ms]"""

Holder = Literal["nobody", "key", "mouse", "sticky", "measured"]


@attrs.frozen
class Hand:
    """What holds the knob down, and since when."""

    by: Holder = "nobody"
    """The kind of source."""
    name: str = ""
    """The name of the key, if a key holds it."""
    since_ms: int = 0
    """When the press began. [ms]"""

    @property
    def down(self) -> bool:
        """Whether the knob is held down."""
        return self.by != "nobody"


def press(hand: Hand, by: Holder, at_ms: int, name: str = "") -> Hand:
    """Press the knob; nothing changes while another source holds it."""
    return hand if hand.down else Hand(by, name, at_ms)


def release(hand: Hand, by: Holder, name: str = "") -> Hand:
    """Release the knob; nothing changes unless the caller holds it."""
    return Hand() if hand.down and (hand.by, hand.name) == (by, name) else hand


def release_on_blur(hand: Hand) -> Hand:
    """Release a key or the mouse when the window loses focus, since their release is then not reported."""
    return Hand() if hand.by in ("key", "mouse") else hand


def release_stuck(hand: Hand, at_ms: int) -> Hand:
    """Release a press that has lasted for `STUCK_MS`."""
    return Hand() if hand.by in ("key", "mouse") and at_ms - hand.since_ms >= STUCK_MS else hand


def find_release_due_ms(hand: Hand, measured_ms: int) -> int | None:
    """Return when the knob is released automatically, or None if it is not. [ms]

    Args:
        hand: What holds it.
        measured_ms: How long a press of measured length lasts. [ms]
    """
    if hand.by == "measured":
        return hand.since_ms + measured_ms
    return hand.since_ms + STUCK_MS if hand.by in ("key", "mouse") else None
