"""The cost since home."""

from __future__ import annotations

from itertools import chain

from knobmenu.picture.fitting import draw_pane, fit
from knobmenu.picture.runs import Drawing, Run
from knobmenu.session.cost import Cost, format_lasted, list_counts
from knobmenu.session.facts import describe_progress
from knobmenu.session.part import Part
from knobmenu.terminal.input.keymap import SHOWN

_ROOMY = 36
"""From this width on three counts have room between them. [terminal cells]"""

_WIDE = 48
"""From this width on there is room for everything in one row. [terminal cells]"""


def draw_cost(parts: tuple[Part, ...], columns: int, height: int) -> Drawing:
    """Draw the user's effort since each variant was at home.

    Args:
        parts: The variants.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    progress = [Run(f", {describe_progress(part)}", "dim") for part in parts]
    if len(parts) == 1:
        *counts, lasted = _draw_effort(parts[0].cost, "  " if columns >= _ROOMY else " ")
        rows = [fit(counts, columns), fit([lasted, *progress], columns)]
    else:
        rows = [
            fit(
                [Run(f"{letter} ", "caution"), *_draw_effort(part.cost, " "), *([state] if columns >= _WIDE else [])],
                columns,
            )
            for letter, part, state in zip("AB", parts, progress, strict=True)
        ]
    return draw_pane("cost since home", rows, columns, height, SHOWN["pane_cost"])


def _draw_effort(cost: Cost, gap: str) -> list[Run]:
    """Draw the counts of gestures, and the time that they took."""
    counts = [(Run(str(number), "strong"), Run(f" {unit}{gap}", "text")) for number, unit in list_counts(cost)]
    return [*chain.from_iterable(counts), Run(format_lasted(cost), "strong")]
