"""All transitions of the machine, as one table.

`TRANSITIONS` holds, for each mode and each event, the rule that determines the case, and for each case the action and
the modes in which it can end. The machine, the diagrams in the documentation, the specification and the tests all use
this table. It is complete: an event that does nothing in a mode has a row that says so.

Each rule and each action declares which focus and which event it takes. The type checker cannot see whether the table
passes it those; tests/machine/test_transitions.py reads the declarations and checks the table.

When a row is added here, `python -m docs.draw` redraws `docs/explanation/machine.md` from it, and
`docs/reference/spec.md` has to describe it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple, assert_never

from knobmenu.design.kinds import Parted, count_parts
from knobmenu.design.settings import Switch
from knobmenu.design.whole import Kind
from knobmenu.events import DoublePress, Event, Gesture, HeldTurn, LongPress, Press, Turn, Turning
from knobmenu.machine import actions
from knobmenu.machine.changing import get_delete_pick, get_done_pick
from knobmenu.machine.state import Asking, Editing, Focus, Holding, Mode, NumberDraft, State, TextDraft
from knobmenu.machine.walking import is_enabled

if TYPE_CHECKING:
    from knobmenu.design.whole import Design, Index


class IdleExpired(Event):
    """The knob was not touched for as long as the design's idle rule says; the machine sends it to itself."""

    __slots__ = ()
    word = "idle"


class Case(Enum):
    """What distinguishes the possible outcomes of one event in one mode."""

    ALWAYS = ("always", "always")
    NOTHING = ("nothing", "nothing to do")
    ADJUST = ("adjust", "home turns a setting")
    MOVE = ("move", "a list with entries")
    EMPTY = ("empty", "an empty list")
    OPEN = ("open", "a menu")
    EDIT = ("edit", "a setting with a draft")
    TOGGLE = ("toggle", "a switch")
    RUN = ("run", "an action")
    ASK = ("ask", "something that asks first")
    HOLD = ("hold", "something that wants a hold first")
    READ = ("read", "a readout")
    LEAVE = ("leave", "the way back")
    GO_HOME = ("go_home", "the way home")
    REFUSED = ("refused", "a disabled entry")
    DECLINE = ("decline", "no is selected")
    PARTS = ("parts", "a value with parts")
    NEXT = ("next", "parts are left")
    COMMIT = ("commit", "the draft is kept")
    REVERT = ("revert", "the draft is undone")
    COMMIT_HOME = ("commit_home", "kept, and home")
    REVERT_HOME = ("revert_home", "undone, and home")
    TAKE = ("take", "a character with room")
    FILL = ("fill", "the character that fills the text")
    FULL = ("full", "a character without room")
    DELETE = ("delete", "the mark delete")

    def __init__(self, word: str, meaning: str) -> None:
        self.word = word
        """Its name in the specification; written here, so that a renaming in the code leaves the standard alone."""
        self.meaning = meaning
        """The case in words."""

    # As with modes: one object each, looked up at every event.
    __hash__ = object.__hash__


Rule = Callable[["Design", State, Any, Any], Case]
"""Determines the case; takes the focus and the event of its row."""

Action = Callable[["Design", State, Any, Any, actions.Effects], State]
"""Performs what a case requires; takes the focus and the event of its case."""


class Arc(NamedTuple):
    """One outcome of an event in a mode."""

    action: str
    """The name of the action in the specification, which numbers it."""
    do: Action
    to: tuple[Mode, ...]
    """The modes in which it can end."""


class Row(NamedTuple):
    """What one event means in one mode."""

    rule: str
    """The name of the rule in the specification, which numbers it."""
    case: Rule
    arcs: Mapping[Case, Arc]


# The rules. Each determines the case in one kind of situation and changes nothing.


def _judge_always(design: Design, state: State, focus: Focus | None, event: Event) -> Case:
    return Case.ALWAYS


def _judge_home_turn(design: Design, state: State, focus: None, event: Turning) -> Case:
    return Case.ADJUST if actions.find_target(design, state, focus, event) else Case.NOTHING


def _judge_home_press(design: Design, state: State, focus: None, event: Gesture) -> Case:
    target = actions.find_target(design, state, focus, event)
    return find_press_case(design, target) if target else Case.NOTHING


def _judge_list_turn(design: Design, state: State, focus: None, event: Turning) -> Case:
    return Case.EMPTY if state.path[-1].entry < 0 else Case.MOVE


def _judge_list_press(design: Design, state: State, focus: None, event: Press) -> Case:
    place = state.path[-1]
    if place.entry < 0:
        return Case.LEAVE
    if not is_enabled(design, state, place.menu, place.entry):
        return Case.REFUSED
    return find_press_case(design, actions.find_target(design, state, focus, event))


def _judge_list_long_press(design: Design, state: State, focus: None, event: LongPress) -> Case:
    return _GESTURES[design.gestures.long_press]


def _judge_list_double_press(design: Design, state: State, focus: None, event: DoublePress) -> Case:
    return _GESTURES[design.gestures.double_press]


_GESTURES = {"back": Case.LEAVE, "home": Case.GO_HOME, "nothing": Case.NOTHING}


def find_press_case(design: Design, target: str) -> Case:
    """Return the case of pressing an entry with this target, before any confirmation.

    Args:
        design: The design.
        target: The key of a setting, menu, action or readout, or ``back``.

    Returns:
        `Case.OPEN`, `EDIT`, `TOGGLE`, `RUN`, `ASK`, `HOLD`, `READ` or `LEAVE`.
    """
    return _look_up_press_case(design.index, target)


@lru_cache(maxsize=4096)
def _look_up_press_case(index: Index, target: str) -> Case:
    kind = index.kinds[target]
    if kind is Kind.MENU:
        return Case.OPEN
    if kind is Kind.READOUT:
        return Case.READ
    if kind is Kind.BACK:
        return Case.LEAVE
    guarded = index.actions[target] if kind is Kind.ACTION else index.settings[target]
    if guarded.confirm == "none":
        return find_confirmed_case(index.design, target)
    return Case.ASK if guarded.confirm == "ask" else Case.HOLD


def find_confirmed_case(design: Design, target: str) -> Case:
    """Return the case of a setting or an action once it is confirmed: `Case.EDIT`, `TOGGLE` or `RUN`."""
    if target in design.index.actions:
        return Case.RUN
    return Case.TOGGLE if isinstance(design.index.settings[target], Switch) else Case.EDIT


def _judge_answer(design: Design, state: State, focus: Asking, event: Press) -> Case:
    return _judge_confirmed(design, state, focus) if focus.yes else Case.DECLINE


def _judge_hold(design: Design, state: State, focus: Holding, event: LongPress) -> Case:
    return _judge_confirmed(design, state, focus)


def _judge_confirmed(design: Design, state: State, focus: Asking | Holding) -> Case:
    """Return the case of a confirmed target, which a condition may have disabled while the question was open."""
    if state.path:
        place = state.path[-1]
        if not is_enabled(design, state, place.menu, place.entry):
            return Case.REFUSED
    return find_confirmed_case(design, focus.target)


def _judge_edit_press(design: Design, state: State, focus: Editing, event: Press) -> Case:
    match focus:
        case NumberDraft():
            last = count_parts(design.index.numeric[focus.setting]) - 1
            return Case.NEXT if focus.place < last else Case.COMMIT
        case TextDraft():
            setting = design.index.texts[focus.setting]
            if focus.pick == get_done_pick(setting):
                return Case.COMMIT
            if focus.pick == get_delete_pick(setting):
                return Case.DELETE
            room = setting.longest - len(focus.draft)
            if room <= 0:
                return Case.FULL
            return Case.FILL if room == 1 else Case.TAKE
        case _:
            assert_never(focus)


def _judge_edit_held_turn(design: Design, state: State, focus: Editing, event: HeldTurn) -> Case:
    return Case.PARTS if isinstance(design.index.settings[focus.setting], Parted) else Case.ALWAYS


def _judge_edit_long_press(design: Design, state: State, focus: Editing, event: LongPress) -> Case:
    requested = design.index.settings[focus.setting].on_long_press
    return {"revert": Case.REVERT, "commit": Case.COMMIT, "nothing": Case.NOTHING}[requested]


def _judge_edit_idle(design: Design, state: State, focus: Editing, event: Event) -> Case:
    keep = design.index.settings[focus.setting].on_idle == "commit"
    if design.idle.to == "home":
        return Case.COMMIT_HOME if keep else Case.REVERT_HOME
    return Case.COMMIT if keep else Case.REVERT


def _judge_idle(design: Design, state: State, focus: Focus | None, event: Event) -> Case:
    return Case.GO_HOME if design.idle.to == "home" else Case.LEAVE


def find_event_case(design: Design, state: State, event: Event) -> Case:
    """Return the case of an event in a state: one of those of its row in `TRANSITIONS`.

    Raises:
        KeyError: The event is not in the table, as `Wait` and `Report` are not.
    """
    return TRANSITIONS[state.mode, type(event)].case(design, state, state.focus, event)


_HOME, _BROWSING, _EDITING, _ASKING, _HOLDING = Mode
_LISTS = (_BROWSING, _HOME)

_NOTHING_AT_HOME = Arc("nothing", actions.do_nothing, (_HOME,))
_UP = Arc("leave", actions.leave, _LISTS)
_TO_HOME = Arc("go_home", actions.go_home, (_HOME,))

_HOME_TURN = Row(
    "home_turn",
    _judge_home_turn,
    {Case.ADJUST: Arc("adjust", actions.adjust, (_HOME,)), Case.NOTHING: _NOTHING_AT_HOME},
)
_HOME_PRESS = Row(
    "home_press",
    _judge_home_press,
    {
        Case.OPEN: Arc("open_menu", actions.open_menu, (_BROWSING,)),
        Case.EDIT: Arc("edit", actions.edit, (_EDITING,)),
        Case.TOGGLE: Arc("toggle", actions.toggle, (_HOME,)),
        Case.RUN: Arc("run", actions.run, (_HOME,)),
        Case.ASK: Arc("ask", actions.ask, (_ASKING,)),
        Case.HOLD: Arc("want_hold", actions.ask_for_hold, (_HOLDING,)),
        Case.LEAVE: _NOTHING_AT_HOME,
        Case.NOTHING: _NOTHING_AT_HOME,
    },
)
_LIST_TURN = Row(
    "list_turn",
    _judge_list_turn,
    {Case.MOVE: Arc("move", actions.move, (_BROWSING,)), Case.EMPTY: Arc("nothing", actions.do_nothing, (_BROWSING,))},
)
_LIST_GESTURE = {
    Case.LEAVE: _UP,
    Case.GO_HOME: _TO_HOME,
    Case.NOTHING: Arc("nothing", actions.do_nothing, (_BROWSING,)),
}
_CONFIRMED = {
    Case.EDIT: Arc("edit", actions.edit, (_EDITING,)),
    Case.TOGGLE: Arc("toggle", actions.toggle, _LISTS),
    Case.RUN: Arc("run", actions.run, _LISTS),
    Case.REFUSED: Arc("refuse", actions.refuse, _LISTS),
}
_CLOSE = Row("always", _judge_always, {Case.ALWAYS: Arc("close", actions.close, _LISTS)})
_CLOSE_IDLE = Row("idle", _judge_idle, {Case.LEAVE: Arc("close", actions.close, _LISTS), Case.GO_HOME: _TO_HOME})
_CHOOSE = Row("always", _judge_always, {Case.ALWAYS: Arc("choose", actions.choose, (_ASKING,))})
_KEEP = Arc("commit", actions.commit, _LISTS)
_UNDO = Arc("revert", actions.revert, _LISTS)

TRANSITIONS: dict[tuple[Mode, type[Event]], Row] = {
    # The home screen: gestures work on what the design names.
    (_HOME, Turn): _HOME_TURN,
    (_HOME, HeldTurn): _HOME_TURN,
    (_HOME, Press): _HOME_PRESS,
    (_HOME, LongPress): _HOME_PRESS,
    (_HOME, DoublePress): _HOME_PRESS,
    (_HOME, IdleExpired): Row("always", _judge_always, {Case.ALWAYS: _NOTHING_AT_HOME}),
    # A list: turning moves the selection, a press goes into what is selected.
    (_BROWSING, Turn): _LIST_TURN,
    (_BROWSING, HeldTurn): _LIST_TURN,
    (_BROWSING, Press): Row(
        "list_press",
        _judge_list_press,
        {
            Case.OPEN: Arc("open_menu", actions.open_menu, (_BROWSING,)),
            Case.EDIT: Arc("edit", actions.edit, (_EDITING,)),
            Case.TOGGLE: Arc("toggle", actions.toggle, (_BROWSING,)),
            Case.RUN: Arc("run", actions.run, _LISTS),
            Case.ASK: Arc("ask", actions.ask, (_ASKING,)),
            Case.HOLD: Arc("want_hold", actions.ask_for_hold, (_HOLDING,)),
            Case.READ: Arc("nothing", actions.do_nothing, (_BROWSING,)),
            Case.LEAVE: _UP,
            Case.REFUSED: Arc("refuse", actions.refuse, (_BROWSING,)),
        },
    ),
    (_BROWSING, LongPress): Row("list_long_press", _judge_list_long_press, _LIST_GESTURE),
    (_BROWSING, DoublePress): Row("list_double_press", _judge_list_double_press, _LIST_GESTURE),
    (_BROWSING, IdleExpired): Row("idle", _judge_idle, {Case.LEAVE: _UP, Case.GO_HOME: _TO_HOME}),
    # An editor: turning changes the draft, a press goes to the next part or keeps it.
    (_EDITING, Turn): Row("always", _judge_always, {Case.ALWAYS: Arc("change", actions.change, (_EDITING,))}),
    (_EDITING, HeldTurn): Row(
        "edit_held_turn",
        _judge_edit_held_turn,
        {
            Case.PARTS: Arc("move_place", actions.move_place, (_EDITING,)),
            Case.ALWAYS: Arc("change", actions.change, (_EDITING,)),
        },
    ),
    (_EDITING, Press): Row(
        "edit_press",
        _judge_edit_press,
        {
            Case.NEXT: Arc("next_place", actions.go_to_next_place, (_EDITING,)),
            Case.COMMIT: _KEEP,
            Case.TAKE: Arc("take_character", actions.take_character, (_EDITING,)),
            Case.FILL: Arc("fill_and_commit", actions.fill_and_commit, _LISTS),
            Case.FULL: Arc("text_full", actions.report_full_text, (_EDITING,)),
            Case.DELETE: Arc("delete_character", actions.delete_character, (_EDITING,)),
        },
    ),
    (_EDITING, LongPress): Row(
        "edit_long_press",
        _judge_edit_long_press,
        {Case.REVERT: _UNDO, Case.COMMIT: _KEEP, Case.NOTHING: Arc("nothing", actions.do_nothing, (_EDITING,))},
    ),
    (_EDITING, DoublePress): Row(
        "always", _judge_always, {Case.ALWAYS: Arc("nothing", actions.do_nothing, (_EDITING,))}
    ),
    (_EDITING, IdleExpired): Row(
        "edit_idle",
        _judge_edit_idle,
        {
            Case.COMMIT: _KEEP,
            Case.REVERT: _UNDO,
            Case.COMMIT_HOME: Arc("commit_and_go_home", actions.commit_and_go_home, (_HOME,)),
            Case.REVERT_HOME: Arc("revert_and_go_home", actions.revert_and_go_home, (_HOME,)),
        },
    ),
    # A question: turning selects yes or no, a press answers, a long press means no.
    (_ASKING, Turn): _CHOOSE,
    (_ASKING, HeldTurn): _CHOOSE,
    (_ASKING, Press): Row("answer", _judge_answer, {**_CONFIRMED, Case.DECLINE: Arc("close", actions.close, _LISTS)}),
    (_ASKING, LongPress): _CLOSE,
    (_ASKING, DoublePress): Row("always", _judge_always, {Case.ALWAYS: Arc("nothing", actions.do_nothing, (_ASKING,))}),
    (_ASKING, IdleExpired): _CLOSE_IDLE,
    # A request to hold: only the long press confirms, everything else closes it.
    (_HOLDING, Turn): _CLOSE,
    (_HOLDING, HeldTurn): _CLOSE,
    (_HOLDING, Press): _CLOSE,
    (_HOLDING, LongPress): Row("held", _judge_hold, _CONFIRMED),
    (_HOLDING, DoublePress): _CLOSE,
    (_HOLDING, IdleExpired): _CLOSE_IDLE,
}
