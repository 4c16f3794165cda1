"""The keys by which a participant answers a page: the knob's own, or digits; pure."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobmenu.review.answering import accept, choose, move, write
from knobmenu.review.pages import Answer, Line, Page, Rating
from knobmenu.terminal.input.keymap import BY_KEY

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
    if isinstance(page, Line):
        if key == "enter":
            return accept(page)
        if key in ("backspace", "ctrl+h"):
            return attrs.evolve(page, typed=page.typed[:-1]), None
        if key == "ctrl+u":
            return attrs.evolve(page, typed=""), None
        return write(page, character or ""), None
    if key in BY_KEY and BY_KEY[key].does == "press":
        return accept(page, parts)
    if character and character in "0123456789":
        # 0 is the tenth.
        return choose(page, int(character) or 10, parts), None
    by = (_UP if isinstance(page, Rating) else _DOWN).get(key, 0)
    return move(page, by, parts) if by else page, None
