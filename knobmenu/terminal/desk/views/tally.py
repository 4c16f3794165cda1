"""How a simulated encoder counted, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knobmenu.bench.live import Tally

LATE_MS = 100
"""From here on a person feels that a count is late; 0.1 s is the usual figure (common practice). [ms]"""


def tally_words(tally: Tally) -> tuple[str, str]:
    """Say what was turned and counted in all, and what went wrong, in two short lines.

    What was counted the wrong way is extra too, so that the four numbers add up.
    """
    extra = tally.extra + tally.reversed
    return f"turned {tally.turned}, counted {tally.counted}", f"lost {tally.lost}, extra {extra}"


def stroke_words(stroke: Tally) -> str:
    """Say how one movement was counted, such as ``turned 3, counted 1: 2 lost, the last 320 ms late``."""
    wrong = [
        f"{number} {what}"
        for number, what in ((stroke.lost, "lost"), (stroke.extra, "extra"), (stroke.reversed, "the wrong way"))
        if number
    ]
    if stroke.late_ms >= LATE_MS and stroke.counted:
        wrong.append(f"the last {stroke.late_ms} ms late")
    return f"turned {stroke.turned}, counted {stroke.counted}" + (f": {', '.join(wrong)}" if wrong else ", in time")
