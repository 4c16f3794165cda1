"""Parse TOML text into plain data, safely for any text.

The standard library's parser needs time and memory proportional to the square of a dotted key's length, so a text with
a very long dotted key is refused before parsing.
"""

from __future__ import annotations

import re
import tomllib
from typing import Any

from knobmenu.errors import DesignError, Problem, quote_value

DEEPEST_KEY = 32
"""The greatest number of parts of a dotted key; a design nests conditions at most 16 levels deep."""

_PART = r"(?:[A-Za-z0-9_-]+|\"[^\"\n]*\"|'[^'\n]*')"
_DEEP = re.compile(rf"(?:^|[\[{{,])[ \t]*(?:{_PART}[ \t]*\.[ \t]*){{{DEEPEST_KEY}}}", re.MULTILINE)


def find_deep_key(text: str) -> int:
    """Return the line of the first key of more than `DEEPEST_KEY` parts; 0 if there is none."""
    found = _DEEP.search(text)
    return 0 if found is None else text.count("\n", 0, found.end()) + 1


def parse_toml(text: str, file: str = "") -> dict[str, Any]:
    """Parse TOML text into plain data.

    Args:
        text: The text.
        file: The file's name, for errors.

    Raises:
        DesignError: The text is not valid TOML, or a key has too many parts; one problem, with its line.
    """
    if line := find_deep_key(text):
        found = "a key with too many parts"
        raise DesignError([Problem("", found, f"keys of at most {DEEPEST_KEY} parts", file=file, line=line)])
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        place = re.search(r"at line (\d+)", str(error))
        line = int(place[1]) if place else 0
        raise DesignError([Problem("", quote_value(str(error), 100), "valid TOML", file=file, line=line)]) from None
