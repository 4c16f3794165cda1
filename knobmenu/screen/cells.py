"""The grid of cells that a display shows at one moment."""

from __future__ import annotations

from typing import NamedTuple

import attrs

from knobmenu.structure import Structure


class Span(NamedTuple):
    """Cells beside each other in one row."""

    row: int
    """The row, from 0 at the top."""
    start: int
    """The first cell, from 0 at the left."""
    stop: int
    """One beyond the last cell."""


@attrs.frozen(repr=False)
class Screen(Structure):
    """What is shown: immutable, hashable, and equal to any screen that looks the same.

    Nothing on it moves by itself. Blinking cells are marked; the firmware decides how fast they blink.
    """

    rows: tuple[str, ...]
    """The display's rows from the top, one character for each cell, each as long as the display is wide."""
    blinking: tuple[Span, ...] = ()
    """The cells that blink."""
    points: tuple[int, ...] = ()
    """Cells of a seven-segment display whose decimal point is lit; from 0 at the left."""
    replaced: tuple[str, ...] = ()
    """Characters that the display lacks, for which others are shown, in order of appearance."""
    cut: tuple[str, ...] = ()
    """Texts that are not shown in full, each as it would be shown if there were room."""

    def __str__(self) -> str:
        return "\n".join(self.rows)
