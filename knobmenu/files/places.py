"""Where the parts of a design stand in its file."""

from __future__ import annotations

from collections.abc import Callable

from knobmenu.errors import DesignError
from knobmenu.files.opening import StrPath, text_of
from knobmenu.files.spans import lines


def line_finder(content: bytes, path: StrPath) -> Callable[[str], int]:
    """Return a function from a path inside a design to its line in the file, counted from 1.

    A path that the file does not write stands where the nearest part around it does. It is 0 where no line can be
    given: for the design as a whole, and for a file that is not TOML.

    Args:
        content: What the file holds.
        path: Its name.
    """
    try:
        where = lines(text_of(content)) if not str(path).lower().endswith(".json") else {}
    except (DesignError, RecursionError):
        where = {}

    def line_of(place: str) -> int:
        while place and place not in where:
            place = place[: max(place.rfind("."), place.rfind("["), 0)]
        return where.get(place, 0)

    return line_of
