"""Changes, written straight to the terminal.

Textual composes a whole row again and sends it from the left edge of its widget, where any of it changed; for a
picture of a display beside a knob that is most of what a turn costs. Here only the pieces that changed are sent, in
one write that a terminal shows at once. Everything that is more than a change of some pieces is left to Textual.

Two private names of Textual are used, `App._driver` and `App._sync_available`. Where the first is missing, nothing is
written and the caller leaves it all to Textual.
"""

from __future__ import annotations

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
from knobmenu.picture.runs import Run
from knobmenu.terminal.backend.styles import style

_BEGIN, _END = "\x1b[?2026h", "\x1b[?2026l"
"""Around what a terminal with synchronized output shows at once."""


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
    pieces = []
    for (x, y, _, _), runs in changes:
        pieces.append(f"\x1b[{y + 1};{x + 1}H")
        pieces += [_written(console, palette, run, filters, background) for run in runs]
    text = "".join(pieces)
    driver.write(f"{_BEGIN}{text}{_END}" if getattr(app, "_sync_available", False) else text)
    driver.flush()
    return True


@lru_cache(maxsize=16384)
def _written(console: Console, palette: Palette, run: Run, filters: tuple[LineFilter, ...], background: Color) -> str:
    """Write one run with its colours as the terminal wants them, just as Textual would."""
    strip = Strip([Segment(run.text, style(palette, run.ink, run.ground))])
    for line_filter in filters:
        strip = strip.apply_filter(line_filter, background)
    return strip.render(console)
