"""Rows of coloured text, with names in place of colours."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import NamedTuple

from rich.cells import cell_len


class Run(NamedTuple):
    """A text in one ink on one ground."""

    text: str
    ink: str
    """A key of `knobmenu.picture.palettes.Palette.colours`."""
    ground: str = "panel"
    """Another."""


Row = tuple[Run, ...]
"""Runs from left to right."""
Drawing = tuple[Row, ...]
"""Rows from the top, all of the same width."""


class Size(NamedTuple):
    """The size of something. [terminal cells]"""

    columns: int
    rows: int


class Box(NamedTuple):
    """A rectangle of terminal cells."""

    x: int
    y: int
    columns: int
    rows: int


Pictures = Mapping[str, tuple[Box, Drawing]]
"""The place and the rows of each thing that is shown."""


def merge(runs: Iterable[Run]) -> Row:
    """Join adjacent runs that look the same, and drop empty ones."""
    row: list[Run] = []
    for run in runs:
        if not run.text:
            continue
        if row and row[-1].ink == run.ink and row[-1].ground == run.ground:
            row[-1] = Run(row[-1].text + run.text, run.ink, run.ground)
        else:
            row.append(run)
    return tuple(row)


@lru_cache(maxsize=16384)
def count_cells(text: str) -> int:
    """Count the cells of a text; characters that are two cells wide count as two. [terminal cells]"""
    # Most texts that change are plain numbers and words, which need not be measured character by character.
    return len(text) if text.isascii() and text.isprintable() else cell_len(text)


def extract_text(drawing: Drawing) -> str:
    """Return a drawing's characters alone, one line for each row."""
    return "\n".join("".join(run.text for run in row) for row in drawing)
