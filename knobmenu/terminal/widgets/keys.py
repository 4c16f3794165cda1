"""The bottom row: the keys that are needed most."""

from __future__ import annotations

from knobmenu.terminal.drawing.runs import Drawing, Run
from knobmenu.terminal.keymap import ALL
from knobmenu.terminal.widgets.painted import Painted, fitted


class KeysView(Painted):
    """The keys."""


def keys_rows(columns: int) -> Drawing:
    """Write the keys.

    Args:
        columns: Width. [terminal cells]
    """
    runs = [Run(" ← → ", "strong", "raised"), Run(" turn  ", "dim")]
    for key in ALL:
        if key.short:
            runs += [Run(f" {key.shown} ", "strong", "raised"), Run(f" {key.short}  ", "dim")]
    return (fitted(runs, columns),)
