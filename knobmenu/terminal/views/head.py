"""The top row: which design, what just became of it, and how the knob is pressed here."""

from __future__ import annotations

from knobmenu.terminal.drawing.runs import Drawing, Run
from knobmenu.terminal.views.fitting import cut, fitted


def head_rows(names: tuple[str, ...], message: str, ink: str, mode: str, columns: int) -> Drawing:
    """Write the head.

    Args:
        names: The designs' names with their files.
        message: The last thing to be said.
        ink: How it is written.
        mode: How the knob is pressed here.
        columns: Width. [terminal cells]
    """
    right = f" {mode} "
    left = [Run(" ", "text", "raised")]
    for letter, name in zip("AB" if len(names) > 1 else " ", names, strict=True):
        left.append(Run(f"{letter} " if letter.strip() else "", "caution", "raised"))
        left.append(Run(cut(name, max(columns // 3, 12)), "strong", "raised"))
        left.append(Run("   ", "text", "raised"))
    left.append(Run(message, ink, "raised"))
    room = columns - len(right)
    row = fitted(left, room)
    used = sum(len(run.text) for run in row)
    return ((*row, Run(" " * (room - used), "text", "raised"), Run(right, "dim", "raised")),)
