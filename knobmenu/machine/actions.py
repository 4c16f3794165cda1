"""The actions that transitions run: each returns the next state and adds effects.

An action takes the design, the state, what lies over its list (the focus), and the event; it appends its effects to a
list and returns the new state. `knobmenu.machine.transitions` alone decides which action runs when, so each action
declares the focus and the event that the table gives it. (The actions of a design are another matter: `run` performs
one.)
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, assert_never

from knobmenu.design.kinds import Setting, Turnable, count_parts
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.events import DoublePress, Event, Gesture, HeldTurn, LongPress, Press, Turn, Turning
from knobmenu.machine.changing import (
    assign,
    get_delete_pick,
    get_number,
    list_changed_keys,
    open_draft,
    turn_digit,
    turn_field,
    turn_value,
)
from knobmenu.machine.effects import (
    ActionRun,
    Effect,
    Refused,
    Reverted,
    make_at_limit,
    make_committed,
    make_value_changed,
)
from knobmenu.machine.state import (
    Asking,
    Editing,
    Focus,
    Holding,
    NumberDraft,
    State,
    TextDraft,
    leave_path,
    make_place,
    set_focus,
    set_path,
    set_values,
    sort_keys,
)
from knobmenu.machine.values import Values, get_at
from knobmenu.machine.walking import choose_open_place, move_selection, remember_places

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

Effects = list[Effect]

Question = Asking | Holding | None
"""What can lie over a list or the home screen while nothing is edited."""

COARSE = 10
"""Steps that a detent of a held turn counts as on a number, a scale or the characters of a text. [steps]"""


def find_target(design: Design, state: State, focus: Question, event: Gesture) -> str:
    """Return the target of a gesture: that of the focus, else of the selected entry, else of the home screen."""
    if focus is not None:
        return focus.target
    if state.path:
        place = state.path[-1]
        return design.index.menus[place.menu].entries[place.entry].target if place.entry >= 0 else ""
    match event:
        case Turn():
            return design.home.turn
        case Press():
            return design.home.press
        case LongPress():
            return design.home.long_press
        case HeldTurn():
            return design.home.held_turn
        case DoublePress():
            return design.home.double_press
        case _:
            assert_never(event)


# Nothing changes.


def do_nothing(design: Design, state: State, focus: Focus | None, event: Event, effects: Effects) -> State:
    """Leave everything as it is."""
    return state


def refuse(design: Design, state: State, focus: Question, event: Gesture, effects: Effects) -> State:
    """Report that the pressed entry is not enabled, and close a question about it."""
    effects.append(Refused(find_target(design, state, focus, event)))
    return set_focus(state, None, event.at_ms)


# Walking.


def move(design: Design, state: State, focus: None, event: Turning, effects: Effects) -> State:
    """Move the selection; a turn while held moves by a screen's worth of rows."""
    place = state.path[-1]
    detents = event.detents * (max(design.display.rows, 2) if isinstance(event, HeldTurn) else 1)
    entry, ended = move_selection(design, state, place, detents)
    if ended:
        effects.append(make_at_limit(place.menu, "high" if detents > 0 else "low"))
    if entry == place.entry:
        return state
    return set_path(state, (*state.path[:-1], make_place(place.menu, entry)), event.at_ms)


def open_menu(design: Design, state: State, focus: Question, event: Gesture, effects: Effects) -> State:
    """Open the menu that was pressed."""
    menu = find_target(design, state, focus, event)
    return set_path(state, (*state.path, choose_open_place(design, state, menu)), event.at_ms)


def leave(design: Design, state: State, focus: Focus | None, event: Event, effects: Effects) -> State:
    """Go one level up, to the list above or home."""
    return _go_up(design, state, len(state.path) - 1, event.at_ms)


def go_home(design: Design, state: State, focus: Focus | None, event: Event, effects: Effects) -> State:
    """Go home, whatever is open."""
    return _go_home(design, state, event)


def close(design: Design, state: State, focus: Focus | None, event: Event, effects: Effects) -> State:
    """Close a question, with nothing done."""
    return set_focus(state, None, event.at_ms)


# Questions.


def ask(design: Design, state: State, focus: Question, event: Gesture, effects: Effects) -> State:
    """Ask before going on."""
    return set_focus(state, Asking(find_target(design, state, focus, event)), event.at_ms)


def ask_for_hold(design: Design, state: State, focus: Question, event: Gesture, effects: Effects) -> State:
    """Ask for the knob to be held before going on."""
    return set_focus(state, Holding(find_target(design, state, focus, event)), event.at_ms)


def choose(design: Design, state: State, focus: Asking, event: Turning, effects: Effects) -> State:
    """Select yes by turning up, and no by turning down."""
    yes = event.detents > 0
    return state if yes == focus.yes else set_focus(state, Asking(focus.target, yes), event.at_ms)


# Doing.


def run(design: Design, state: State, focus: Question, event: Gesture, effects: Effects) -> State:
    """Run an action of the design, and go where it leads."""
    action = design.index.actions[find_target(design, state, focus, event)]
    effects.append(ActionRun(action.key))
    levels = {"stay": len(state.path), "back": max(len(state.path) - 1, 0), "home": 0}[action.then]
    return set_focus(_go_up(design, state, levels, event.at_ms), None, event.at_ms)


def toggle(design: Design, state: State, focus: Question, event: Gesture, effects: Effects) -> State:
    """Toggle a switch; it takes effect immediately."""
    key = find_target(design, state, focus, event)
    value = 1 - get_number(design, state.values, key)
    values = assign(design, state.values, key, value)
    return _keep(design, state, event, effects, key, values)


def adjust(design: Design, state: State, focus: Question, event: Turning, effects: Effects) -> State:
    """Turn the value that home turns; it takes effect immediately."""
    key = find_target(design, state, focus, event)
    setting = design.index.turnable[key]
    before = get_number(design, state.values, key)
    value, ended = turn_value(design, state.values, setting, before, _count_steps(setting, event))
    if ended:
        effects.append(make_at_limit(key, "high" if event.detents > 0 else "low"))
    if value == before:
        return state
    return _keep(design, state, event, effects, key, assign(design, state.values, key, value))


def _count_steps(setting: Turnable, event: Turning) -> int:
    """Return by how many steps an event turns a value."""
    if isinstance(event, Turn) and event.times == 1:  # Most turns are neither held nor fast.
        return event.detents
    match setting:
        case Number() | Scale():
            if isinstance(event, HeldTurn):
                return event.detents * COARSE
            return event.detents * event.times if setting.accelerates else event.detents
        case Choice() | Switch() | Digits():
            # Ten options on would skip most of a choice, and nobody reads words ten at a time.
            return event.detents
        case _:
            assert_never(setting)


def _keep(design: Design, state: State, event: Event, effects: Effects, key: str, values: Values) -> State:
    """Apply new values and commit them."""
    changed = _report_changes(design, state.values, values, effects)
    effects.append(make_committed(key, get_at(values, design.index.positions[key])))
    return set_values(state, values, _mark_unsaved(design, state, changed), event.at_ms)


def _report_changes(design: Design, before: Values, after: Values, effects: Effects) -> list[str]:
    """Append an effect for each value that changed, and return their keys."""
    changed = list_changed_keys(design, before, after)
    effects += [make_value_changed(key, get_at(after, design.index.positions[key])) for key in changed]
    return changed


def _mark_unsaved(design: Design, state: State, changed: Iterable[str]) -> tuple[str, ...]:
    """Add the changed settings that are saved to the unsaved ones; return the same tuple if there are none."""
    settings = design.index.settings
    more = tuple([key for key in changed if settings[key].saved])
    if not more or not state.unsaved:
        return more or state.unsaved  # they changed in order of position
    return sort_keys(design, (*state.unsaved, *more))


# Editing.


def edit(design: Design, state: State, focus: Question, event: Gesture, effects: Effects) -> State:
    """Open a draft at the present value."""
    return set_focus(state, open_draft(design, state.values, find_target(design, state, focus, event)), event.at_ms)


def change(design: Design, state: State, focus: Editing, event: Turning, effects: Effects) -> State:
    """Turn the draft; a live one takes effect immediately."""
    match focus:
        case NumberDraft():
            setting = design.index.numeric[focus.setting]
            match setting:
                case Number() | Scale() | Choice() | Switch():
                    steps = _count_steps(setting, event)
                    draft, ended = turn_value(design, state.values, setting, focus.draft, steps)
                case Digits():
                    draft, ended = turn_digit(setting, focus.draft, focus.place, event.detents)
                case Clock():
                    draft, ended = turn_field(setting, focus.draft, focus.place, event.detents), False
                case _:
                    assert_never(setting)
            if ended:
                effects.append(make_at_limit(focus.setting, "high" if event.detents > 0 else "low"))
            if draft == focus.draft:
                return state
            changed = NumberDraft(focus.setting, draft, focus.before, focus.place)
            return _take_draft(design, state, changed, setting, event, effects)
        case TextDraft():
            pick = _turn_pick(design.index.texts[focus.setting], focus.pick, event)
            return state if pick == focus.pick else set_focus(state, focus._replace(pick=pick), event.at_ms)
        case _:
            assert_never(focus)


def _turn_pick(setting: TextSetting, pick: int, event: Turning) -> int:
    detents = event.detents * (COARSE if isinstance(event, HeldTurn) else 1)
    return (pick + detents) % (len(setting.characters) + 2)


def go_to_next_place(design: Design, state: State, focus: NumberDraft, event: Press, effects: Effects) -> State:
    """Go to the next field or digit."""
    return set_focus(state, focus._replace(place=focus.place + 1), event.at_ms)


def move_place(design: Design, state: State, focus: NumberDraft, event: HeldTurn, effects: Effects) -> State:
    """Move among fields or digits by turning while held, up to the first and the last."""
    setting = design.index.numeric[focus.setting]
    place = min(max(focus.place + event.detents, 0), count_parts(setting) - 1)
    return state if place == focus.place else set_focus(state, focus._replace(place=place), event.at_ms)


def take_character(design: Design, state: State, focus: TextDraft, event: Press, effects: Effects) -> State:
    """Append the picked character to a text."""
    setting = design.index.texts[focus.setting]
    return _take_draft(design, state, _add_character(setting, focus), setting, event, effects)


def _add_character(setting: TextSetting, focus: TextDraft) -> TextDraft:
    pick = focus.pick if setting.after_each == "stay" else 0
    return TextDraft(focus.setting, focus.draft + setting.characters[focus.pick], focus.before, pick)


def delete_character(design: Design, state: State, focus: TextDraft, event: Press, effects: Effects) -> State:
    """Delete the last character of a text."""
    if not focus.draft:
        effects.append(make_at_limit(focus.setting, "low"))
        return state
    setting = design.index.texts[focus.setting]
    shorter = TextDraft(focus.setting, focus.draft[:-1], focus.before, get_delete_pick(setting))
    return _take_draft(design, state, shorter, setting, event, effects)


def report_full_text(design: Design, state: State, focus: TextDraft, event: Press, effects: Effects) -> State:
    """Report that a text has reached its full length."""
    effects.append(make_at_limit(focus.setting, "high"))
    return state


def _take_draft(
    design: Design, state: State, focus: Editing, setting: Setting, event: Event, effects: Effects
) -> State:
    """Take a new draft of a setting, and apply it immediately if the setting is live."""
    state = set_focus(state, focus, event.at_ms)
    if setting.applies == "on-commit":
        return state
    values = assign(design, state.values, focus.setting, focus.draft)
    _report_changes(design, state.values, values, effects)
    return state._replace(values=values)


def fill_and_commit(design: Design, state: State, focus: TextDraft, event: Press, effects: Effects) -> State:
    """Append the character that fills a text, and commit the text."""
    setting = design.index.texts[focus.setting]
    filled = _add_character(setting, focus)
    return commit(design, _take_draft(design, state, filled, setting, event, effects), filled, event, effects)


def commit(design: Design, state: State, focus: Editing, event: Event, effects: Effects) -> State:
    """Keep the draft and close it."""
    values = assign(design, state.values, focus.setting, focus.draft)
    changed = _report_changes(design, state.values, values, effects)
    effects.append(make_committed(focus.setting, focus.draft))
    if focus.before is not state.values:  # it applied live, so the changes were reported before
        changed = list_changed_keys(design, focus.before, values)
    return set_values(state, values, _mark_unsaved(design, state, changed), event.at_ms)


def revert(design: Design, state: State, focus: Editing, event: Event, effects: Effects) -> State:
    """Discard the draft and restore every value to what it was before the edit."""
    _report_changes(design, state.values, focus.before, effects)
    effects.append(Reverted(focus.setting, get_at(focus.before, design.index.positions[focus.setting])))
    return set_values(state, focus.before, state.unsaved, event.at_ms)


def commit_and_go_home(design: Design, state: State, focus: Editing, event: Event, effects: Effects) -> State:
    """Keep the draft and go home."""
    return _go_home(design, commit(design, state, focus, event, effects), event)


def revert_and_go_home(design: Design, state: State, focus: Editing, event: Event, effects: Effects) -> State:
    """Undo the draft and go home."""
    return _go_home(design, revert(design, state, focus, event, effects), event)


def _go_home(design: Design, state: State, event: Event) -> State:
    return set_focus(_go_up(design, state, 0, event.at_ms), None, event.at_ms)


def _go_up(design: Design, state: State, levels: int, at_ms: int) -> State:
    """Keep only the outermost levels of the path, remembering where the others were left."""
    if levels == len(state.path):
        return state
    last_used = remember_places(design, state.last_used, state.path[levels:])
    return leave_path(state, state.path[:levels], at_ms, last_used)
