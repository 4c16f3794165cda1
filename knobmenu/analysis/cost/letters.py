"""Keystrokes per character of a text written by turning and pressing.

Keystrokes per character is what a hand does, on average, for each character of a language: here detents and presses
(I. S. MacKenzie, "KSPC (keystrokes per character) as a characteristic of text entry techniques", MobileHCI 2002).
It follows from how often each character comes after each other one, which a table of digrams of a named text gives.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import attrs

from knobmenu.analysis.cost.editors import make_pick_track
from knobmenu.analysis.cost.track import Track, weigh_turning
from knobmenu.analysis.cost.weights import Weights, count_weighed_gestures
from knobmenu.design.settings import TextSetting


@attrs.frozen
class Digrams:
    """How often each character follows another in a text."""

    name: str
    source: str
    characters: str
    counts: tuple[tuple[int, ...], ...]
    """Row: the first character; column: the second."""


@cache
def load_digrams() -> Digrams:
    """Read the table that comes with the package."""
    plain = tomllib.loads(files("knobmenu.analysis.cost").joinpath("digrams.toml").read_text(encoding="utf-8"))
    counts = tuple(tuple(row) for row in plain["counts"])
    return Digrams(plain["name"], plain["source"], plain["characters"], counts)


@attrs.frozen
class Keystrokes:
    """Keystrokes per character of one way of writing."""

    per_character: float
    """Detents and presses for each character, on average."""
    covered: float
    """The part of all digrams whose characters both can be written, from 0 to 1."""


def count_keystrokes(
    track: Track, places: Mapping[str, int], digrams: Digrams, weights: Weights, returns_to: int | None = None
) -> Keystrokes:
    """Count keystrokes per character where characters are picked on a line or a ring, each with a press.

    Args:
        track: The line or ring.
        places: Where each character stands on it.
        digrams: How often characters follow each other.
        weights: What turning weighs.
        returns_to: The place at which the pick stands again after each character; None: it stays where it was.

    Raises:
        ValueError: No digram can be written.
    """
    total = covered = strokes = 0
    for first, row in zip(digrams.characters, digrams.counts, strict=True):
        for second, count in zip(digrams.characters, row, strict=True):
            total += count
            if first in places and second in places:
                start = places[first] if returns_to is None else returns_to
                covered += count
                turning = weigh_turning(track, start, places[second], weights)
                strokes += count * (count_weighed_gestures(turning) + 1)
    if not covered:
        raise ValueError("none of the digrams can be written with these characters")
    return Keystrokes(strokes / covered, covered / total)


def count_text_keystrokes(setting: TextSetting, digrams: Digrams, weights: Weights, held: bool) -> Keystrokes | None:
    """Count keystrokes per character in a setting's own editor; case is ignored.

    Returns:
        None where the setting has no two letters that follow each other in the language.
    """
    places: dict[str, int] = {}
    for place, character in enumerate(setting.characters):
        places.setdefault(character.lower(), place)
    try:
        returns_to = 0 if setting.after_each == "first" else None
        return count_keystrokes(make_pick_track(setting, held), places, digrams, weights, returns_to)
    except ValueError:
        return None
