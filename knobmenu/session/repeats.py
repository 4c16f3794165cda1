"""Key repeats: tell a held key from one that is tapped, in a terminal that reports no releases."""

from __future__ import annotations

import attrs

REPEAT_MS = 60
"""Presses of one key that are closer than this come from a key that is held. [ms]"""

EVEN_MS = 130
"""Slower repeats are recognised by their evenness up to this gap. [ms]"""

EVEN_WITHIN_MS = 10
"""Gaps that differ by no more than this are even; a hand's differ more. [ms]"""


@attrs.frozen
class Repeats:
    """What tells a held key from one that is tapped, in a terminal that reports no releases."""

    name: str = ""
    """The key that came last."""
    at_ms: int = -1_000_000
    """When. [ms]"""
    gap_ms: int = 1_000_000
    """The gap before that. [ms]"""


def follow(before: Repeats, name: str, at_ms: int) -> tuple[Repeats, bool]:
    """Take a key, and tell whether it is a repeat of one that is held.

    A repeat is closer to the one before than a hand can tap, or as even as no hand is.
    """
    if name != before.name:
        return Repeats(name, at_ms), False
    gap = at_ms - before.at_ms
    even = gap <= EVEN_MS and abs(gap - before.gap_ms) <= EVEN_WITHIN_MS
    return Repeats(name, at_ms, gap), gap < REPEAT_MS or even
