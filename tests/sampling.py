"""How much the slow suites run: a sample by default, everything with KNOBMENU_WHOLE=1.

This module is the only place that reads the variable, so that no two suites disagree about what it means.
"""

from __future__ import annotations

import os


def parse_whole(text: str) -> bool:
    """Return whether the slow suites run whole.

    Args:
        text: The value of KNOBMENU_WHOLE: `1` for everything, `0` or nothing for a sample.

    Raises:
        ValueError: The value is something else.
    """
    match text:
        case "" | "0":
            return False
        case "1":
            return True
    raise ValueError(f"KNOBMENU_WHOLE: expected 1 or 0, got {text!r}. Set it to 1 to run the slow suites whole.")


WHOLE = parse_whole(os.environ.get("KNOBMENU_WHOLE", ""))
"""Whether the slow suites run whole."""


def sampled(whole: int, sample: int) -> int:
    """Return how many cases a slow suite runs: `sample` by default, `whole` with KNOBMENU_WHOLE=1."""
    return whole if WHOLE else sample
