"""Finding commands by the words that people use for them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Sequence
from typing import NamedTuple

SYNONYMS = {
    synonym: word
    for word, synonyms in {
        "quit": "exit close end leave",
        "keys": "help shortcuts",
        "look": "color colour theme",
        "stop": "pause freeze",
        "note": "comment remark",
        "larger": "zoom bigger size",
        "alone": "fullscreen presentation present",
        "power-on": "restart reset start first",
        "newest": "latest last now",
        "simulated": "bounce noise",
        "electronics": "chain filter circuit",
        "go": "jump",
        "play": "open load import",
        "picture": "image export print",
        "save": "record",
        "continue": "resume",
        "hold": "release",
        "press": "click",
        "suspend": "background",
        "reload": "refresh",
        "type": "script",
        "events": "history log",
        "find": "search palette",
        "show": "pane panel",
    }.items()
    for synonym in synonyms.split()
}
"""Synonyms, and the word in the commands that each stands for."""

_ALIKE = 0.75
"""From which ratio on words are spelled alike: one slip in a word of four letters."""

_WORD = re.compile(r"[\w-]+")


class Found(NamedTuple):
    """A command that a query finds."""

    place: int
    """Its index among the titles, from 0."""
    score: float
    """The score; more is better."""
    spans: tuple[tuple[int, int], ...]
    """The words of the title that the query's words found."""


def find(query: str, titles: Sequence[str]) -> list[Found]:
    """Return the titles that fit a query, the best first.

    A title fits if it has all words of the query: as they are, as the beginning or a part of a word, or as a synonym.
    Where no title has them all, those that have one of them fit; where none has any, those with words spelled alike.
    """
    asked = [word.lower() for word in _WORD.findall(query)]
    for fit, some in ((_fit, all), (_fit, any), (_resemble, any)):
        found = [one for index, title in enumerate(titles) if (one := _look_in(index, title, asked, fit, some))]
        if found:
            return sorted(found, key=lambda one: -one.score)
    return []


def _look_in(
    index: int,
    title: str,
    asked: Sequence[str],
    fit: Callable[[str, str], float],
    some: Callable[[list[float]], bool],
) -> Found | None:
    scores, spans = [], []
    for word in asked:
        # What stands earlier in a title says more of what it is about.
        places = [
            (fit(word, place[0].lower()) * (1 - number / 100), place.span())
            for number, place in enumerate(_WORD.finditer(title))
        ]
        score, span = max(places, key=lambda place: place[0], default=(0.0, (0, 0)))
        scores.append(score)
        if score:
            spans.append(span)
    return Found(index, sum(scores), tuple(spans)) if spans and some(scores) else None


def _fit(asked: str, word: str) -> float:
    """Return how well a word of a title fits one of a query; 0: not at all.

    Parts of one or two letters are not looked for: they are in many words.
    """
    if word in (asked, SYNONYMS.get(asked)):
        return 4
    if word.startswith(asked):
        return 2
    return 1 if len(asked) > 2 and asked in word else 0


def _resemble(asked: str, word: str) -> float:
    """Return how much a word of a title is like a mistyped one of a query; 0: not at all."""
    ratio = difflib.SequenceMatcher(None, asked, word).ratio()
    return ratio if ratio >= _ALIKE else 0
