"""Count the digrams of the text that `digrams.toml` names, again from the text.

    bible -f "gen1:1-rev22:21" | python -m tests.analysis.cost.count_digrams

`bible` is of the Debian packages bible-kjv and bible-kjv-text.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Iterable
from itertools import pairwise

CHARACTERS = " abcdefghijklmnopqrstuvwxyz"


def count_digrams(verses: Iterable[str]) -> list[list[int]]:
    """Count how often each character follows each other one; the last one is followed by the first.

    Args:
        verses: Lines of a reference, a blank and the words.
    """
    words = " ".join(verse.partition(" ")[2] for verse in verses)
    text = re.sub(r"[^a-z]+", " ", words.lower().replace("'", "")).strip() + " "
    counts = Counter(pairwise(text + text[0]))
    return [[counts[first, second] for second in CHARACTERS] for first in CHARACTERS]


if __name__ == "__main__":
    for row in count_digrams(sys.stdin.read().splitlines()):
        print(f"    {row},")  # noqa: T201 (printing is its work)
