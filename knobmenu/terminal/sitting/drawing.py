"""How pages and tasks look: a column of text in the upper part of the screen, and the keys in its last row."""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from knobmenu.picture.fitting import cut, fit, wrap
from knobmenu.picture.runs import Box, Drawing, Pictures, Row, Run, cells_of
from knobmenu.review.pages import Choice, Line, Page, Rating

LEAST_COLUMNS, LEAST_ROWS = 60, 18
"""The smallest terminal that a page fits in. [terminal cells]"""

_WIDEST = 66
"""Longest line of a page: longer ones are hard to read. [terminal cells]"""

_MARGIN = 4
"""Least empty columns at either side. [terminal cells]"""

DEVICE_KEYS = (("← →", "turn"), ("Space", "press"), ("l", "long press"), ("h", "hold"), ("Esc", "give up"))
"""What works while the participant has the device."""

PRACTICE_KEYS = (*DEVICE_KEYS[:-1], ("Esc", "end the practice"))


def draw_page(page: Page, columns: int, rows: int) -> Pictures:
    """Draw a page, and the keys that work on it."""
    width = min(columns - 2 * _MARGIN, _WIDEST)
    drawn = (
        (Run(cut(page.title, width), "dim"),),
        (),
        *(_text(page.text, width)),
        (),
        *_answers(page, width),
        (),
        *(tuple((Run(line, "accent"),) for line in wrap(page.remark, width)) if page.remark else ()),
    )
    top = max((rows - 1 - len(drawn)) // 3, 1)
    return {
        "page": (Box((columns - width) // 2, top, width, rows - 1 - top), drawn[: rows - 1 - top]),
        "keys": (Box(0, rows - 1, columns, 1), draw_keys(_keys(page), columns)),
    }


def draw_task(text: str, columns: int) -> Drawing:
    """Draw the words of a task, to stand above the device."""
    width = min(columns - 2 * _MARGIN, _WIDEST)
    indent = Run(" " * ((columns - width) // 2), "text")
    return tuple((indent, *row) for row in _text(text, width))


def draw_keys(keys: Sequence[tuple[str, str]], columns: int) -> Drawing:
    """Draw the keys that work, for the last row."""
    runs: list[Run] = []
    for key, does in keys:
        runs += [Run(f" {key} ", "strong", "raised"), Run(f" {does}  ", "dim")]
    return (fit(runs, columns),)


def draw_too_small(columns: int, rows: int) -> Pictures:
    """Say that the terminal is too small."""
    text = f"This terminal is {columns} by {rows}; at least {LEAST_COLUMNS} by {LEAST_ROWS} are needed. Make it larger."
    return {"small": (Box(0, 0, columns, rows), tuple((Run(line, "text"),) for line in wrap(text, max(columns, 10))))}


def _text(text: str, width: int) -> Drawing:
    return tuple((Run(line, "strong"),) for paragraph in text.split("\n") for line in wrap(paragraph, width))


def _answers(page: Page, width: int) -> Drawing:
    match page:
        case Choice():
            return tuple(_option(text, place == page.chosen, width) for place, text in enumerate(page.options))
        case Rating():
            return _scale(page, width)
        case Line():
            lines = wrap(page.typed, width - 4) if page.typed else [""]
            # A space at the end is no word, and would not be seen.
            end = " " if page.typed.endswith(" ") else ""
            shown: list[Row] = [(Run("  ", "text"), Run(line, "text")) for line in lines[-6:]]
            shown[-1] = (*shown[-1], Run(f"{end}▏", "accent"))
            return (*shown, (Run(f"  {'─' * (width - 2)}", "line"),))
        case _:
            assert_never(page)


def _option(text: str, is_chosen: bool, width: int) -> Row:
    if is_chosen:
        return (Run("▸ ", "accent"), Run(f" {cut(text, width - 4)} ", "strong", "raised"))
    return (Run(f"   {cut(text, width - 4)}", "text"),)


def _scale(page: Rating, width: int) -> Drawing:
    """Draw the answers in a row, the chosen one in brackets, and below it what its ends mean."""
    each = min(width // page.answers, 7)
    row: list[Run] = []
    for answer in range(1, page.answers + 1):
        label = f"[{answer}]" if answer == page.chosen else f" {answer} "
        before = (each - len(label)) // 2
        row.append(Run(" " * before, "text"))
        row.append(Run(label, "strong", "raised") if answer == page.chosen else Run(label, "text"))
        row.append(Run(" " * (each - before - len(label)), "text"))
    across = max(each * page.answers, min(width, cells_of(page.lowest) + cells_of(page.highest) + 4))
    half = (across - 2) // 2
    lowest, highest = cut(page.lowest, max(half, across - 2 - cells_of(page.highest))), page.highest
    highest = cut(highest, across - 2 - cells_of(lowest))
    between = " " * (across - cells_of(lowest) - cells_of(highest))
    return (tuple(row), (Run(lowest + between + highest, "dim"),))


def _keys(page: Page) -> tuple[tuple[str, str], ...]:
    match page:
        case Choice(options=(_,)):
            return (("Space", "go on"),)
        case Choice():
            return (("← →", "choose"), ("Space", "accept"))
        case Rating():
            return (("← →", "choose"), (f"1-{page.answers}", "answer"), ("Space", "accept"))
        case Line():
            return (("Enter", "go on"),)
        case _:
            assert_never(page)
