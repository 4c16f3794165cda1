"""The one widget of the desk: pictures at their places, of which only what changed is drawn.

One widget and not one for each pane: the terminal library then has one thing to put together for each key, and one
row of it where several panes stand side by side.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from rich.cells import cell_len
from rich.segment import Segment
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from knobmenu.terminal.drawing.palettes import DARK, Palette
from knobmenu.terminal.drawing.runs import Drawing, Row, Run
from knobmenu.terminal.inks import style
from knobmenu.terminal.layout import Box

Pictures = Mapping[str, tuple[Box, Drawing]]
"""For each thing that is shown its place and its rows."""


class Canvas(Widget, can_focus=False):
    """Pictures at their places."""

    ALLOW_SELECT = False

    def __init__(self) -> None:
        """Begin empty."""
        super().__init__()
        self._palette = DARK
        self._pictures: Pictures = {}
        self._order: list[tuple[Box, Drawing]] = []

    @property
    def pictures(self) -> Pictures:
        """All that is shown."""
        return self._pictures

    def shown(self, name: str) -> Drawing:
        """Return the rows of one thing; none where it is not shown."""
        return self._pictures[name][1] if name in self._pictures else ()

    def box_at(self, x: int, y: int) -> tuple[str, Box] | None:
        """Return what is at a place, and where that is."""
        for name, (box, _) in self._pictures.items():
            if box.x <= x < box.x + box.columns and box.y <= y < box.y + box.rows:
                return name, box
        return None

    def paint(self, palette: Palette, pictures: Pictures) -> None:
        """Show pictures instead of those before."""
        before, self._pictures = self._pictures, pictures
        self._order = sorted(pictures.values(), key=lambda picture: picture[0])
        places = {name: box for name, (box, _) in pictures.items()}
        if palette is not self._palette or places != {name: box for name, (box, _) in before.items()}:
            self._palette = palette
            self.refresh()
            return
        changed = [
            region
            for name, (box, rows) in pictures.items()
            if rows is not before[name][1]
            for region in changes(box, before[name][1], rows)
        ]
        if changed:
            self.refresh(*changed)

    def render_line(self, y: int) -> Strip:
        """Put one row together."""
        segments: list[Segment] = []
        x = 0
        for box, rows in self._order:
            if not box.y <= y < box.y + box.rows:
                continue
            segments.append(self._blank(box.x - x))
            width = 0
            if y - box.y < len(rows):
                for run in rows[y - box.y]:
                    segment, cells = _segment(self._palette, run)
                    segments.append(segment)
                    width += cells
            segments.append(self._blank(box.columns - width))
            x = box.x + box.columns
        width = self.size.width
        segments.append(self._blank(width - x))
        return Strip([segment for segment in segments if segment.text], width)

    def _blank(self, columns: int) -> Segment:
        return Segment(" " * columns, style(self._palette, "text", "panel"))


@lru_cache(maxsize=16384)
def _segment(palette: Palette, run: Run) -> tuple[Segment, int]:
    return Segment(run.text, style(palette, run.ink, run.ground)), cell_len(run.text)


def changes(box: Box, before: Drawing, after: Drawing) -> list[Region]:
    """Return where a picture changed."""
    regions = []
    for number in range(min(max(len(before), len(after)), box.rows)):
        old = before[number] if number < len(before) else ()
        new = after[number] if number < len(after) else ()
        if old is not new and old != new:
            first, last = _changed_columns(old, new, box.columns)
            regions.append(Region(box.x + first, box.y + number, last - first, 1))
    return regions


def _changed_columns(old: Row, new: Row, columns: int) -> tuple[int, int]:
    """Return the first changed column of a row, and one beyond the last."""
    first = 0
    for one, other in zip(old, new, strict=False):
        if one != other:
            break
        first += cell_len(one.text)
    last = columns
    if sum(cell_len(run.text) for run in old) == sum(cell_len(run.text) for run in new) == columns:
        for one, other in zip(reversed(old), reversed(new), strict=False):
            if one != other:
                break
            last -= cell_len(one.text)
    return (first, last) if first < last else (0, columns)
