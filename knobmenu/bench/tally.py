"""How a simulated encoder counted, in numbers and in text."""

from __future__ import annotations

import attrs

from knobmenu.structure import GREATEST, Additive

LATE_MS = 100
"""From here on a person feels that a count is late; 0.1 s is the usual figure (common practice). [ms]"""


@attrs.frozen
class Directions(Additive):
    """Detents by their direction."""

    up: int = 0
    """Clockwise. [detents]"""
    down: int = 0
    """Counter-clockwise. [detents]"""

    @property
    def total(self) -> int:
        """In either direction. [detents]"""
        return self.up + self.down

    @property
    def net(self) -> int:
        """Where they end. [detents]"""
        return self.up - self.down


def split_directions(detents: int) -> Directions:
    """Return signed detents, clockwise positive, by their direction."""
    return Directions(max(detents, 0), max(-detents, 0))


@attrs.frozen(kw_only=True)
class Miscount(Additive):
    """What is wrong with a count."""

    lost: int = 0
    """Detents turned and never counted. [detents]"""
    extra: int = 0
    """Counted in the right direction, but too many. [detents]"""
    reversed: int = 0
    """Counted against the hand's direction. [detents]"""

    @property
    def errors(self) -> int:
        """Everything that is wrong. [detents]"""
        return self.lost + self.extra + self.reversed


@attrs.frozen(kw_only=True)
class Tally(Miscount):
    """The count compared with the turning; a detent that is still in transit is not lost yet."""

    turned: int = 0
    """Detents that the hand turned, whatever the direction. [detents]"""
    counted: int = 0
    """Detents that were counted, whatever the direction. [detents]"""
    late_ms: int = attrs.field(default=0, metadata=GREATEST)
    """How long after the hand had come to rest the last detent was counted, in the worst of the strokes. [ms]"""
    strokes: int = 0
    """How many movements have settled, each from rest to rest."""


def format_tally(tally: Tally) -> tuple[str, str]:
    """Write what was turned and counted in total, and what went wrong, in two short lines.

    What was counted the wrong way is extra too, so that the four numbers add up.
    """
    extra = tally.extra + tally.reversed
    return f"turned {tally.turned}, counted {tally.counted}", f"lost {tally.lost}, extra {extra}"


def format_stroke(stroke: Tally) -> str:
    """Write how one movement was counted, such as ``turned 3, counted 1: 2 lost, the last 320 ms late``."""
    wrong = [
        f"{number} {what}"
        for number, what in ((stroke.lost, "lost"), (stroke.extra, "extra"), (stroke.reversed, "the wrong way"))
        if number
    ]
    if stroke.late_ms >= LATE_MS and stroke.counted:
        wrong.append(f"the last {stroke.late_ms} ms late")
    return f"turned {stroke.turned}, counted {stroke.counted}" + (f": {', '.join(wrong)}" if wrong else ", in time")
