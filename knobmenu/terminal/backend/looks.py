"""What every app of this package begins with: its look, and the palette of commands."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from functools import partial
from typing import Any

from textual.app import App, SystemCommand

from knobmenu.terminal.backend.styles import theme
from knobmenu.terminal.drawing.palettes import PALETTES, Palette, palette_for
from knobmenu.terminal.input.keymap import Key

_COLOURS = {"standard": 16, "windows": 16, "256": 256, "truecolor": 1 << 24}


def no_colour_asked() -> bool | None:
    """Return True where no colour is wanted, to be given to the terminal library; else None.

    Without this a terminal that asks for no colour is sent greys, which are colours too.
    """
    return True if os.environ.get("NO_COLOR") else None


def begin_look(app: App[Any], look: Palette | None) -> Palette:
    """Make all looks known to an app, and take one.

    Args:
        app: The app.
        look: The look that is wanted; None: what suits the terminal.
    """
    for palette in PALETTES:
        app.register_theme(theme(palette))
    colours = 0 if no_colour_asked() else _COLOURS.get(app.console.color_system or "", 0)
    taken = look or palette_for(colours)
    app.theme = theme(taken).name
    return taken


def commands_of(keys: Iterable[Key], run: Callable[[str], None]) -> Iterable[SystemCommand]:
    """Offer everything that keys do, by its words, but the palette of commands itself."""
    for key in keys:
        if key.does != "commands":
            yield SystemCommand(key.words.rstrip("."), f"Key {key.shown}", partial(run, key.does))
