"""What it cost since home."""

from __future__ import annotations

from knobmenu.machine.state import Mode
from knobmenu.picture.fitting import draw_pane, fit
from knobmenu.picture.runs import Drawing, Run
from knobmenu.session.cost import Cost
from knobmenu.session.part import Part
from knobmenu.terminal.input.keymap import SHOWN

_ROOMY = 36
"""From this width on three counts have room between them. [terminal cells]"""

_WIDE = 48
"""From this width on there is room for everything in one row. [terminal cells]"""


def draw_cost(parts: tuple[Part, ...], columns: int, height: int) -> Drawing:
    """Say what the hand did since each variant was at home.

    Args:
        parts: The variants.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    if len(parts) == 1:
        cost = parts[0].cost
        rows = [
            fit(_counts(cost, "  " if columns >= _ROOMY else " "), columns),
            fit([_format_lasted(cost), Run(_state(parts[0]), "dim")], columns),
        ]
    else:
        states = [[Run(_state(part), "dim")] if columns >= _WIDE else [] for part in parts]
        rows = [
            fit([Run(f"{letter} ", "caution"), *_counts(part.cost, " "), _format_lasted(part.cost), *state], columns)
            for letter, part, state in zip("AB", parts, states, strict=True)
        ]
    return draw_pane("cost since home", rows, columns, height, SHOWN["pane_cost"])


def _counts(cost: Cost, gap: str) -> list[Run]:
    """Say how often the hand did what; long presses only where there were some."""
    counts = [(cost.detents, _plural(cost.detents, "detent")), (cost.presses, _plural(cost.presses, "press"))]
    if cost.long_presses:
        counts.append((cost.long_presses, "long"))
    return [run for number, unit in counts for run in (Run(str(number), "strong"), Run(f" {unit}{gap}", "text"))]


def _format_lasted(cost: Cost) -> Run:
    return Run(f"{cost.lasted_ms / 1000:.1f} s", "strong")


def _state(part: Part) -> str:
    cost = part.cost
    if not (cost.detents or cost.presses or cost.long_presses):
        return ", nothing done yet"
    if part.state.mode is Mode.HOME:
        return ", home again" if cost.came_home else ", at home"
    return ", on the way"


def _plural(number: int, unit: str) -> str:
    if number == 1:
        return unit
    return f"{unit}es" if unit.endswith("s") else f"{unit}s"
