"""The keys by which a participant answers a page: the knob's own, or digits; pure."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import assert_never

import attrs

from knobmenu.review.pages import Answer, Choice, Line, Page, Rating
from knobmenu.terminal.input.keymap import BY_KEY

LONGEST_LINE = 1000
"""How much can be written in answer to a question. [characters]"""

_DOWN = {"right": 1, "down": 1, "left": -1, "up": -1}
"""How far keys go in a list of answers."""

_UP = {"right": 1, "up": 1, "left": -1, "down": -1}
"""How far keys go on a scale."""


def strike(page: Page, key: str, character: str | None, parts: Sequence[int] = (0,)) -> tuple[Page, Answer | None]:
    """Take a key.

    Args:
        page: The page.
        key: The key, as the terminal library names it.
        character: What it writes, if anything.
        parts: How much of the page's text stands before each part of it. [characters without spaces]

    Returns:
        The page after it, and its answer if this key gave it.
    """
    accepts = key in BY_KEY and BY_KEY[key].does == "press"
    match page:
        case Choice():
            part = bisect_right(parts, page.read) - 1
            if part + 1 < len(parts):
                part = max(part + (1 if accepts else _DOWN.get(key, 0)), 0)
                return attrs.evolve(page, read=parts[part]), None
            if accepts:
                return page, page.chosen
            if part and not page.chosen and _DOWN.get(key, 0) < 0:
                return attrs.evolve(page, read=parts[part - 1]), None
            chosen = _digit(character, len(page.options))
            place = page.chosen + _DOWN.get(key, 0) if chosen is None else chosen - 1
            return attrs.evolve(page, chosen=min(max(place, 0), len(page.options) - 1)), None
        case Rating():
            if accepts:
                if page.chosen is None:
                    return attrs.evolve(page, remark="Choose an answer first: turn, or press its digit."), None
                return page, page.chosen
            chosen = _digit(character, page.answers)
            if chosen is None and key in _UP:
                chosen = (page.answers + 1) // 2 if page.chosen is None else page.chosen + _UP[key]
            if chosen is None:
                return page, None
            return attrs.evolve(page, chosen=min(max(chosen, 1), page.answers), remark=""), None
        case Line():
            if key == "enter":
                return page, page.typed.strip()
            if key in ("backspace", "ctrl+h"):
                return attrs.evolve(page, typed=page.typed[:-1]), None
            if key == "ctrl+u":
                return attrs.evolve(page, typed=""), None
            return write(page, character or ""), None
        case _:
            assert_never(page)


def write(page: Line, text: str) -> Line:
    """Write a text on a page; what cannot be printed becomes a space."""
    printable = "".join(one if one.isprintable() else " " for one in text)
    return attrs.evolve(page, typed=(page.typed + printable)[:LONGEST_LINE]) if text.strip("\r\n\t\x1b") else page


def _digit(character: str | None, highest: int) -> int | None:
    """Return the number of a digit's key, if it is one of the answers; 0 is the tenth."""
    if not character or character not in "0123456789":
        return None
    number = int(character) or 10
    return number if number <= highest else None
