"""How deep the keys of a TOML text are, found without parsing it.

The standard library's parser takes time and memory by the square of a dotted key's length; so a text with a key of
very many parts is refused before it is parsed.
"""

from __future__ import annotations

import re

DEEPEST_KEY = 32
"""Most parts of one dotted key; a design has at most 16 levels of conditions."""

_PART = r"(?:[A-Za-z0-9_-]+|\"[^\"\n]*\"|'[^'\n]*')"
_DEEP = re.compile(rf"(?:^|[\[{{,])[ \t]*(?:{_PART}[ \t]*\.[ \t]*){{{DEEPEST_KEY}}}", re.MULTILINE)


def find_deep_key(text: str) -> int:
    """Return the line of the first key of more than `DEEPEST_KEY` parts; 0 where there is none."""
    found = _DEEP.search(text)
    return 0 if found is None else text.count("\n", 0, found.end()) + 1
