"""What it cost since home."""

from __future__ import annotations

from knobmenu.terminal.drawing.runs import Drawing, Run
from knobmenu.terminal.trying import Cost, Part
from knobmenu.terminal.views.fitting import fitted, titled


def cost_rows(parts: tuple[Part, ...], columns: int, height: int) -> Drawing:
    """Say what the hand did since each variant was at home.

    Args:
        parts: The variants.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    rows = []
    for letter, part in zip("AB" if len(parts) > 1 else " ", parts, strict=True):
        cost = part.cost
        words = [Run(f"{letter} " if letter.strip() else "", "caution")]
        counts = [(cost.detents, "detent"), (cost.presses, "press")]
        if cost.long_presses:
            counts.append((cost.long_presses, "long press"))
        for number, unit in counts:
            words += [Run(str(number), "strong"), Run(f" {plural(number, unit)}  ", "text")]
        rows.append(fitted(words, columns))
        rows.append(fitted([Run(f"{cost.lasted_ms / 1000:.1f} s", "strong"), Run(_state(cost), "dim")], columns))
    return titled("cost since home", rows, columns, height)


def _state(cost: Cost) -> str:
    if not (cost.detents or cost.presses or cost.long_presses):
        return ", nothing done yet"
    return ", home again" if cost.came_home else ", on the way"


def plural(number: int, unit: str) -> str:
    """Say a unit in the singular or the plural."""
    if number == 1:
        return unit
    return f"{unit}es" if unit.endswith("s") else f"{unit}s"
