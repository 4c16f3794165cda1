"""What each transition does: the state after it, and the effects on the way.

A step takes the design, the state and the event, adds its effects to a list in their order and returns the new state.
Which step is taken when is written in `knobmenu.machine.transitions` and nowhere else.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from knobmenu.design.settings import Clock, Digits, Number, Scale, TextSetting
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Turn
from knobmenu.machine.changing import (
    assign,
    changed_keys,
    number,
    pick_delete,
    places,
    turn_digit,
    turn_field,
    turn_value,
)
from knobmenu.machine.effects import ActionRun, Effect, Refused, Reverted, committed, limit_met, value_changed
from knobmenu.machine.state import (
    Asking,
    Editing,
    Holding,
    Place,
    State,
    in_order,
    leave_path,
    set_focus,
    set_path,
    set_values,
)
from knobmenu.machine.values import Value, Values, at
from knobmenu.machine.walking import move_selection, open_place, remember_places

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

Effects = list[Effect]
Step = Callable[["Design", State, Event, Effects], State]

COARSE = 10
"""Steps that a detent of a held turn is worth on a number, a scale or the characters of a text. [steps]"""


def target_of(design: Design, state: State, event: Event) -> str:
    """Return the key that a gesture works on now: what the focus is about, the selected entry's, or home's."""
    if isinstance(state.focus, (Asking, Holding)):
        return state.focus.target
    if state.path:
        place = state.path[-1]
        return design.index.menus[place.menu].entries[place.entry].target if place.entry >= 0 else ""
    return str(getattr(design.home, HOME_GESTURES[type(event)]))


HOME_GESTURES: dict[type[Event], str] = {
    Turn: "turn",
    HeldTurn: "held_turn",
    Press: "press",
    LongPress: "long_press",
    DoublePress: "double_press",
}
"""The field of `knobmenu.design.home.Home` that answers each gesture."""


# Nothing changes.


def nothing(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Leave everything as it is."""
    return state


def refuse(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Say that what was pressed is not enabled, and close a question about it."""
    effects.append(Refused(target_of(design, state, event)))
    return set_focus(state, None, event.at_ms)


# Walking.


def move(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Move the selection; a turn while held moves by a screen's worth of rows."""
    assert isinstance(event, (Turn, HeldTurn))
    place = state.path[-1]
    detents = event.detents * (max(design.display.rows, 2) if isinstance(event, HeldTurn) else 1)
    entry, ended = move_selection(design, state, place, detents)
    if ended:
        effects.append(limit_met(place.menu, "high" if detents > 0 else "low"))
    if entry == place.entry:
        return state
    return set_path(state, (*state.path[:-1], Place(place.menu, entry)), event.at_ms)


def open_menu(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Open the menu that was pressed."""
    return set_path(state, (*state.path, open_place(design, state, target_of(design, state, event))), event.at_ms)


def leave(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Go one level up, to the list above or home."""
    return _gone_up(design, state, len(state.path) - 1, event.at_ms)


def go_home(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Go home, whatever is open."""
    return set_focus(_gone_up(design, state, 0, event.at_ms), None, event.at_ms)


def close(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Close a question, with nothing done."""
    return set_focus(state, None, event.at_ms)


# Questions.


def ask(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Ask before going on."""
    return set_focus(state, Asking(target_of(design, state, event)), event.at_ms)


def want_hold(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Ask for the knob to be held before going on."""
    return set_focus(state, Holding(target_of(design, state, event)), event.at_ms)


def choose(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Select yes by turning up, and no by turning down."""
    assert isinstance(event, (Turn, HeldTurn))
    assert isinstance(state.focus, Asking)
    yes = event.detents > 0
    return state if yes == state.focus.yes else set_focus(state, Asking(state.focus.target, yes), event.at_ms)


# Doing.


def run(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Do an action, and go where it leads."""
    action = design.index.actions[target_of(design, state, event)]
    effects.append(ActionRun(action.key))
    levels = {"stay": len(state.path), "back": max(len(state.path) - 1, 0), "home": 0}[action.then]
    return set_focus(_gone_up(design, state, levels, event.at_ms), None, event.at_ms)


def toggle(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Turn a switch over; that takes effect at once."""
    key = target_of(design, state, event)
    value = 1 - number(design, state.values, key)
    values = assign(design, state.values, key, value)
    return _kept(design, state, event, effects, key, values)


def adjust(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Turn the value that the home screen turns; that takes effect at once."""
    assert isinstance(event, (Turn, HeldTurn))
    key = target_of(design, state, event)
    setting = design.index.settings[key]
    before = number(design, state.values, key)
    value, ended = turn_value(design, state.values, setting, before, _steps(setting, event))
    if ended:
        effects.append(limit_met(key, "high" if event.detents > 0 else "low"))
    if value == before:
        return state
    return _kept(design, state, event, effects, key, assign(design, state.values, key, value))


def _steps(setting: object, event: Turn | HeldTurn) -> int:
    if isinstance(event, HeldTurn):
        # Ten options on would skip most of a choice, and nobody reads words ten at a time.
        return event.detents * (COARSE if isinstance(setting, (Number, Scale)) else 1)
    return event.detents * event.times if event.times != 1 and getattr(setting, "accelerates", False) else event.detents


def _kept(design: Design, state: State, event: Event, effects: Effects, key: str, values: Values) -> State:
    """Take new values over and keep them."""
    changed = _report_changes(design, state.values, values, effects)
    effects.append(committed(key, at(values, design.index.positions[key])))
    return set_values(state, values, _unsaved(design, state, changed), event.at_ms)


def _report_changes(design: Design, before: Values, after: Values, effects: Effects) -> list[str]:
    """Add which values changed to the effects, and return their keys."""
    changed = changed_keys(design, before, after)
    effects += [value_changed(key, at(after, design.index.positions[key])) for key in changed]
    return changed


def _unsaved(design: Design, state: State, changed: Iterable[str]) -> tuple[str, ...]:
    """Add the saved settings among those that changed to what waits to be saved; the same tuple where none is."""
    settings = design.index.settings
    more = tuple([key for key in changed if settings[key].saved])
    if not more or not state.unsaved:
        return more or state.unsaved  # they changed in order of position
    return in_order(design, (*state.unsaved, *more))


# Editing.


def edit(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Open a draft at the present value."""
    key = target_of(design, state, event)
    return set_focus(state, Editing(key, at(state.values, design.index.positions[key]), state.values), event.at_ms)


def change(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Turn the draft; one that applies live takes effect at once."""
    assert isinstance(event, (Turn, HeldTurn))
    focus = state.focus
    assert isinstance(focus, Editing)
    setting = design.index.settings[focus.setting]
    if isinstance(setting, TextSetting):
        pick = _picked(setting, focus.pick, event)
        return state if pick == focus.pick else set_focus(state, focus._replace(pick=pick), event.at_ms)
    assert isinstance(focus.draft, int)
    ended = False
    if isinstance(setting, Clock):
        draft = turn_field(setting, focus.draft, focus.place, event.detents)
    elif isinstance(setting, Digits):
        draft, ended = turn_digit(setting, focus.draft, focus.place, event.detents)
    else:
        draft, ended = turn_value(design, state.values, setting, focus.draft, _steps(setting, event))
    if ended:
        effects.append(limit_met(focus.setting, "high" if event.detents > 0 else "low"))
    if draft == focus.draft:
        return state
    return _drafted(design, state, event, effects, draft, focus.pick)


def _picked(setting: TextSetting, pick: int, event: Turn | HeldTurn) -> int:
    detents = event.detents * (COARSE if isinstance(event, HeldTurn) else 1)
    return (pick + detents) % (len(setting.characters) + 2)


def next_place(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Go on to the next field or digit."""
    assert isinstance(state.focus, Editing)
    return set_focus(state, state.focus._replace(place=state.focus.place + 1), event.at_ms)


def move_place(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Move among fields or digits by turning while held, up to the first and the last."""
    assert isinstance(state.focus, Editing)
    assert isinstance(event, HeldTurn)
    setting = design.index.settings[state.focus.setting]
    place = min(max(state.focus.place + event.detents, 0), places(setting) - 1)
    if place == state.focus.place:
        return state
    return set_focus(state, state.focus._replace(place=place), event.at_ms)


def take_character(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Write the picked character at the end of a text."""
    focus = state.focus
    assert isinstance(focus, Editing)
    setting = design.index.settings[focus.setting]
    assert isinstance(setting, TextSetting)
    pick = focus.pick if setting.after_each == "stay" else 0
    return _drafted(design, state, event, effects, f"{focus.draft}{setting.characters[focus.pick]}", pick)


def delete_character(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Take the last character of a text back."""
    focus = state.focus
    assert isinstance(focus, Editing)
    if not focus.draft:
        effects.append(limit_met(focus.setting, "low"))
        return state
    setting = design.index.settings[focus.setting]
    assert isinstance(setting, TextSetting)
    return _drafted(design, state, event, effects, str(focus.draft)[:-1], pick_delete(setting))


def text_full(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Say that a text has its full length."""
    assert isinstance(state.focus, Editing)
    effects.append(limit_met(state.focus.setting, "high"))
    return state


def _drafted(design: Design, state: State, event: Event, effects: Effects, draft: Value, pick: int) -> State:
    """Take a new draft, and give it effect at once where the setting applies live."""
    focus = state.focus
    assert isinstance(focus, Editing)
    state = set_focus(state, Editing(focus.setting, draft, focus.before, focus.place, pick), event.at_ms)
    if design.index.settings[focus.setting].applies == "on-commit":
        return state
    values = assign(design, state.values, focus.setting, draft)
    _report_changes(design, state.values, values, effects)
    return state._replace(values=values)


def fill_and_commit(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Write the character that fills a text, and keep it."""
    return commit(design, take_character(design, state, event, effects), event, effects)


def commit(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Keep the draft and close it."""
    focus = state.focus
    assert isinstance(focus, Editing)
    values = assign(design, state.values, focus.setting, focus.draft)
    changed = _report_changes(design, state.values, values, effects)
    effects.append(committed(focus.setting, focus.draft))
    if focus.before is not state.values:  # it applied live, so the changes were reported before
        changed = changed_keys(design, focus.before, values)
    return set_values(state, values, _unsaved(design, state, changed), event.at_ms)


def revert(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Close the draft and put every value back to what it was before."""
    focus = state.focus
    assert isinstance(focus, Editing)
    _report_changes(design, state.values, focus.before, effects)
    effects.append(Reverted(focus.setting, at(focus.before, design.index.positions[focus.setting])))
    return set_values(state, focus.before, state.unsaved, event.at_ms)


def commit_and_go_home(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Keep the draft and go home."""
    return go_home(design, commit(design, state, event, effects), event, effects)


def revert_and_go_home(design: Design, state: State, event: Event, effects: Effects) -> State:
    """Undo the draft and go home."""
    return go_home(design, revert(design, state, event, effects), event, effects)


def _gone_up(design: Design, state: State, levels: int, at_ms: int) -> State:
    """Keep only the outermost levels of the path, remembering where the others were left."""
    if levels == len(state.path):
        return state
    last_used = remember_places(design, state.last_used, state.path[levels:])
    return leave_path(state, state.path[:levels], at_ms, last_used)
