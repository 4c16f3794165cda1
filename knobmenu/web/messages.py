"""What a browser sends over its websocket, checked: keys, sizes, focus.

The browser's half comes with textual-serve; every message is a JSON list of a word and what belongs to it. Anything can
come from a browser, so that a size is limited before the app lays out for it, and reports of a size among the keys,
which only a terminal sends, are dropped.
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
    """Input, as a terminal sends it."""

    text: str


@attrs.frozen
class Resized:
    """The page has another size."""

    columns: int
    rows: int


@attrs.frozen
class Pinged:
    """The page wants an answer."""

    content: str


@attrs.frozen
class Focused:
    """The page got the keyboard, or lost it."""

    has_focus: bool


Message = Keys | Resized | Pinged | Focused


def read_message(text: str) -> Message | None:
    """Read one message; None for whatever is not one.

    Args:
        text: What came over the websocket.
    """
    try:
        envelope = json.loads(text)
    except (ValueError, RecursionError):
        return None
    match envelope:
        case ["stdin", str(keys)]:
            return Keys(_drop_reports(keys).encode("utf-8", "replace").decode("utf-8"))
        case ["resize", {"width": int(columns), "height": int(rows)}]:
            return Resized(clamp_size(columns, MOST_COLUMNS), clamp_size(rows, MOST_ROWS))
        case ["ping", str(content)]:
            return Pinged(content)
        case ["focus"] | ["blur"]:
            return Focused(envelope[0] == "focus")
        case _:
            return None


def _drop_reports(keys: str) -> str:
    """Drop reports of a size, also those that are left where one was dropped."""
    found = 1
    while found:
        keys, found = _SIZE_REPORT.subn("", keys)
    return keys


def clamp_size(cells: int, most: int) -> int:
    """Limit a width or a height. [cells]"""
    return min(max(cells, 1), most)
