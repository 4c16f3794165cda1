"""The frame of every screen: the header, the keys in the footer, and the message for a terminal that is too small."""

from __future__ import annotations

from collections.abc import Sequence

from knobmenu.picture.fitting import fit, measure_width, wrap
from knobmenu.picture.runs import Box, Drawing, Pictures, Run, Size
from knobmenu.terminal.input.keymap import Key


def draw_top(left: list[Run], right: str, columns: int) -> Drawing:
    """Draw the top row, its left side cut where both sides have not room. [terminal cells]"""
    room = columns - len(right) - 2
    row = fit(left, room)
    blank = Run(" " * (room - measure_width(row)), "text", "raised")
    return ((*row, blank, Run(f" {right} ", "dim", "raised")),)


def draw_keys(keys: Sequence[tuple[str, str]], columns: int, gap: int = 2) -> Drawing:
    """Draw keys with what they do, for the bottom row.

    Args:
        keys: Each with what it does, in a word or two.
        columns: Width. [terminal cells]
        gap: Between two of them. [terminal cells]
    """
    runs: list[Run] = []
    for shown, short in keys:
        runs += [Run(f" {shown} ", "strong", "raised"), Run(f" {short}{' ' * gap}", "dim")]
    return (fit(runs, columns),)


def draw_needed_keys(
    lead: Sequence[tuple[str, str]], keys: Sequence[Key], first: Sequence[str], columns: int, gap: int = 2
) -> Drawing:
    """Draw the keys that are needed most, as many as there is room for.

    Args:
        lead: What is shown always, before all others.
        keys: All keys, in the order in which they stand.
        first: What is needed, the most needed first.
        columns: Width. [terminal cells]
        gap: Between two of them. [terminal cells]
    """
    named = {key.does: (key.shown, key.short) for key in keys}
    room = columns - sum(len(shown) + len(short) + 3 + gap for shown, short in lead)
    fitting = set()
    for does in first:
        room -= sum(map(len, named[does])) + 3 + gap
        if room < 0:
            break
        fitting.add(does)
    return draw_keys([*lead, *(words for does, words in named.items() if does in fitting)], columns, gap)


def draw_too_small(columns: int, rows: int, least: Size, advice: str) -> Pictures:
    """Draw the message that the terminal is too small, over the whole terminal.

    Args:
        columns: Its width. [terminal cells]
        rows: Its height. [terminal cells]
        least: What is needed.
        advice: What to do.
    """
    text = f"This terminal is {columns} by {rows}; at least {least.columns} by {least.rows} are needed. {advice}"
    return {"small": (Box(0, 0, columns, rows), tuple((Run(line, "text"),) for line in wrap(text, max(columns, 10))))}
