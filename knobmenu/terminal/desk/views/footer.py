"""The bottom row: the keys that are needed most."""

from __future__ import annotations

from functools import lru_cache

from knobmenu.picture.fitting import fit
from knobmenu.picture.runs import Drawing, Run
from knobmenu.terminal.input.keymap import ALL, FIRST, Key


@lru_cache(maxsize=16)
def draw_footer(columns: int) -> Drawing:
    """Write the keys.

    Args:
        columns: Width. [terminal cells]
    """
    room = columns - len(_TURN)
    shown = set()
    for does in FIRST:
        key = next(key for key in ALL if key.does == does)
        room -= len(_write(key))
        if room < 0:
            break
        shown.add(does)
    runs = [Run(_TURN[:5], "strong", "raised"), Run(_TURN[5:], "dim")]
    for key in ALL:
        if key.does in shown:
            runs += [Run(f" {key.shown} ", "strong", "raised"), Run(f" {key.short}  ", "dim")]
    return (fit(runs, columns),)


_TURN = " ← →  turn  "


def _write(key: Key) -> str:
    return f" {key.shown}  {key.short}  "
