"""From the names in a drawing to what the terminal library writes: styles for a palette, and a theme around it."""

from __future__ import annotations

from functools import lru_cache

from rich.style import Style
from textual.theme import Theme

from knobmenu.picture.palettes import Palette


@lru_cache(maxsize=2048)
def style(palette: Palette, ink: str, ground: str) -> Style:
    """Return the style of a text in one ink on one ground."""
    attributes = {palette.attributes.get(ink, ""), palette.attributes.get(ground, "")}
    return Style(
        color=palette.get_colour(ink) or None,
        bgcolor=palette.get_colour(ground) or None,
        bold="bold" in attributes or None,
        reverse="reverse" in attributes or None,
        underline="underline" in attributes or None,
    )


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
            variables=_PLAIN,
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


_PLAIN = {
    # The library's own style sheet asks for these two in every theme of the terminal's colours.
    "ansi-background": "ansi_default",
    "ansi-foreground": "ansi_default",
    # And these it would make of colours of its own.
    **{
        f"{part}{state}": "ansi_default"
        for part in ("scrollbar", "scrollbar-background")
        for state in ("", "-hover", "-active")
    },
}
