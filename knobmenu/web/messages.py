"""Validation of the messages that a browser sends over its websocket: keys, sizes, focus.

The page's script comes with textual-serve; every message is a JSON list of a word and its data. A browser can send
anything, so sizes are limited before the app uses them, and size reports among the keys, which only a terminal sends,
are dropped.
"""

from __future__ import annotations

import json
import re

import attrs

MOST_COLUMNS, MOST_ROWS = 400, 120
"""The largest page that is drawn. [cells]"""

MOST_BYTES = 65_536
"""The longest message. [bytes]"""

_SIZE_REPORT = re.compile(r"\x1b\[(?:48;|[468];)[\d;:]*t")


@attrs.frozen
class Keys:
    """Input, in the form that a terminal sends."""

    text: str


@attrs.frozen
class Resize:
    """A new size of the page. [cells]"""

    columns: int
    rows: int


@attrs.frozen
class Ping:
    """A request of the page for a reply."""

    content: str


@attrs.frozen
class Focus:
    """The page gained or lost the keyboard focus."""

    has_focus: bool


Message = Keys | Resize | Ping | Focus


def read_message(text: str) -> Message | None:
    """Parse one message; None if it is not valid.

    Args:
        text: The text received over the websocket.
    """
    try:
        envelope = json.loads(text)
    except (ValueError, RecursionError):
        return None
    match envelope:
        case ["stdin", str(keys)]:
            return Keys(_drop_reports(keys).encode("utf-8", "replace").decode("utf-8"))
        case ["resize", {"width": int(columns), "height": int(rows)}]:
            return Resize(clamp_size(columns, MOST_COLUMNS), clamp_size(rows, MOST_ROWS))
        case ["ping", str(content)]:
            return Ping(content)
        case ["focus"] | ["blur"]:
            return Focus(envelope[0] == "focus")
        case _:
            return None


def _drop_reports(keys: str) -> str:
    """Drop size reports, including those that result from dropping another."""
    found = 1
    while found:
        keys, found = _SIZE_REPORT.subn("", keys)
    return keys


def clamp_size(cells: int, most: int) -> int:
    """Limit a width or a height. [cells]"""
    return min(max(cells, 1), most)
