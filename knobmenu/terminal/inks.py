"""From the names in a drawing to what the terminal library writes: styles for a palette, and a theme around it."""

from __future__ import annotations

from functools import lru_cache

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.theme import Theme

from knobmenu.terminal.drawing.palettes import Palette
from knobmenu.terminal.drawing.runs import Row


@lru_cache(maxsize=2048)
def style(palette: Palette, ink: str, ground: str) -> Style:
    """Return the style of a text in one ink on one ground."""
    attributes = {palette.attributes.get(ink, ""), palette.attributes.get(ground, "")}
    return Style(
        color=palette.colours[ink] or None,
        bgcolor=palette.colours[ground] or None,
        bold="bold" in attributes or None,
        reverse="reverse" in attributes or None,
        underline="underline" in attributes or None,
    )


def strip(palette: Palette, row: Row, columns: int, ground: str) -> Strip:
    """Write a row as wide as its place."""
    segments = [Segment(run.text, style(palette, run.ink, run.ground)) for run in row]
    return Strip(segments).adjust_cell_length(columns, style(palette, "text", ground))


def theme(palette: Palette) -> Theme:
    """Return a theme that suits a palette, for what the terminal library draws itself."""
    colours = palette.colours
    if not colours["panel"]:
        return Theme(
            name=palette.name.replace(" ", "-"),
            primary="ansi_default",
            background="ansi_default",
            foreground="ansi_default",
            surface="ansi_default",
            panel="ansi_default",
            dark=palette.dark,
            ansi=True,
        )
    return Theme(
        name=palette.name.replace(" ", "-"),
        primary=colours["accent"],
        secondary=colours["turn"],
        accent=colours["accent"],
        warning=colours["caution"],
        error=colours["wrong"],
        success=colours["good"],
        foreground=colours["text"],
        background=colours["ground"],
        surface=colours["panel"],
        panel=colours["raised"],
        dark=palette.dark,
    )
