"""The one widget of a screen: pictures at their places, of which only what changed is drawn; and such a screen.

One widget and not one for each pane, so that the changes of all of them go to the terminal together.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Self, TypeVar

from rich.segment import Segment
from textual.app import ComposeResult
from textual.geometry import Region
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget
from textual.worker import Worker

from knobmenu.picture.changes import list_changes, make_padding
from knobmenu.picture.palettes import DARK, PALETTES, Palette
from knobmenu.picture.runs import Box, Drawing, Pictures, Run, count_cells, extract_text
from knobmenu.terminal.backend import direct
from knobmenu.terminal.backend.queue import get_queue
from knobmenu.terminal.backend.styles import style, theme
from knobmenu.terminal.backend.workers import find_failure

Result = TypeVar("Result")


class Canvas(Widget, can_focus=False):
    """Pictures at their places."""

    ALLOW_SELECT = False

    def __init__(self) -> None:
        """Begin empty."""
        super().__init__()
        self._palette = DARK
        self._pictures: Pictures = {}
        self._order: list[tuple[Box, Drawing]] = []
        self._whole_due = True

    @property
    def pictures(self) -> Pictures:
        """For each thing that is shown its place and its rows."""
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

    def refresh(self, *regions: Region, repaint: bool = True, layout: bool = False, recompose: bool = False) -> Self:
        """Draw regions again, or everything; what a canvas shows never asks for another layout of the screen."""
        return super().refresh(*regions, repaint=repaint)

    @property
    def is_drawn(self) -> bool:
        """Whether the pictures are known to be on the terminal."""
        return not self._whole_due

    def forget(self) -> None:
        """Draw everything at the next opportunity: something else was written over it."""
        self._whole_due = True

    def paint(self, palette: Palette, pictures: Pictures) -> None:
        """Show pictures instead of those before."""
        before, self._pictures = self._pictures, pictures
        self._order = sorted(pictures.values(), key=lambda picture: picture[0])
        places = {name: box for name, (box, _) in pictures.items()}
        if palette is not self._palette or places != {name: box for name, (box, _) in before.items()}:
            self._palette = palette
            if not self._whole_due:
                # Before the first whole drawing one comes anyway; a second would delay what is first seen.
                self._whole_due = True
                self.refresh()
            return
        changed = [
            change
            for name, (box, rows) in pictures.items()
            if rows is not before[name][1]
            for change in list_changes(box, before[name][1], rows)
        ]
        if not changed:
            return
        if not (self._alone() and direct.write(self.app, palette, changed, self.background_colors[1])):
            self.refresh(*(Region(*change.box) for change in changed))

    def _alone(self) -> bool:
        """Return whether nothing covers the pictures and all of them are on the terminal already."""
        return (
            not self._whole_due
            and self.app.screen is self.screen
            and not any(widget.children for widget in self.screen.children)
        )

    def render_lines(self, crop: Region) -> list[Strip]:
        """Put rows together, as they are now: what was written past Textual is in no cache of Textual's."""
        self._whole_due = False
        background = self.background_colors[1]
        filters = self.get_line_filters()
        strips = []
        for y in crop.line_range:
            strip = self.render_line(y)
            for line_filter in filters:
                strip = strip.apply_filter(line_filter, background)
            strips.append(strip.crop(crop.x, crop.right))
        return strips

    def render_line(self, y: int) -> Strip:
        """Put one row together."""
        segments: list[Segment] = []
        x = 0
        for box, rows in self._order:
            if not box.y <= y < box.y + box.rows:
                continue
            segments.append(self._make_blank(box.x - x))
            width = 0
            if y - box.y < len(rows):
                for run in rows[y - box.y]:
                    segment, cells = _make_segment(self._palette, run)
                    segments.append(segment)
                    width += cells
            segments.append(self._make_blank(box.columns - width))
            x = box.x + box.columns
        width = self.size.width
        segments.append(self._make_blank(width - x))
        return Strip([segment for segment in segments if segment.text], width)

    def _make_blank(self, columns: int) -> Segment:
        return _make_segment(self._palette, make_padding(columns))[0]


@lru_cache(maxsize=16384)
def _make_segment(palette: Palette, run: Run) -> tuple[Segment, int]:
    return Segment(run.text, style(palette, run.ink, run.ground)), count_cells(run.text)


class CanvasScreen(Screen[Result]):
    """A screen that is one canvas."""

    ALLOW_SELECT = False

    def __init__(self, palette: Palette) -> None:
        """Begin with an empty canvas.

        Args:
            palette: The look to begin with.
        """
        super().__init__()
        self.palette = palette
        self._canvas = Canvas()
        self._painting = False

    def compose(self) -> ComposeResult:
        """Put the canvas there."""
        yield self._canvas

    # What a child says.

    def pictures(self) -> Pictures:
        """Draw everything that is shown."""
        raise NotImplementedError

    def say(self, text: str, ink: str = "dim") -> None:
        """Show a message."""
        raise NotImplementedError

    @property
    def is_ready(self) -> bool:
        """Whether there is something to draw, and room for it."""
        return bool(self.size.width)

    # Showing.

    def changed(self) -> None:
        """Draw soon; many changes before that are drawn once."""
        if not self._painting:
            self._painting = True
            get_queue(self).call_after(self, self.paint)

    def paint(self) -> None:
        """Draw what changed."""
        self._painting = False
        if self.is_ready:
            self._canvas.paint(self.palette, self.pictures())

    def shown(self, name: str) -> str:
        """Return what one thing shows, as text; nothing where it is not shown."""
        return extract_text(self._canvas.shown(name))

    def take_look(self, palette: Palette) -> None:
        """Change the look."""
        self.palette = palette
        self.app.theme = theme(palette).name
        self.changed()

    def next_look(self) -> None:
        """Change to the next look."""
        self.take_look(PALETTES[(PALETTES.index(self.palette) + 1) % len(PALETTES)])
        self.say(f"look: {self.palette.name}")

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Report that a background task failed."""
        if failure := find_failure(event):
            self.say(failure, "wrong")
