"""The top row: which design, what just became of it, and how the knob is pressed here."""

from __future__ import annotations

from knobmenu.picture.fitting import cut
from knobmenu.picture.runs import Drawing, Run, count_cells
from knobmenu.terminal.drawing.frame import draw_top


def draw_header(names: tuple[tuple[str, str], ...], message: str, ink: str, mode: str, columns: int) -> Drawing:
    """Draw the header.

    Args:
        names: For each design its name with its file, and its name alone for where there is not room for both.
        message: The latest message.
        ink: How it is written.
        mode: How the knob is pressed here.
        columns: Width. [terminal cells]
    """
    left = [Run(" ", "text", "raised")]
    most = max(columns * 3 // 10 // len(names), 12)
    for letter, (name, short) in zip("AB" if len(names) > 1 else " ", names, strict=True):
        left.append(Run(f"{letter} " if letter.strip() else "", "caution", "raised"))
        left.append(Run(name if count_cells(name) <= most else cut(short, most), "strong", "raised"))
        left.append(Run("   ", "text", "raised"))
    left.append(Run(message, ink, "raised"))
    return draw_top(left, mode, columns)
