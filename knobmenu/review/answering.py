"""What a participant does to a page: choose among its answers, write one, and accept it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import assert_never

import attrs

from knobmenu.review.pages import Answer, Choice, Line, Page, Rating

LONGEST_LINE = 1000
"""How much can be written in answer to a question. [characters]"""


def accept(page: Page, parts: Sequence[int] = (0,)) -> tuple[Page, Answer | None]:
    """Give the answer that is chosen or written, or go on reading where a part of the text follows.

    Args:
        page: The page.
        parts: How much of the page's text stands before each part of it. [characters without spaces]

    Returns:
        The page after it, and its answer if it has one now.
    """
    match page:
        case Choice():
            following = bisect_right(parts, page.read)
            if following < len(parts):
                return attrs.evolve(page, read=parts[following]), None
            return page, page.chosen
        case Rating():
            if page.chosen is None:
                return attrs.evolve(page, remark="Choose an answer first: turn, or press its digit."), None
            return page, page.chosen
        case Line():
            return page, page.typed.strip()
        case _:
            assert_never(page)


def move(page: Choice | Rating, by: int, parts: Sequence[int] = (0,)) -> Page:
    """Go along the answers, as far as there are any, or through the text before they are shown.

    Args:
        page: The page.
        by: How far; negative: back. Of a rating the middle is chosen first.
        parts: As for `accept`.
    """
    if isinstance(page, Rating):
        middle = (page.answers + 1) // 2
        return choose(page, min(max(middle if page.chosen is None else page.chosen + by, 1), page.answers))
    part = bisect_right(parts, page.read) - 1
    if part + 1 < len(parts) or (part and not page.chosen and by < 0):
        return attrs.evolve(page, read=parts[max(part + by, 0)])
    return choose(page, min(max(page.chosen + by, 0), len(page.options) - 1) + 1)


def choose(page: Choice | Rating, number: int, parts: Sequence[int] = (0,)) -> Page:
    """Choose an answer by its number, from 1; nothing changes where there is none, or where it is not shown yet."""
    if isinstance(page, Rating):
        return attrs.evolve(page, chosen=number, remark="") if number <= page.answers else page
    is_shown = bisect_right(parts, page.read) == len(parts)
    return attrs.evolve(page, chosen=number - 1) if is_shown and number <= len(page.options) else page


def write(page: Line, text: str) -> Line:
    """Write a text on a page; what cannot be printed becomes a space."""
    printable = "".join(one if one.isprintable() else " " for one in text)
    return attrs.evolve(page, typed=(page.typed + printable)[:LONGEST_LINE]) if text.strip("\r\n\t\x1b") else page
