"""Drawing of pages and tasks: a column of text in the upper part of the screen, and the keys in the footer."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import NamedTuple, assert_never

from knobmenu.picture.fitting import cut, wrap
from knobmenu.picture.runs import Box, Drawing, Pictures, Row, Run, count_cells
from knobmenu.review.pages import Choice, Line, Page, Rating
from knobmenu.terminal.drawing.frame import draw_keys

_WIDEST = 66
"""Longest line of a page: longer ones are hard to read. [terminal cells]"""

_MARGIN = 4
"""Least empty columns at either side. [terminal cells]"""

DEVICE_KEYS = (("← →", "turn"), ("Space", "press"), ("l", "long press"), ("h", "hold"), ("Esc", "give up"))
"""The keys while the participant has the device."""

PRACTICE_KEYS = (*DEVICE_KEYS[:-1], ("Esc", "end the practice"))


class Part(NamedTuple):
    """As much of a page's text as fits the screen."""

    before: int
    """How much of the text precedes it. [characters without spaces]"""
    lines: tuple[str, ...]


def divide(page: Page, columns: int, rows: int) -> tuple[Part, ...]:
    """Divide the text of a page into parts that fit the screen; only that of a choice may be long.

    Args:
        page: The page.
        columns: The width of the screen. [terminal cells]
        rows: The height of the screen. [terminal cells]
    """
    width = _compute_width(columns)
    lines = _wrap_lines(page.text, width)
    if not isinstance(page, Choice):
        return (Part(0, tuple(lines)),)
    # Above the text a margin, the title and a space, below it a space, the answers, perhaps a remark, and the keys.
    room = max(rows - 5 - len(page.options) - len(_draw_remark(page, width)), 1)
    parts, before = [], 0
    while lines:
        text = "\n".join(lines[:room]).strip("\n")
        parts.append(Part(before, tuple(text.split("\n"))))
        before += len("".join(text.split()))
        lines = lines[room:]
        while lines and not lines[0]:
            lines = lines[1:]
    return tuple(parts)


def draw_page(page: Page, columns: int, rows: int) -> Pictures:
    """Draw a page, or the part of its text that is read, and the keys that work on it."""
    width = _compute_width(columns)
    parts = divide(page, columns, rows)
    part = bisect_right([one.before for one in parts], page.read) - 1 if isinstance(page, Choice) else 0
    is_last = part + 1 == len(parts)
    drawn = (
        (Run(cut(page.title if len(parts) == 1 else f"{page.title}: page {part + 1} of {len(parts)}", width), "dim"),),
        (),
        *_draw_lines(parts[part].lines),
        (),
        *(_draw_answers(page, width) if is_last else (_draw_option("Next page", True, width),)),
        *_draw_remark(page, width),
    )
    # The parts of a text begin in the same row.
    top = max((rows - 1 - len(drawn)) // 3, 1) if len(parts) == 1 else 1
    return {
        "page": (Box((columns - width) // 2, top, width, rows - 1 - top), drawn[: rows - 1 - top]),
        "keys": (Box(0, rows - 1, columns, 1), draw_keys(_list_keys(page, part > 0, is_last), columns)),
    }


def draw_task(text: str, columns: int) -> Drawing:
    """Draw the words of a task, to stand above the device."""
    width = _compute_width(columns)
    indent = Run(" " * ((columns - width) // 2), "text")
    return tuple((indent, *row) for row in _draw_lines(_wrap_lines(text, width)))


def _compute_width(columns: int) -> int:
    return min(columns - 2 * _MARGIN, _WIDEST)


def _wrap_lines(text: str, width: int) -> list[str]:
    return [line for paragraph in text.split("\n") for line in wrap(paragraph, width)]


def _draw_lines(lines: Sequence[str]) -> Drawing:
    return tuple((Run(line, "strong"),) for line in lines)


def _draw_remark(page: Page, width: int) -> Drawing:
    return ((), *((Run(line, "accent"),) for line in (wrap(page.remark, width) if page.remark else ())))


def _draw_answers(page: Page, width: int) -> Drawing:
    match page:
        case Choice():
            return tuple(_draw_option(text, place == page.chosen, width) for place, text in enumerate(page.options))
        case Rating():
            return _draw_scale(page, width)
        case Line():
            lines = wrap(page.typed, width - 4) if page.typed else [""]
            # A space at the end is no word, and would not be seen.
            end = " " if page.typed.endswith(" ") else ""
            shown: list[Row] = [(Run("  ", "text"), Run(line, "text")) for line in lines[-6:]]
            shown[-1] = (*shown[-1], Run(f"{end}▏", "accent"))
            return (*shown, (Run(f"  {'─' * (width - 2)}", "line"),))
        case _:
            assert_never(page)


def _draw_option(text: str, is_chosen: bool, width: int) -> Row:
    if is_chosen:
        return (Run("▸ ", "accent"), Run(f" {cut(text, width - 4)} ", "strong", "raised"))
    return (Run(f"   {cut(text, width - 4)}", "text"),)


def _draw_scale(page: Rating, width: int) -> Drawing:
    """Draw the answers in a row, the chosen one in brackets, and below it what its ends mean."""
    each = min(width // page.answers, 7)
    row: list[Run] = []
    for answer in range(1, page.answers + 1):
        label = f"[{answer}]" if answer == page.chosen else f" {answer} "
        before = (each - len(label)) // 2
        row.append(Run(" " * before, "text"))
        row.append(Run(label, "strong", "raised") if answer == page.chosen else Run(label, "text"))
        row.append(Run(" " * (each - before - len(label)), "text"))
    across = max(each * page.answers, min(width, count_cells(page.lowest) + count_cells(page.highest) + 4))
    half = (across - 2) // 2
    lowest, highest = cut(page.lowest, max(half, across - 2 - count_cells(page.highest))), page.highest
    highest = cut(highest, across - 2 - count_cells(lowest))
    between = " " * (across - count_cells(lowest) - count_cells(highest))
    return (tuple(row), (Run(lowest + between + highest, "dim"),))


def _list_keys(page: Page, is_continued: bool, is_last: bool) -> tuple[tuple[str, str], ...]:
    match page:
        case Choice():
            back = (("←", "previous page"),) if is_continued and not page.chosen else ()
            if not is_last:
                return (*back, ("→ Space", "next page"))
            if len(page.options) == 1:
                return (*back, ("Space", "go on"))
            return (*back, ("→" if back else "← →", "choose"), ("Space", "accept"))
        case Rating():
            return (("← →", "choose"), (f"1-{page.answers}", "answer"), ("Space", "accept"))
        case Line():
            return (("Enter", "go on"),)
        case _:
            assert_never(page)
