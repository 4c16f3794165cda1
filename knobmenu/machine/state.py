"""Everything that a device remembers, as one immutable value.

The parts of a state are named tuples: each event makes two or three of them, in a third of the time of a frozen class.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from functools import lru_cache, partial
from typing import TYPE_CHECKING, NamedTuple

from knobmenu.design.kinds import get_initial_value
from knobmenu.design.positions import NumberPosition
from knobmenu.machine.values import Value, Values, get_at, pack

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


class Mode(Enum):
    """What the knob is doing."""

    HOME = "home"
    """The home screen is shown."""
    BROWSING = "browsing"
    """A menu's list is shown."""
    EDITING = "editing"
    """A setting has a draft that turning changes."""
    ASKING = "asking"
    """A question waits for yes or no."""
    HOLDING = "holding"
    """Something waits for the knob to be held."""

    # Each mode is a single object, so its identity is a faster hash; every event looks its mode up.
    __hash__ = object.__hash__


class Place(NamedTuple):
    """An open menu and the entry that is selected in it."""

    menu: str
    """The menu's key."""
    entry: int
    """The selected entry's place among all entries, hidden ones too; -1 while every entry is hidden."""


make_place = lru_cache(4096)(Place)
"""Make a `Place`. Equal ones may be one object; finding it takes less than half of the time that making it takes."""


class NumberDraft(NamedTuple):
    """A draft of a setting whose value is a whole number."""

    setting: str
    """The setting's key."""
    draft: int
    """The value on the screen."""
    before: Values
    """All values when the edit began; reverting goes back to them exactly."""
    place: int = 0
    """The field of a clock or the digit of a number that turning changes, from the left."""


class TextDraft(NamedTuple):
    """A draft of a text."""

    setting: str
    """The setting's key."""
    draft: str
    """The text on the screen."""
    before: Values
    """All values when the edit began; reverting goes back to them exactly."""
    pick: int = 0
    """What is picked: the index of a character; after those, delete and done."""


Editing = NumberDraft | TextDraft
"""What is open while a setting is edited."""


class Asking(NamedTuple):
    """A question that precedes an edit or an action."""

    target: str
    """What it is about: the key of a setting or an action."""
    yes: bool = False
    """Whether yes is selected; at first, no is."""


class Holding(NamedTuple):
    """A request to hold the knob that precedes an edit or an action."""

    target: str
    """What it is about: the key of a setting or an action."""


Focus = Editing | Asking | Holding

# Looking a member of an enumeration up takes as long as all the rest of finding the mode.
_HOME, _BROWSING = Mode.HOME, Mode.BROWSING
_MODES: dict[type[Focus], Mode] = {
    NumberDraft: Mode.EDITING,
    TextDraft: Mode.EDITING,
    Asking: Mode.ASKING,
    Holding: Mode.HOLDING,
}


class State(NamedTuple):
    """A device at one moment. Immutable and hashable; what follows from it is never kept in it."""

    at_ms: int
    """The time of the last event. [ms since power-on]"""
    idle_from_ms: int
    """When the knob was last touched, or idling last moved a level up. [ms since power-on]"""
    values: Values
    """The values of all settings, in the design's order; a draft is not among them unless it applies live."""
    reports: tuple[int, ...]
    """The values of all readouts, in the design's order."""
    path: tuple[Place, ...] = ()
    """The open menus, outermost first; none at home."""
    focus: Focus | None = None
    """What lies over the list or the home screen."""
    last_used: Values = ()
    """For each menu, the entry that was selected when it was left."""
    unsaved: tuple[str, ...] = ()
    """Saved settings with changes that are not saved yet, in order of position."""
    changed_ms: int = 0
    """When the last of them changed. [ms since power-on]"""

    @property
    def mode(self) -> Mode:
        """What the knob is doing."""
        if self.focus is not None:
            return _MODES[type(self.focus)]
        return _BROWSING if self.path else _HOME


# Copies for the changes that every touch at `at_ms` makes. An event makes one of them, so they are made as the tuples
# that they are: the class's own constructor takes half as long again, and `_replace` several times as long.

_new_state = partial(tuple.__new__, State)


def touch(state: State, at_ms: int) -> State:
    """Return the same state at the time of a touch."""
    return _new_state((at_ms, at_ms, *state[2:]))


def set_focus(state: State, focus: Focus | None, at_ms: int) -> State:
    """Return the state with another focus, or none, after a touch."""
    if focus is state.focus:
        return state
    _, _, values, reports, path, _, last_used, unsaved, changed_ms = state
    return _new_state((at_ms, at_ms, values, reports, path, focus, last_used, unsaved, changed_ms))


def set_path(state: State, path: tuple[Place, ...], at_ms: int) -> State:
    """Return the state with another path after a touch that opened a menu or moved the selection."""
    _, _, values, reports, _, focus, last_used, unsaved, changed_ms = state
    return _new_state((at_ms, at_ms, values, reports, path, focus, last_used, unsaved, changed_ms))


def leave_path(state: State, path: tuple[Place, ...], at_ms: int, last_used: Values) -> State:
    """Return the state with a shorter path after a touch that left menus, and with the entries at which they reopen."""
    _, _, values, reports, _, focus, _, unsaved, changed_ms = state
    return _new_state((at_ms, at_ms, values, reports, path, focus, last_used, unsaved, changed_ms))


def set_values(state: State, values: Values, unsaved: tuple[str, ...], at_ms: int) -> State:
    """Return the state with other values, and without a focus, after a touch."""
    _, _, _, reports, path, _, last_used, before, changed_ms = state
    changed_ms = changed_ms if unsaved is before else at_ms
    return _new_state((at_ms, at_ms, values, reports, path, None, last_used, unsaved, changed_ms))


def make_initial_state(design: Design) -> State:
    """Return the state of a new device at power-on: at home, with initial values."""
    return State(
        at_ms=0,
        idle_from_ms=0,
        values=pack(get_initial_value(setting) for setting in design.settings),
        reports=tuple(readout.initial for readout in design.readouts),
        last_used=pack(0 for _ in design.menus),
    )


def sort_keys(design: Design, keys: Iterable[str]) -> tuple[str, ...]:
    """Return each of some keys of settings once, in order of position, as a bit set has them."""
    return tuple(sorted(set(keys), key=design.index.positions.__getitem__))


def get_committed_values(state: State) -> Values:
    """Return the values of all settings without the changes of a live draft: what memory has to hold."""
    return state.focus.before if isinstance(state.focus, (NumberDraft, TextDraft)) else state.values


def strip_time(state: State) -> State:
    """Return the timeless part of a state: at time 0, with nothing waiting to be saved.

    Two states with the same timeless part answer every gesture alike; they differ in when they idle and save.
    """
    return state._replace(at_ms=0, idle_from_ms=0, unsaved=(), changed_ms=0)


def get_value(design: Design, state: State, key: str) -> Value:
    """Return the present value of a setting or readout.

    Raises:
        KeyError: The design has no setting and no readout of this key.
    """
    position = design.index.positions[key]
    if position < len(design.settings):
        return get_at(state.values, position)
    return state.reports[position - len(design.settings)]


def get_number_at(design: Design, state: State, position: NumberPosition) -> int:
    """Return the whole number at a position of the design's settings and then readouts; for conditions."""
    if position < len(design.settings):
        return get_at(state.values, position)
    return state.reports[position - len(design.settings)]


def find_language(design: Design, state: State) -> int:
    """Return the index of the current language among the design's languages."""
    return get_at(state.values, design.index.numbers[design.language]) if design.language else 0
