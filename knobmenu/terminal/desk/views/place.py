"""Where we are: the path, the draft and the values."""

from __future__ import annotations

from functools import lru_cache

from knobmenu.device.moment import due_ms
from knobmenu.machine.state import Asking, Editing, Mode, State, value_of
from knobmenu.machine.values import at
from knobmenu.picture.runs import Drawing, Row, Run
from knobmenu.session.narration import value_words
from knobmenu.session.part import Part
from knobmenu.terminal.drawing.fitting import cut, draw_pane, fit, pad
from knobmenu.terminal.input.keymap import SHOWN

_NAMES = (11, 18)
"""Least and most width of the column of names; between them it takes a third of the pane. [terminal cells]"""

_MODES = {
    Mode.HOME: "home",
    Mode.BROWSING: "browsing a list",
    Mode.EDITING: "editing",
    Mode.ASKING: "asking",
    Mode.HOLDING: "waiting for a hold",
}


def draw_place(parts: tuple[Part, ...], columns: int, height: int) -> Drawing:
    """Say where each variant is, and its values; where the variants differ, both.

    Args:
        parts: The variants.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    facts = [_facts(part) for part in parts]
    names = list(dict.fromkeys(name for one in facts for name in one))
    rows = [row for name in names for row in _fact(name, tuple(one.get(name, "") for one in facts), columns)]
    room = max(height - 1 - len(rows), 0)
    rows += _values(parts, columns, room)
    return draw_pane("where we are", rows, columns, height, SHOWN["pane_place"])


@lru_cache(maxsize=4096)
def _fact(name: str, said: tuple[str, ...], columns: int) -> tuple[Row, ...]:
    """Say one thing: once where the variants agree, else for each, in a row of its own where one is too short."""
    width = min(max(columns // 3, _NAMES[0]), _NAMES[1])
    head = Run(pad(cut(name, width - 1), width), "dim")
    if len(set(said)) == 1:
        return (fit([head, Run(said[0], "strong" if name == "draft" else "text")], columns),)
    each = [
        [Run(f"{letter} ", "caution"), Run(words or "—", "text")] for letter, words in zip("AB", said, strict=False)
    ]
    if width + sum(len(words or "—") + 4 for words in said) - 2 <= columns:
        return (fit([head, *each[0], Run("  ", "text"), *each[1]], columns),)
    return tuple(
        fit([head if number == 0 else Run(" " * width, "dim"), *runs], columns) for number, runs in enumerate(each)
    )


def _facts(part: Part) -> dict[str, str]:
    """Say what is not a value: mode, path, entry, draft, what is due."""
    design, state = part.design, part.state
    menus = design.index.menus
    facts = {"mode": _MODES[state.mode]}
    facts["path"] = " › ".join(["home", *(menus[place.menu].label for place in state.path)])
    if state.path and state.path[-1].entry >= 0:
        place = state.path[-1]
        entries = menus[place.menu].entries
        facts["entry"] = f"{place.entry + 1} of {len(entries)}, {entries[place.entry].target}"
    if isinstance(state.focus, Editing):
        focus = state.focus
        before = at(focus.before, design.index.positions[focus.setting])
        facts["draft"] = f"{value_words(design, focus.setting, focus.draft)}, was " + value_words(
            design, focus.setting, before
        )
    elif isinstance(state.focus, Asking):
        facts["answer"] = "yes" if state.focus.yes else "no"
    due = due_ms(design, part.moment)
    if due is not None:
        facts["next"] = f"{'save' if state.unsaved else 'idle'} at {due / 1000:.1f} s"
    return facts


def _values(parts: tuple[Part, ...], columns: int, room: int) -> list[Row]:
    """List as many values as there is room for, those at hand among them, in the design's order."""
    keys = list(
        dict.fromkeys(key for part in parts for key in (*part.design.index.settings, *part.design.index.readouts))
    )
    at_hand = _at_hand(parts[0].state, parts[0])
    start = 0
    if at_hand in keys and room:
        # Page by page, so that the list stands still while the selection moves.
        page = max(room - 1, 1)
        start = keys.index(at_hand) // page * page if len(keys) > room else 0
    facts = [_fact(key, tuple(_said(part, key) for part in parts), columns) for key in keys[start : start + room]]
    while facts and sum(map(len, facts)) + (len(facts) < len(keys)) > room:
        facts.pop()
    rows = [row for fact in facts for row in fact]
    if room and len(facts) < len(keys):
        rows.append(fit([Run(f"and {len(keys) - len(facts)} more values", "dim")], columns))
    return rows


def _said(part: Part, key: str) -> str:
    if key not in part.design.index.positions:
        return "none"
    return value_words(part.design, key, value_of(part.design, part.state, key))


def _at_hand(state: State, part: Part) -> str:
    if isinstance(state.focus, Editing):
        return state.focus.setting
    if state.path and state.path[-1].entry >= 0:
        place = state.path[-1]
        return part.design.index.menus[place.menu].entries[place.entry].target
    return part.design.home.turn
