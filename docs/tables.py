"""Tables in Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def draw_table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Draw a table: the names of its columns, and its rows of as many cells."""
    lines = (columns, ["---"] * len(columns), *rows)
    return "".join(f"| {' | '.join(cells)} |\n" for cells in lines)
