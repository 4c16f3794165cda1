"""Texts fitted into the width of a pane."""

from __future__ import annotations

from textwrap import wrap

from knobmenu.terminal.drawing.runs import Drawing, Row, Run, merged


def cut(text: str, columns: int) -> str:
    """Cut a text to a width, saying so with an ellipsis."""
    return text if len(text) <= columns else text[: max(columns - 1, 0)] + "…"[: max(columns, 0)]


def fitted(runs: list[Run], columns: int) -> Row:
    """Cut runs to a width; the last that does not fit ends in an ellipsis."""
    row: list[Run] = []
    left = columns
    for run in runs:
        if len(run.text) > left:
            row.append(run._replace(text=cut(run.text, left)))
            break
        row.append(run)
        left -= len(run.text)
    return merged(row)


def titled(title: str, rows: list[Row], columns: int, height: int, key: str = "") -> Drawing:
    """Put a title over a pane's rows, and cut what does not fit.

    Args:
        title: What the pane shows.
        rows: Its rows.
        columns: Width of the pane. [terminal cells]
        height: Height of it, title and all. [terminal cells]
        key: What puts it away, if anything does; it stands at the end of the title's line.
    """
    end = f" {key}" if key else ""
    line = " " + "─" * max(columns - len(title) - 1 - len(end), 0)
    head = merged([Run(title, "dim"), Run(line, "line"), Run(end, "dim")])
    return (head, *rows[: max(height - 1, 0)])


def wrapped(text: str, columns: int) -> list[str]:
    """Wrap a text to a width, at spaces where there are some."""
    return wrap(text, max(columns, 10)) or [""]
