"""The place of the device: the path, the draft and the values."""

from __future__ import annotations

from functools import lru_cache

from knobmenu.picture.fitting import cut, draw_pane, fit, pad
from knobmenu.picture.runs import Drawing, Row, Run
from knobmenu.session.facts import find_current_key, format_value, list_facts
from knobmenu.session.part import Part
from knobmenu.terminal.input.keymap import SHOWN

_NAMES = (11, 18)
"""Least and most width of the column of names; between them it takes a third of the pane. [terminal cells]"""


def draw_place(parts: tuple[Part, ...], columns: int, height: int) -> Drawing:
    """Write where each variant is, and its values; where the variants differ, both.

    Args:
        parts: The variants.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    facts = [list_facts(part) for part in parts]
    names = list(dict.fromkeys(name for one in facts for name in one))
    rows = [row for name in names for row in _draw_fact(name, tuple(one.get(name, "") for one in facts), columns)]
    room = max(height - 1 - len(rows), 0)
    rows += _draw_values(parts, columns, room)
    return draw_pane("where we are", rows, columns, height, SHOWN["pane_place"])


@lru_cache(maxsize=4096)
def _draw_fact(name: str, facts: tuple[str, ...], columns: int) -> tuple[Row, ...]:
    """Draw one fact: once if the variants agree, otherwise for each, on rows of their own if one row is too short."""
    width = min(max(columns // 3, _NAMES[0]), _NAMES[1])
    head = Run(pad(cut(name, width - 1), width), "dim")
    if len(set(facts)) == 1:
        return (fit([head, Run(facts[0], "strong" if name == "draft" else "text")], columns),)
    each = [
        [Run(f"{letter} ", "caution"), Run(words or "—", "text")] for letter, words in zip("AB", facts, strict=False)
    ]
    if width + sum(len(words or "—") + 4 for words in facts) - 2 <= columns:
        return (fit([head, *each[0], Run("  ", "text"), *each[1]], columns),)
    return tuple(
        fit([head if number == 0 else Run(" " * width, "dim"), *runs], columns) for number, runs in enumerate(each)
    )


def _draw_values(parts: tuple[Part, ...], columns: int, room: int) -> list[Row]:
    """Draw as many values as fit, including the current ones, in the design's order."""
    keys = list(
        dict.fromkeys(key for part in parts for key in (*part.design.index.settings, *part.design.index.readouts))
    )
    at_hand = find_current_key(parts[0])
    start = 0
    if at_hand in keys and room:
        # Page by page, so that the list stands still while the selection moves.
        page = max(room - 1, 1)
        start = keys.index(at_hand) // page * page if len(keys) > room else 0
    facts = [
        _draw_fact(key, tuple(format_value(part, key) for part in parts), columns) for key in keys[start : start + room]
    ]
    while facts and sum(map(len, facts)) + (len(facts) < len(keys)) > room:
        facts.pop()
    rows = [row for fact in facts for row in fact]
    if room and len(facts) < len(keys):
        rows.append(fit([Run(f"and {len(keys) - len(facts)} more values", "dim")], columns))
    return rows
