"""Short facts about a device: its place, its values, and what its display omits."""

from __future__ import annotations

from itertools import zip_longest

from knobmenu.design.whole import Design
from knobmenu.device.moment import find_due_ms
from knobmenu.events import HeldTurn, Turn
from knobmenu.machine.effects import Committed, Effect, Flash, ScreenEntered, Sound, ValueChanged
from knobmenu.machine.state import Asking, Editing, Mode, State, find_language, get_value
from knobmenu.machine.values import get_at
from knobmenu.screen.cells import Screen, Span
from knobmenu.screen.values import describe_value
from knobmenu.session.narration import describe_effect
from knobmenu.session.part import Part

_MODES = {
    Mode.HOME: "home",
    Mode.BROWSING: "browsing a list",
    Mode.EDITING: "editing",
    Mode.ASKING: "asking",
    Mode.HOLDING: "waiting for a hold",
}


def list_facts(part: Part) -> dict[str, str]:
    """Return the facts that are not values, by name: mode, path, entry, draft, and what is due next."""
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
        before = get_at(focus.before, design.index.positions[focus.setting])
        facts["draft"] = f"{describe_value(design, focus.setting, focus.draft)}, was " + describe_value(
            design, focus.setting, before
        )
    elif isinstance(state.focus, Asking):
        facts["answer"] = "yes" if state.focus.yes else "no"
    due = find_due_ms(design, part.moment)
    if due is not None:
        facts["next"] = f"{'save' if state.unsaved else 'idle'} at {due / 1000:.1f} s"
    return facts


def format_value(part: Part, key: str) -> str:
    """Return a value as the display would show it; ``none`` where the variant lacks the setting or readout."""
    if key not in part.design.index.positions:
        return "none"
    return describe_value(part.design, key, get_value(part.design, part.state, key))


def describe_progress(part: Part) -> str:
    """Say how far the user is since home: there again, still there, or on the way."""
    cost = part.cost
    if not (cost.detents or cost.presses or cost.long_presses):
        return "nothing done yet"
    if part.state.mode is Mode.HOME:
        return "home again" if cost.came_home else "at home"
    return "on the way"


def find_current_key(part: Part) -> str:
    """Return the key that a turn or press concerns: the edited setting, the selected entry, or home's turn."""
    state = part.state
    if isinstance(state.focus, Editing):
        return state.focus.setting
    if state.path and state.path[-1].entry >= 0:
        place = state.path[-1]
        return part.design.index.menus[place.menu].entries[place.entry].target
    return part.design.home.turn


def list_unseen_cautions(design: Design, state: State, screen: Screen) -> tuple[str, ...]:
    """Return the cautions that a screen has to cut."""
    translations = design.index.translations[find_language(design, state)]
    cautions = {translations.get(thing.hazard, thing.hazard) for thing in design.index.hazards.values()}
    return tuple(text for text in screen.cut if text in cautions)


def list_differing_rows(one: Part, other: Part) -> tuple[int, ...]:
    """Return the rows, from 0 at the top, in which two displays differ; a row that only one of them has counts.

    Args:
        one: A variant.
        other: Another.
    """
    return tuple(
        row
        for row, (text, beside) in enumerate(
            zip_longest(_list_row_contents(one.screen), _list_row_contents(other.screen))
        )
        if text != beside
    )


def _list_row_contents(screen: Screen) -> list[tuple[str, tuple[Span, ...], tuple[int, ...]]]:
    return [
        (text, tuple(span for span in screen.blinking if span.row == row), screen.points)
        for row, text in enumerate(screen.rows)
    ]


def describe_outcome(part: Part) -> str:
    """Describe briefly what an event led to; if it had no effect, where the selection went."""
    parts = [
        _describe_effect_briefly(part, effect)
        for effect in part.effects
        if not isinstance(effect, Sound | Flash | ScreenEntered)
    ]
    parts += [
        f"{effect.mode.value} {effect.key}".rstrip() for effect in part.effects if isinstance(effect, ScreenEntered)
    ]
    parts += [describe_effect(part.design, effect) for effect in part.effects if isinstance(effect, Sound)]
    if parts:
        return ", ".join(parts)
    focus = part.state.focus
    if isinstance(focus, Editing):
        return f"draft {describe_value(part.design, focus.setting, focus.draft)}"
    if focus is None and part.state.path and isinstance(part.event, Turn | HeldTurn):
        place = part.state.path[-1]
        entries = part.design.index.menus[place.menu].entries
        return f"to {entries[place.entry].target}" if place.entry >= 0 else ""
    return ""


def _describe_effect_briefly(part: Part, effect: Effect) -> str:
    """Describe an effect briefly, since room may be short; a value that is kept immediately is written once."""
    match effect:
        case ValueChanged(key, value):
            return f"{key} {describe_value(part.design, key, value)}"
        case Committed(key, value) if ValueChanged(key, value) in part.effects:
            return "kept"
        case _:
            return describe_effect(part.design, effect)
