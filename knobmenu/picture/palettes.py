"""Palettes: for each ink, its colour and its attribute."""

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
    """The name of the palette."""
    dark: bool
    """Whether its grounds are dark."""
    colours: Mapping[str, str]
    """For each ink and ground: ``#rrggbb``, or the name of one of the terminal's sixteen colours, or nothing: the
    terminal's default."""
    attributes: Mapping[str, Attribute] = attrs.field(factory=dict)
    """The attributes of some inks, besides their colour."""
    manner: Manner = attrs.field(factory=Manner)
    """How drawings are made."""
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
"""The colours in which a lamp is drawn if its `colour` names one; each is an ink, such as ``lamp-red``."""

GROUNDS = ("ground", "panel", "raised", "line")
"""Behind everything; behind a pane; behind a key or a title; the lines between panes."""

NAMES = (*PANEL_INKS, *DEVICE_INKS, *GROUNDS)

# The look of the sixteen colours depends on the terminal, and some terminals show dark bold ink in grey: so the grounds
# are the terminal's default, glass is black, and no dark ink is bold.
_COLOURS: dict[str, tuple[str, str, str, str]] = {
    # ink or ground:   dark       light      high contrast  16 colours
    "ground":         ("#191c22", "#f6f7f9", "#000000", ""),
    "panel":          ("#191c22", "#f6f7f9", "#000000", ""),
    "raised":         ("#2a2f38", "#dde1e6", "#303030", ""),
    "line":           ("#3d444f", "#b3bac4", "#ffffff", "bright_black"),
    "text":           ("#d5d9e0", "#23272e", "#ffffff", ""),
    "dim":            ("#949cab", "#5a6270", "#d8d8d8", ""),
    "strong":         ("#ffffff", "#000000", "#ffffff", ""),
    "accent":         ("#ffb454", "#8a4b00", "#ffe500", "yellow"),
    "turn":           ("#7fb8ea", "#0b5394", "#7fdfff", "cyan"),
    "press":          ("#f0a868", "#8a4b00", "#ffe500", "yellow"),
    "good":           ("#6fd08c", "#16653a", "#7dff9b", "green"),
    "caution":        ("#ffcf66", "#7a5200", "#ffe500", "yellow"),
    "wrong":          ("#ff8a80", "#a8201a", "#ffb3ab", "bright_red"),
    "lcd-ink":        ("#1d2a10", "#1d2a10", "#ffffff", "bright_green"),
    "lcd-unlit":      ("#a9b962", "#a9b962", "#000000", "black"),
    "lcd-mark":       ("#1d2a10", "#1d2a10", "#ffe500", "bright_green"),
    "lcd-glass":      ("#b9c873", "#b9c873", "#000000", "black"),
    "pixel-ink":      ("#d6f4ff", "#d6f4ff", "#ffffff", "bright_white"),
    "pixel-mark":     ("#ffd37a", "#ffd37a", "#ffe500", "bright_yellow"),
    "pixel-glass":    ("#05070a", "#05070a", "#000000", "black"),
    "segment-ink":    ("#ff5a4a", "#ff5a4a", "#ffffff", "bright_red"),
    "segment-unlit":  ("#331613", "#331613", "#000000", "black"),
    "segment-mark":   ("#ffb0a4", "#ffb0a4", "#ffe500", "bright_yellow"),
    "segment-glass":  ("#140a0a", "#140a0a", "#000000", "black"),
    "bezel":          ("#0a0b0d", "#3a3f47", "#ffffff", ""),
    "knob":           ("#aab1bd", "#4d5562", "#ffffff", ""),
    "knob-pressed":   ("#d89a4a", "#8a4b00", "#ffe500", "yellow"),
    "detent":         ("#7b8494", "#757e8c", "#ffffff", ""),
    "pointer":        ("#ffb454", "#a84300", "#ffe500", "yellow"),
    "hold":           ("#fff1d6", "#4a2500", "#ffe500", "yellow"),
    "lamp-off":       ("#7b8494", "#757e8c", "#d8d8d8", ""),
    "lamp-on":        ("#ffffff", "#000000", "#ffffff", ""),
    "lamp-red":       ("#ff6b5e", "#c4271d", "#ffb3ab", "bright_red"),
    "lamp-green":     ("#5fe08a", "#1a7f43", "#7dff9b", "green"),
    "lamp-blue":      ("#6fb1ff", "#1763b8", "#9ecbff", "bright_blue"),
    "lamp-yellow":    ("#ffe066", "#8a6d00", "#ffe500", "yellow"),
    "lamp-amber":     ("#ffb454", "#9a5b00", "#ffd27a", "yellow"),
    "lamp-orange":    ("#ff9e57", "#b04d00", "#ffc48a", "yellow"),
    "lamp-white":     ("#ffffff", "#5a6270", "#ffffff", ""),
    "differs":        ("#ffcf66", "#ffcf66", "#ffe500", "yellow"),
}  # fmt: skip
"""Every ink and ground, with its colour in each look that has colours."""


_DARK, _LIGHT, _HIGH_CONTRAST, _SIXTEEN = (
    {name: colours[column] for name, colours in _COLOURS.items()} for column in range(4)
)


def _shade(colours: Mapping[str, str], dark: str, light: str) -> Shading:
    """Return the colours of the shaded disc: its body in shadow and in light, and the inks of the ring."""
    return Shading(colours["ground"], dark, light, colours["knob-pressed"], colours["pointer"], colours["hold"])


_BOLD_AND_REVERSE: dict[str, Attribute] = {"strong": "bold", "pixel-mark": "reverse", "lcd-mark": "reverse"}
_PLAIN = Manner(unlit=False, solid=False)

DARK = Palette("dark", True, _DARK, _BOLD_AND_REVERSE, shading=_shade(_DARK, "#272c35", "#5f6876"))
LIGHT = Palette("light", False, _LIGHT, _BOLD_AND_REVERSE, shading=_shade(_LIGHT, "#c0c6ce", "#eef0f3"))
HIGH_CONTRAST = Palette("high contrast", True, _HIGH_CONTRAST, _BOLD_AND_REVERSE, _PLAIN)
SIXTEEN = Palette("16 colours", True, _SIXTEEN, _BOLD_AND_REVERSE | {"raised": "reverse"}, _PLAIN)
NO_COLOUR = Palette(
    "no colour",
    True,
    dict.fromkeys(NAMES, ""),
    _BOLD_AND_REVERSE
    | {
        "pointer": "bold", "wrong": "bold", "caution": "bold", "segment-mark": "underline", "raised": "reverse",
    },
    _PLAIN,
)  # fmt: skip

PALETTES = (DARK, LIGHT, HIGH_CONTRAST, SIXTEEN, NO_COLOUR)


@cache
def get_palette(name: str) -> Palette:
    """Return the palette with a name.

    Raises:
        KeyError: There is no such palette.
    """
    return {palette.name: palette for palette in PALETTES}[name]


def choose_palette(colours: int) -> Palette:
    """Choose the initial palette for a terminal.

    Args:
        colours: The number of colours that it shows; 0 or 1 if it shows none or should not show any.
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
