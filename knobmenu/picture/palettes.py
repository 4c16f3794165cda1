"""Looks as data: for each ink, its colour and how it is written."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Literal

import attrs

from knobmenu.picture.disc import Shading
from knobmenu.picture.forms import Manner

Attribute = Literal["", "bold", "reverse", "underline"]


@attrs.frozen(eq=False, repr=False)
class Palette:
    """Colours for the inks of all drawings and for the text around them."""

    name: str
    """What the look is called."""
    dark: bool
    """Whether its grounds are dark."""
    colours: Mapping[str, str]
    """For each ink and ground: ``#rrggbb``, or the name of one of the terminal's sixteen colours, or nothing: as the
    terminal has it."""
    attributes: Mapping[str, Attribute] = attrs.field(factory=dict)
    """For some inks, how they are written besides their colour."""
    manner: Manner = attrs.field(factory=Manner)
    """What drawings have to heed."""
    shading: Shading | None = None
    """The colours of the knob as a shaded disc, where the terminal shows any colour; None: it is drawn as a ring."""

    def get_colour(self, ink: str) -> str:
        """Return the colour of an ink; one that begins with ``#`` is a colour."""
        return ink if ink.startswith("#") else self.colours[ink]


PANEL_INKS = ("text", "dim", "strong", "accent", "turn", "press", "good", "caution", "wrong")
"""Inks of words around the device; each can be read on the grounds ``panel`` and ``ground``."""

DEVICE_INKS = (
    "lcd-ink", "lcd-unlit", "lcd-mark", "lcd-glass", "pixel-ink", "pixel-mark", "pixel-glass", "segment-ink",
    "segment-unlit", "segment-mark", "segment-glass", "bezel", "knob", "knob-pressed", "detent", "pointer", "hold",
    "lamp-off", "lamp-on", "lamp-red", "lamp-green", "lamp-blue", "lamp-yellow", "lamp-amber", "lamp-orange",
    "lamp-white", "differs",
)  # fmt: skip
"""Inks and grounds of the device."""

LAMP_COLOURS = ("red", "green", "blue", "yellow", "amber", "orange", "white")
"""The colours that a lamp is drawn in where its own words name one; each is an ink, such as ``lamp-red``."""

GROUNDS = ("ground", "panel", "raised", "line")
"""Behind everything; behind a pane; behind a key or a title; the lines between panes."""

NAMES = (*PANEL_INKS, *DEVICE_INKS, *GROUNDS)

_GLASS_GREEN = {"lcd-ink": "#1d2a10", "lcd-unlit": "#a9b962", "lcd-mark": "#1d2a10", "lcd-glass": "#b9c873"}
_GLASS_DARK = {
    "pixel-ink": "#d6f4ff", "pixel-mark": "#ffd37a", "pixel-glass": "#05070a",
    "segment-ink": "#ff5a4a", "segment-unlit": "#331613", "segment-mark": "#ffb0a4", "segment-glass": "#140a0a",
}  # fmt: skip

DARK = Palette(
    "dark",
    True,
    {
        "ground": "#191c22", "panel": "#191c22", "raised": "#2a2f38", "line": "#3d444f",
        "text": "#d5d9e0", "dim": "#949cab", "strong": "#ffffff", "accent": "#ffb454", "turn": "#7fb8ea",
        "press": "#f0a868", "good": "#6fd08c", "caution": "#ffcf66", "wrong": "#ff8a80",
        **_GLASS_GREEN, **_GLASS_DARK,
        "bezel": "#0a0b0d", "knob": "#aab1bd", "knob-pressed": "#d89a4a", "detent": "#7b8494", "pointer": "#ffb454",
        "hold": "#fff1d6", "lamp-off": "#7b8494", "lamp-on": "#ffffff", "lamp-red": "#ff6b5e",
        "lamp-green": "#5fe08a", "lamp-blue": "#6fb1ff", "lamp-yellow": "#ffe066", "lamp-amber": "#ffb454",
        "lamp-orange": "#ff9e57", "lamp-white": "#ffffff", "differs": "#ffcf66",
    },
    {"strong": "bold", "pixel-mark": "reverse", "lcd-mark": "reverse"},
    shading=Shading("#191c22", "#272c35", "#5f6876", "#d89a4a", "#ffb454", "#fff1d6"),
)  # fmt: skip

LIGHT = Palette(
    "light",
    False,
    {
        "ground": "#f6f7f9", "panel": "#f6f7f9", "raised": "#dde1e6", "line": "#b3bac4",
        "text": "#23272e", "dim": "#5a6270", "strong": "#000000", "accent": "#8a4b00", "turn": "#0b5394",
        "press": "#8a4b00", "good": "#16653a", "caution": "#7a5200", "wrong": "#a8201a",
        **_GLASS_GREEN, **_GLASS_DARK,
        "bezel": "#3a3f47", "knob": "#4d5562", "knob-pressed": "#8a4b00", "detent": "#757e8c", "pointer": "#a84300",
        "hold": "#4a2500", "lamp-off": "#757e8c", "lamp-on": "#000000", "lamp-red": "#c4271d",
        "lamp-green": "#1a7f43", "lamp-blue": "#1763b8", "lamp-yellow": "#8a6d00", "lamp-amber": "#9a5b00",
        "lamp-orange": "#b04d00", "lamp-white": "#5a6270", "differs": "#ffcf66",
    },
    {"strong": "bold", "pixel-mark": "reverse", "lcd-mark": "reverse"},
    shading=Shading("#f6f7f9", "#c0c6ce", "#eef0f3", "#8a4b00", "#a84300", "#4a2500"),
)  # fmt: skip

HIGH_CONTRAST = Palette(
    "high contrast",
    True,
    {
        "ground": "#000000", "panel": "#000000", "raised": "#303030", "line": "#ffffff",
        "text": "#ffffff", "dim": "#d8d8d8", "strong": "#ffffff", "accent": "#ffe500", "turn": "#7fdfff",
        "press": "#ffe500", "good": "#7dff9b", "caution": "#ffe500", "wrong": "#ffb3ab",
        "lcd-ink": "#ffffff", "lcd-unlit": "#000000", "lcd-mark": "#ffe500", "lcd-glass": "#000000",
        "pixel-ink": "#ffffff", "pixel-mark": "#ffe500", "pixel-glass": "#000000",
        "segment-ink": "#ffffff", "segment-unlit": "#000000", "segment-mark": "#ffe500", "segment-glass": "#000000",
        "bezel": "#ffffff", "knob": "#ffffff", "knob-pressed": "#ffe500", "detent": "#ffffff", "pointer": "#ffe500",
        "hold": "#ffe500", "lamp-off": "#d8d8d8", "lamp-on": "#ffffff", "lamp-red": "#ffb3ab",
        "lamp-green": "#7dff9b", "lamp-blue": "#9ecbff", "lamp-yellow": "#ffe500", "lamp-amber": "#ffd27a",
        "lamp-orange": "#ffc48a", "lamp-white": "#ffffff", "differs": "#ffe500",
    },
    {"strong": "bold", "lcd-mark": "reverse", "pixel-mark": "reverse"},
    Manner(unlit=False, solid=False),
)  # fmt: skip

# Of sixteen colours only the terminal knows how they look, and dark ink in bold turns grey on some: so the grounds
# stay the terminal's own, glass is black, and no dark ink is bold.
SIXTEEN = Palette(
    "16 colours",
    True,
    {
        **dict.fromkeys(NAMES, ""),
        "line": "bright_black", "accent": "yellow", "turn": "cyan", "press": "yellow", "good": "green",
        "caution": "yellow", "wrong": "bright_red",
        "lcd-ink": "bright_green", "lcd-unlit": "black", "lcd-mark": "bright_green", "lcd-glass": "black",
        "pixel-ink": "bright_white", "pixel-mark": "bright_yellow", "pixel-glass": "black",
        "segment-ink": "bright_red", "segment-unlit": "black", "segment-mark": "bright_yellow",
        "segment-glass": "black",
        "knob-pressed": "yellow", "pointer": "yellow", "hold": "yellow", "lamp-red": "bright_red",
        "lamp-green": "green", "lamp-blue": "bright_blue", "lamp-yellow": "yellow", "lamp-amber": "yellow",
        "lamp-orange": "yellow", "differs": "yellow",
    },
    {"strong": "bold", "lcd-mark": "reverse", "pixel-mark": "reverse", "raised": "reverse"},
    Manner(unlit=False, solid=False),
)  # fmt: skip

NO_COLOUR = Palette(
    "no colour",
    True,
    dict.fromkeys(NAMES, ""),
    {
        "strong": "bold", "pointer": "bold", "wrong": "bold", "caution": "bold", "lcd-mark": "reverse",
        "pixel-mark": "reverse", "segment-mark": "underline", "raised": "reverse",
    },
    Manner(unlit=False, solid=False),
)  # fmt: skip

PALETTES = (DARK, LIGHT, HIGH_CONTRAST, SIXTEEN, NO_COLOUR)


@cache
def get_palette(name: str) -> Palette:
    """Return the palette of a name.

    Raises:
        KeyError: There is none of this name.
    """
    return {palette.name: palette for palette in PALETTES}[name]


def choose_palette(colours: int) -> Palette:
    """Return the palette to begin with in a terminal.

    Args:
        colours: How many colours it shows; 0 or 1 where it shows none, or is asked to show none.
    """
    if colours < 16:
        return NO_COLOUR
    return SIXTEEN if colours < 256 else DARK


def luminance(colour: str) -> float:
    """Return a colour's relative luminance, 0 to 1 (W3C, Web Content Accessibility Guidelines 2.2, definition).

    Args:
        colour: ``#rrggbb``.
    """
    parts = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (the same guidelines, definition)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)
