"""The top row: which design, what just became of it, and how the knob is pressed here."""

from __future__ import annotations

from knobmenu.picture.fitting import cut, measure_width
from knobmenu.picture.runs import Drawing, Run, count_cells
from knobmenu.terminal.drawing.frame import draw_top


def draw_header(names: tuple[tuple[str, str], ...], message: str, ink: str, mode: str, columns: int) -> Drawing:
    """Draw the header; files give way to the message.

    Args:
        names: For each design its name with its file, and a shorter one for where there is not room for both.
        message: The latest message.
        ink: How it is written.
        mode: How the knob is pressed here.
        columns: Width. [terminal cells]
    """
    most = max(columns * 3 // 10 // len(names), 12)
    wide = tuple(name if count_cells(name) <= most else short for name, short in names)
    row = _write_left(wide, most, message, ink)
    if measure_width(row) > columns - len(mode) - 2:
        row = _write_left(tuple(short for _, short in names), most, message, ink)
    return draw_top(row, mode, columns)


def _write_left(names: tuple[str, ...], most: int, message: str, ink: str) -> list[Run]:
    """Write the names, each cut to its most cells, and the message."""
    left = [Run(" ", "text", "raised")]
    for letter, name in zip("AB" if len(names) > 1 else " ", names, strict=True):
        left.append(Run(f"{letter} " if letter.strip() else "", "caution", "raised"))
        left.append(Run(cut(name, most), "strong", "raised"))
        left.append(Run("   ", "text", "raised"))
    left.append(Run(message, ink, "raised"))
    return left
