"""Plain sentences about what a device shows and does: rows, lamps, effects and places."""

from __future__ import annotations

import re
from collections.abc import Iterator

from knobmenu.design.labels import get_entry_label
from knobmenu.machine.advance import identify_screen
from knobmenu.machine.effects import ScreenEntered
from knobmenu.machine.indicators import find_lit_lamps
from knobmenu.machine.state import Mode
from knobmenu.screen.cells import Screen
from knobmenu.session.narration import describe_effect, describe_lamp
from knobmenu.session.part import Part

_BAR = re.compile("[·▏▎▍▌▋▊▉█]{3,}")


def describe_effects(part: Part) -> Iterator[str]:
    """Describe the effects; for a screen that is entered, only its caution, if it has one."""
    for effect in part.effects:
        if not isinstance(effect, ScreenEntered):
            yield describe_effect(part.design, effect) + "."
            continue
        index = part.design.index
        thing = index.settings.get(effect.key) or index.actions.get(effect.key)
        if thing is not None and thing.hazard:
            yield f"Caution: {thing.hazard}"


def describe_changed_rows(old: Part, new: Part) -> Iterator[str]:
    """Describe the rows of the display that changed."""
    before, after = describe_rows(old.screen), describe_rows(new.screen)
    for number, row in enumerate(after):
        if number >= len(before) or before[number] != row:
            yield f"Row {number + 1}: {row}"


def describe_changed_lamps(old: Part, new: Part) -> Iterator[str]:
    """Describe the lamps that were switched on or off."""
    lit_before = dict(zip((lamp.key for lamp in old.design.lamps), find_lit_lamps(old.design, old.state), strict=True))
    for lamp, lit in zip(new.design.lamps, find_lit_lamps(new.design, new.state), strict=True):
        if lit_before.get(lamp.key) is not lit:
            yield f"Lamp {lamp.label}: {describe_lamp(lamp, lit)}."


def describe_rows(screen: Screen) -> list[str]:
    """Describe each row: points where they are lit, a bar as a number, and what blinks."""
    rows = []
    for number, row in enumerate(screen.rows):
        points = screen.points if number == 0 else ()
        text = "".join(character + ("." if cell in points else "") for cell, character in enumerate(row))
        text = " ".join(_BAR.sub(_describe_bar, text).split())
        blinking = [row[span.start : span.stop].strip() for span in screen.blinking if span.row == number]
        marked = ", ".join(filter(None, blinking))
        rows.append((text or "empty") + (f" (blinking: {marked})" if marked else ""))
    return rows


def _describe_bar(bar: re.Match[str]) -> str:
    cells = bar.group()
    return f" bar {len(cells.replace('·', ''))} of {len(cells)} "


def describe_place(part: Part) -> str:
    """Describe which screen is shown, such as ``Menu, Range: Dimmest is being edited``."""
    design, state = part.design, part.state
    index = design.index
    menus = ", ".join(index.menus[place.menu].label for place in state.path) or "Home"
    mode, key = identify_screen(state)
    if mode in (Mode.HOME, Mode.BROWSING):
        if not state.path or state.path[-1].entry < 0:
            return f"{menus}."
        here = state.path[-1]
        entry = index.menus[here.menu].entries[here.entry]
        return f"{menus}: {get_entry_label(design, entry)} is selected."
    thing = index.settings.get(key) or index.actions[key]
    doing = {Mode.EDITING: "is being edited", Mode.ASKING: "waits for yes or no", Mode.HOLDING: "waits to be held"}
    return f"{menus}: {thing.label} {doing[mode]}."
