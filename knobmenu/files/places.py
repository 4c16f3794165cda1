"""The lines of the parts of a design in its file."""

from __future__ import annotations

from collections.abc import Callable

from knobmenu.errors import DesignError
from knobmenu.files.opening import StrPath, decode_text
from knobmenu.files.spans import find_lines


def make_line_finder(content: bytes, path: StrPath) -> Callable[[str], int]:
    """Make a function from a path inside a design to its line in the file, from 1.

    A path that is not in the file has the line of the nearest part that contains it. The line is 0 if it is unknown:
    for the design as a whole, and for a file that is not TOML.

    Args:
        content: The contents of the file.
        path: Its name.
    """
    try:
        where = find_lines(decode_text(content)) if not str(path).lower().endswith(".json") else {}
    except (DesignError, RecursionError):
        where = {}

    def line_of(place: str) -> int:
        while place and place not in where:
            place = place[: max(place.rfind("."), place.rfind("["), 0)]
        return where.get(place, 0)

    return line_of
