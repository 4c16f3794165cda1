"""A widget that shows rows of coloured text, and redraws only those that changed."""

from __future__ import annotations

from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from knobmenu.terminal.drawing.palettes import DARK, Palette
from knobmenu.terminal.drawing.runs import Drawing, Row, Run, merged
from knobmenu.terminal.inks import strip


class Painted(Widget, can_focus=False):
    """Rows at a place of their own."""

    ALLOW_SELECT = False

    def __init__(self, name: str, ground: str = "panel") -> None:
        """Begin empty.

        Args:
            name: Which thing of the plan it is, and its id.
            ground: The ground where no row is.
        """
        super().__init__(id=name)
        self._ground = ground
        self._palette = DARK
        self._rows: Drawing = ()
        self._strips: list[Strip | None] = []

    @property
    def rows(self) -> Drawing:
        """What it shows."""
        return self._rows

    def paint(self, palette: Palette, rows: Drawing) -> None:
        """Show rows; those that are as they were are not drawn again."""
        before = self._rows
        if palette is not self._palette:
            self._palette = palette
            self._rows, self._strips = rows, [None] * len(rows)
            self.refresh()
            return
        if rows is before:
            return
        self._rows = rows
        self._strips = self._strips[: len(rows)] + [None] * (len(rows) - len(before))
        width = self.size.width
        changed = [
            Region(0, y, width, 1)
            for y in range(max(len(rows), len(before)))
            if y >= len(rows) or y >= len(before) or (rows[y] is not before[y] and rows[y] != before[y])
        ]
        for region in changed:
            if region.y < len(rows):
                self._strips[region.y] = None
        if changed:
            self.refresh(*changed)

    def on_resize(self) -> None:
        """Write every row again, in the new width."""
        self._strips = [None] * len(self._rows)

    def render_line(self, y: int) -> Strip:
        """Give one row."""
        if y >= len(self._rows):
            return strip(self._palette, (), self.size.width, self._ground)
        written = self._strips[y]
        if written is None or written.cell_length != self.size.width:
            written = self._strips[y] = strip(self._palette, self._rows[y], self.size.width, self._ground)
        return written


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


def titled(title: str, rows: list[Row], columns: int, height: int) -> Drawing:
    """Put a title over a pane's rows, and cut what does not fit."""
    head = merged([Run("─ ", "line"), Run(title, "dim"), Run(" " + "─" * max(columns - len(title) - 3, 0), "line")])
    return (head, *rows[: max(height - 1, 0)])
