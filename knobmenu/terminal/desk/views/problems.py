"""The problems of a design's file with their lines, while the last good design stays."""

from __future__ import annotations

from pathlib import PurePath

from knobmenu.errors import Problem
from knobmenu.picture.fitting import draw_pane, wrap
from knobmenu.picture.runs import Drawing, Row, Run


def draw_problems(problems: tuple[Problem, ...], columns: int, height: int) -> Drawing:
    """List problems, each wrapped to the width.

    Args:
        problems: What is wrong.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    rows: list[Row] = []
    for problem in problems:
        # The file's name alone: its folder is known, and would take the room of the problem.
        message = str(problem._replace(file=PurePath(problem.file).name))
        for number, line in enumerate(wrap(message, columns - 2)):
            rows.append((Run("✗ " if number == 0 else "  ", "wrong"), Run(line, "text")))
    if len(rows) > height - 1:
        rows = [*rows[: height - 2], (Run(f"  and more: {len(problems)} problems in all", "dim"),)]
    return draw_pane("the file is broken; the last good design stays", rows, columns, height)
