"""Changes, written straight to the terminal.

Textual composes a whole row again and sends it from the left edge of its widget, where any of it changed; for a
picture of a display beside a knob that is most of what a turn costs. Here only the pieces that changed are sent, in
one write that a terminal shows as a whole. Everything that is more than a change of some pieces is left to Textual.

Two private names of Textual are used, `App._driver` and `App._sync_available`. Where the first is missing, nothing is
written and the caller leaves it all to Textual.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from functools import lru_cache

from rich.console import Console
from rich.segment import Segment
from textual.app import App
from textual.color import Color
from textual.filter import LineFilter
from textual.strip import Strip

from knobmenu.picture.changes import Change
from knobmenu.picture.palettes import Palette
from knobmenu.picture.runs import Row
from knobmenu.terminal.backend.styles import style

_BEGIN, _END = "\x1b[?2026h", "\x1b[?2026l"
"""Around what a terminal with synchronized output shows as a whole."""


def write(app: App[object], palette: Palette, changes: Iterable[Change], background: Color) -> bool:
    """Write changes to the terminal of an app.

    Args:
        app: Whose terminal.
        palette: The colours of the inks.
        changes: What is different; each at its place on the screen.
        background: What is behind it all.

    Returns:
        Whether it was written.
    """
    driver = getattr(app, "_driver", None)
    if driver is None:
        return False
    filters = tuple(app.get_line_filters())
    console = app.console
    text = "".join(
        f"\x1b[{y + 1};{x + 1}H{_format_piece(console, palette, runs, filters, background)}"
        for (x, y, _, _), runs in changes
    )
    driver.write(f"{_BEGIN}{text}{_END}" if getattr(app, "_sync_available", False) else text)
    driver.flush()
    # The thread that writes begins now, not once everything else that a key does is done.
    time.sleep(0)
    return True


@lru_cache(maxsize=1024)
def _format_piece(
    console: Console, palette: Palette, runs: Row, filters: tuple[LineFilter, ...], background: Color
) -> str:
    """Write a piece of a row with its colours as the terminal wants them, just as Textual would."""
    pieces = []
    for text, ink, ground in runs:
        before, after = _find_codes(console, palette, ink, ground, filters, background)
        pieces.append(f"{before}{text}{after}" if text else "")
    return "".join(pieces)


@lru_cache(maxsize=2048)
def _find_codes(
    console: Console, palette: Palette, ink: str, ground: str, filters: tuple[LineFilter, ...], background: Color
) -> tuple[str, str]:
    """Return what stands before and after a text of one ink on one ground."""
    strip = Strip([Segment("x", style(palette, ink, ground))])
    for line_filter in filters:
        strip = strip.apply_filter(line_filter, background)
    before, _, after = strip.render(console).partition("x")
    return before, after
