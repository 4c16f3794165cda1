"""Fit texts into the width of a pane."""

from __future__ import annotations

from collections.abc import Iterable

from rich.cells import chop_cells

from knobmenu.picture.runs import Drawing, Row, Run, count_cells, merge


def cut(text: str, columns: int) -> str:
    """Cut a text to a width, with an ellipsis at its end; characters that are two cells wide count as two."""
    if count_cells(text) <= columns:
        return text
    kept, left = "", columns - 1
    for character in text:
        left -= count_cells(character)
        if left < 0:
            break
        kept += character
    return kept + "…"[: max(columns, 0)]


def pad(text: str, columns: int) -> str:
    """Pad a text to a width; a longer one stays as it is."""
    return text + " " * (columns - count_cells(text))


def measure_width(row: Iterable[Run]) -> int:
    """Measure the total width of runs. [terminal cells]"""
    return sum(count_cells(run.text) for run in row)


def fit(runs: list[Run], columns: int) -> Row:
    """Cut runs to a width; the last one that does not fit ends with an ellipsis."""
    row: list[Run] = []
    left = columns
    for run in runs:
        width = count_cells(run.text)
        if width > left:
            row.append(run._replace(text=cut(run.text, left)))
            break
        row.append(run)
        left -= width
    return merge(row)


def draw_pane(title: str, rows: list[Row], columns: int, height: int, key: str = "") -> Drawing:
    """Put a title over a pane's rows, and cut what does not fit.

    Args:
        title: What the pane shows.
        rows: Its rows.
        columns: Width of the pane. [terminal cells]
        height: Height of the pane, including the title. [terminal cells]
        key: The key that hides it, if any; shown at the end of the title's line.
    """
    end = f" {key}" if key else ""
    line = " " + "─" * max(columns - len(title) - 1 - len(end), 0)
    head = merge([Run(title, "dim"), Run(line, "line"), Run(end, "dim")])
    return (head, *rows[: max(height - 1, 0)])


def find_first_shown(place: int, count: int, room: int) -> int:
    """Return where a list begins that is too long for its room, with the row at a place in the middle if possible."""
    return max(0, min(place - room // 2, count - room))


def wrap(text: str, columns: int) -> list[str]:
    """Wrap a text to a width, at spaces where there are some.

    Args:
        text: What is wrapped.
        columns: The width, at least 10, of which characters that are two cells wide take two. [terminal cells]
    """
    width = max(columns, 10)
    lines = [""]
    for word in text.split():
        for piece in chop_cells(word, width):
            joined = f"{lines[-1]} {piece}".lstrip()
            if count_cells(joined) <= width:
                lines[-1] = joined
            else:
                lines.append(piece)
    return lines
