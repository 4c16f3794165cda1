"""Texts fitted into the width of a pane."""

from __future__ import annotations

from collections.abc import Iterable

from rich.cells import chop_cells

from knobmenu.picture.runs import Drawing, Row, Run, cells_of, merge


def cut(text: str, columns: int) -> str:
    """Cut a text to a width, saying so with an ellipsis; signs that are two cells wide count as two."""
    if cells_of(text) <= columns:
        return text
    kept, left = "", columns - 1
    for sign in text:
        left -= cells_of(sign)
        if left < 0:
            break
        kept += sign
    return kept + "…"[: max(columns, 0)]


def pad(text: str, columns: int) -> str:
    """Fill a text up to a width; a longer one stays as it is."""
    return text + " " * (columns - cells_of(text))


def width_of(row: Iterable[Run]) -> int:
    """Return how wide runs are together. [terminal cells]"""
    return sum(cells_of(run.text) for run in row)


def fit(runs: list[Run], columns: int) -> Row:
    """Cut runs to a width; the last that does not fit ends in an ellipsis."""
    row: list[Run] = []
    left = columns
    for run in runs:
        width = cells_of(run.text)
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
        height: Height of it, title and all. [terminal cells]
        key: The key that hides it, if any; it stands at the end of the title's line.
    """
    end = f" {key}" if key else ""
    line = " " + "─" * max(columns - len(title) - 1 - len(end), 0)
    head = merge([Run(title, "dim"), Run(line, "line"), Run(end, "dim")])
    return (head, *rows[: max(height - 1, 0)])


def wrap(text: str, columns: int) -> list[str]:
    """Wrap a text to a width, at spaces where there are some.

    Args:
        text: What is wrapped.
        columns: The width, at least 10, of which signs that are two cells wide take two. [terminal cells]
    """
    width = max(columns, 10)
    lines = [""]
    for word in text.split():
        for piece in chop_cells(word, width):
            joined = f"{lines[-1]} {piece}".lstrip()
            if cells_of(joined) <= width:
                lines[-1] = joined
            else:
                lines.append(piece)
    return lines
