"""From abstract moves to gestures that can be played: a simulated hand follows a way that a search found."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from typing import assert_never

import attrs

from knobmenu.analysis.abstraction import Abstraction, Relation
from knobmenu.analysis.cost.editors import find_least_commit
from knobmenu.analysis.cost.gestures import DOUBLE, HOLD, PRESS, WAIT, Gesture, Kind, perform, time_gestures
from knobmenu.analysis.cost.weights import Weights
from knobmenu.analysis.reachability import Move, Reached
from knobmenu.analysis.sites import ALWAYS, TURNS, Site, Way
from knobmenu.analysis.space import walk_positions
from knobmenu.design.conditions import Resolved, holds
from knobmenu.design.kinds import Limited
from knobmenu.design.limits import count_steps
from knobmenu.design.settings import Choice, Digits, Number, Scale, Switch
from knobmenu.design.whole import Design
from knobmenu.machine.changing import find_bounds, get_number
from knobmenu.machine.state import Asking, Editing, Holding, NumberDraft, State, get_number_at, make_initial_state
from knobmenu.machine.walking import is_shown
from knobmenu.trace import format_trace

_EVEN = Weights(turn=1, held=1, press=1, hold=1, double=1, wait=1000)

_GESTURES = {"press": PRESS, "long_press": HOLD, "double_press": DOUBLE, "idle": WAIT}


class LostError(Exception):
    """The machine does not follow a way: a limitation of the analysis, never an error of the design."""


@attrs.define
class Hand:
    """A simulated user of a device, who performs gestures; they are recorded."""

    design: Design
    state: State = attrs.field(init=False)
    gestures: list[Gesture] = attrs.field(factory=list)

    def __attrs_post_init__(self) -> None:
        """Switch a new device on."""
        self.state = make_initial_state(self.design)

    def do(self, *gestures: Gesture) -> None:
        """Perform gestures."""
        for gesture in gestures:
            self.state, _ = perform(self.design, self.state, gesture)
            self.gestures.append(gesture)

    def write_trace(self) -> str:
        """Write the gestures as a trace for ``knobmenu play``; empty if the design leaves no time to do them."""
        try:
            events = time_gestures(self.design, make_initial_state(self.design), self.gestures)
        except ValueError:
            return ""
        return " ".join(format_trace(events).split("\n")).strip()

    def meet(self, condition: Resolved) -> None:
        """Make the device report whatever a condition still needs."""
        if self._holds(condition, {}):
            return
        design = self.design
        positions = sorted({at for at in walk_positions(condition) if at >= len(design.settings)})
        abstraction = Abstraction(design)
        readouts = [design.readouts[position - len(design.settings)] for position in positions]
        present = [get_number_at(design, self.state, position) for position in positions]
        each = [(at, *abstraction.list_readout_values(part.key)) for at, part in zip(present, readouts, strict=True)]
        able = [
            values for values in product(*each) if self._holds(condition, dict(zip(positions, values, strict=True)))
        ]
        if not able:
            raise LostError
        wanted = min(able, key=lambda values: sum(one != at for one, at in zip(values, present, strict=True)))
        for part, value, at in zip(readouts, wanted, present, strict=True):
            if value != at:
                self.do(Gesture("report", value, key=part.key))

    def _holds(self, condition: Resolved, reported: dict[int, int]) -> bool:
        return holds(
            condition, lambda at: reported[at] if at in reported else get_number_at(self.design, self.state, at)
        )

    def select(self, entry: int) -> None:
        """Turn to an entry of the list that is open."""
        place = self.state.path[-1]
        menu = self.design.index.menus[place.menu]
        if place.menu in self.design.index.conditional:
            there = [at for at in range(len(menu.entries)) if is_shown(self.design, self.state, place.menu, at)]
        else:
            there = range(len(menu.entries))  # type: ignore[assignment]
        if entry not in there or place.entry not in there:
            raise LostError
        self.turn(_choose_shorter(there.index(entry) - there.index(place.entry), len(there), menu.ends == "wrap"))

    def press(self) -> Hand:
        """Press the knob."""
        self.do(PRESS)
        return self

    def edit(self, entry: int, low: int, high: int) -> None:
        """Set the setting of an entry to the nearest value from `low` to `high`.

        Raises:
            LostError: Its limits do not allow that now.
        """
        self.select(entry)
        self.do(PRESS)
        self.confirm()
        if isinstance(self.state.focus, NumberDraft):
            self.keep(self.state.focus, low, high)

    def nudge(self, held: bool = False) -> None:
        """Turn by one detent, in a direction that changes something."""
        kind: Kind = "held" if held else "turn"
        for detents in (1, -1):
            state, _ = perform(self.design, self.state, Gesture(kind, detents))
            if state.values != self.state.values or state.focus != self.state.focus:
                self.do(Gesture(kind, detents))
                return
        raise LostError

    def write(self) -> None:
        """Enter the character that is picked in the editor of a text.

        Raises:
            LostError: The text has no room.
        """
        before = self.state.focus
        self.do(PRESS)
        after = self.state.focus
        if isinstance(before, Editing) and isinstance(after, Editing) and before.draft == after.draft:
            raise LostError

    def finish(self) -> None:
        """Commit the draft of an open editor, if there is one."""
        focus = self.state.focus
        if not isinstance(focus, Editing):
            return
        found = find_least_commit(self.design, self.state, focus, focus.draft, _EVEN, held=False)
        if found is None:
            raise LostError
        self.do(*found)

    def turn(self, detents: int) -> None:
        """Turn by detents; 0 does nothing."""
        if detents:
            self.do(Gesture("turn", detents))

    def start(self, way: Way) -> None:
        """Start a way: perform its gesture or press, without the confirmation."""
        self.meet(way.when)
        if way.by == "entry":
            self.select(way.entry)
            self.do(PRESS)
        else:
            self.do(PRESS if way.by == "empty" else _GESTURES[way.by])

    def confirm(self) -> None:
        """Answer yes to a question; hold the knob if that is requested."""
        if isinstance(self.state.focus, Asking):
            self.turn(0 if self.state.focus.yes else 1)
            self.do(PRESS)
        elif isinstance(self.state.focus, Holding):
            self.do(HOLD)

    def take(self, reached: Reached, move: Move, before: int, after: int) -> None:
        """Take one move of a search.

        Args:
            reached: The search.
            move: The move.
            before: The joint state that it leads from.
            after: The joint state that it leads to.
        """
        way, space = move.way, reached.model.space
        if way.target not in self.design.index.settings:
            self.start(way)
            self.confirm()
            return
        ((place, relation),) = move.operations
        variable = space.variables[place]
        start, end = space.split_number(before)[place], space.split_number(after)[place]
        if way.by == "held_turn" and isinstance(self.design.index.settings[way.target], Limited):
            self._hold_and_turn(reached.model.space.abstraction, way.target, variable.keys, variable.states[end])
            return
        steps = [end] if relation is None else _find_least_steps(variable.assignments[way.target], start, end)
        targets = [variable.find_class(way.target, step) for step in steps]
        if way.by in TURNS:
            for item in targets:
                self._adjust(way, item.low, item.high)
            return
        self.start(way)
        self.confirm()
        for item in targets[:-1]:
            if isinstance(self.state.focus, NumberDraft):
                self.dial(self.state.focus, item.low, item.high)
        if isinstance(self.state.focus, NumberDraft):
            self.keep(self.state.focus, targets[-1].low, targets[-1].high)

    def keep(self, focus: NumberDraft, low: int, high: int) -> None:
        """Commit the nearest value from `low` to `high` in the editor that is open with a draft."""
        value = self._choose_nearest(focus.setting, focus.draft, low, high)
        found = find_least_commit(self.design, self.state, focus, value, _EVEN, held=False)
        if found is None:
            raise LostError
        self.do(*found)

    def dial(self, focus: NumberDraft, low: int, high: int) -> None:
        """Turn a draft to the nearest value from `low` to `high`, and leave the editor open."""
        setting = self.design.index.settings[focus.setting]
        value = self._choose_nearest(focus.setting, focus.draft, low, high)
        if isinstance(setting, Limited):
            self.turn(count_steps(setting, focus.draft, value))
        else:
            found = find_least_commit(self.design, self.state, focus, value, _EVEN, held=False)
            if found is None:
                raise LostError
            self.do(*found[:-1])

    def hear(self, key: str, value: int) -> Hand:
        """Make the device report a value."""
        self.do(Gesture("report", value, key=key))
        return self

    def _adjust(self, way: Way, low: int, high: int) -> None:
        """Turn the value that turning, or turning while held, changes at home."""
        key = way.target
        kind: Kind = "turn" if way.by == "turn" else "held"
        setting = self.design.index.turnable[key]
        present = get_number(self.design, self.state.values, key)
        value = self._choose_nearest(key, present, low, high)
        match setting:
            case Number() | Scale():
                detents = count_steps(setting, present, value)
            case Switch():
                detents = 1 if value else -1
            case Choice() | Digits():
                detents = value - present
            case _:
                assert_never(setting)
        if detents:
            self.do(Gesture(kind, detents))

    def _hold_and_turn(self, abstraction: Abstraction, key: str, keys: Sequence[str], wanted: Sequence[int]) -> None:
        variable = abstraction.get_variable(key)
        for detents in (1, -1):
            state, _ = perform(self.design, self.state, Gesture("held", detents))
            values = {key: get_number(self.design, state.values, key) for key in keys}
            if variable.states[variable.find_state(values)] == tuple(wanted):
                self.do(Gesture("held", detents))
                return
        raise LostError

    def _choose_nearest(self, key: str, present: int, low: int, high: int) -> int:
        """Return the value in a class that is nearest to the present one and within the present limits."""
        if isinstance(self.design.index.settings[key], Limited):
            least, most = find_bounds(self.design, self.state.values, key)
            low, high = max(low, least), min(high, most)
        return min(max(present, low), high)


def _choose_shorter(distance: int, size: int, wraps: bool) -> int:
    """Return the shorter of the two ways around a ring, or the only way along a list that does not wrap."""
    if not wraps:
        return distance
    ahead = distance % size
    return ahead if ahead <= size - ahead else ahead - size


def _find_least_steps(relation: Relation, start: int, end: int) -> list[int]:
    """Return the fewest single assignments from one state to another."""
    assert relation is not None
    before = {start: start}
    ahead = [start]
    for state in ahead:  # grows while it is walked
        for following in relation[state]:
            if following not in before:
                before[following] = state
                ahead.append(following)
    steps = [end]
    while before[steps[-1]] != start:
        steps.append(before[steps[-1]])
    return steps[::-1]


def walk_to(reached: Reached, layer: int, site: Site, state: int) -> Hand:
    """Walk a shortest way to an abstract state that a search reached.

    Raises:
        LostError: The machine does not go that way.
    """
    design = reached.model.space.abstraction.design
    hand = Hand(design)
    before = reached.model.space.join_number([0] * len(reached.model.space.variables))
    for move, after in reached.trace_moves(layer, site, state):
        hand.take(reached, move, before, after)
        before = after
    if tuple(place.menu for place in hand.state.path) != site:
        raise LostError
    return hand


def meet_all(hand: Hand, conditions: Iterable[Resolved]) -> Hand:
    """Make the device report what several conditions need together."""
    parts = tuple(condition for condition in conditions if condition != ALWAYS)
    if parts:
        hand.meet(Resolved("all", parts=parts))
    return hand
