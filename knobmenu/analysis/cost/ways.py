"""Ways of least cost, by a search over the machine itself.

The nodes are states of the device without their times and without the values that cannot matter. The edges are what a
hand does until something else than a selection or a draft changes: turn to an entry and press it, turn a draft to a
value and keep it, leave. Every edge is done by `advance`, so a way is what the device does and not a model of it.

What a way may not do: run another action than the one it is for. Nobody resets a device to get home.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property
from heapq import heappop, heappush
from typing import TYPE_CHECKING, Any

import attrs

from knobmenu.analysis.cost.candidates import has_too_many, walk_candidates
from knobmenu.analysis.cost.cone import Cone, Reading, leads_anywhere
from knobmenu.analysis.cost.editors import Turned, find_place_on_track, list_exits, make_value_track, walk_commit_ways
from knobmenu.analysis.cost.fast import is_accelerated, list_times, turn_to_value
from knobmenu.analysis.cost.gestures import DOUBLE, HOLD, PRESS, WAIT, Gesture, Kind, Way, perform, perform_all
from knobmenu.analysis.cost.track import Track, find_least_turning, weigh_turning
from knobmenu.analysis.cost.weights import Weights
from knobmenu.design.conditions import Resolved
from knobmenu.design.domains import find_thresholds, get_domain
from knobmenu.design.kinds import Setting
from knobmenu.design.settings import Number, Scale
from knobmenu.machine.actions import COARSE
from knobmenu.machine.changing import get_number
from knobmenu.machine.effects import ActionRun, Committed, Effect
from knobmenu.machine.state import Asking, Editing, Holding, NumberDraft, Place, State, get_number_at
from knobmenu.machine.values import Value, get_at
from knobmenu.machine.walking import is_shown

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

MOST_STATES = 50_000
"""States after which a search gives up and says so."""

Names = Callable[[State, tuple[Effect, ...]], Iterable[str]]
"""Names what is reached: by a state, and by what the device was asked to do on the last step to it."""


@attrs.frozen
class Found:
    """The least way to a goal."""

    weight: int
    way: Way
    state: State
    """The state after it. Its times are those of gestures that follow each other immediately."""
    proved: bool
    """Whether no way of less weight can exist."""


@attrs.frozen
class Answer:
    """What a search found."""

    found: dict[str, Found]
    """For each goal that can be reached, the least way."""
    states: int
    """States looked at."""
    whole: bool
    """Whether the search was exhaustive: a goal that was not found cannot be reached."""


def make_names_of_reached(design: Design) -> Names:
    """Make the function that names the settings and actions that are reached.

    A setting is reached when its editor is open, or at home where turning changes it; a switch when it is turned
    over; an action when it is done; a menu when its list is shown.
    """
    at_home = tuple(key for key in (design.home.turn, design.home.held_turn) if key)

    def names(state: State, effects: tuple[Effect, ...]) -> Iterator[str]:
        if state.focus is None:
            if state.path:
                yield state.path[-1].menu
            else:
                yield from at_home
        elif isinstance(state.focus, Editing):
            yield state.focus.setting
        for effect in effects:
            if isinstance(effect, ActionRun | Committed):
                yield effect.key

    return names


@attrs.frozen(slots=False, kw_only=True)
class Search:
    """One search of a design, from a state on."""

    design: Design
    reading: Reading
    weights: Weights
    start: State
    cone: Cone
    """What may be changed on the way, and the menus that may be opened."""
    pressed: frozenset[str] | None = None
    """Settings, actions and menus that may be pressed besides; None: all."""
    compared: tuple[Resolved, ...] = ()
    """Comparisons that matter besides those of the design."""
    values: Mapping[str, Value] = attrs.field(factory=dict)
    """Values of settings that are tried besides."""
    fast: bool = False
    """Whether a value can be turned to so fast that detents count more, the first one in a direction included."""

    @cached_property
    def positions(self) -> tuple[int, ...]:
        """Where the values stand that tell states apart."""
        return tuple(self.design.index.positions[key] for key in sorted(self.cone.settings))

    @cached_property
    def thresholds(self) -> Mapping[str, list[int]]:
        """For each key of the cone, the values at which a condition changes its result."""
        found = {key: set(self.reading.thresholds.get(key, ())) for key in (*self.cone.settings, *self.cone.readouts)}
        positions = self.design.index.positions
        for key in found:
            compared = [item for item in self.compared if item.position == positions[key]]
            if compared:
                found[key].update(find_thresholds(get_domain(self.design, key), compared))
        return {key: sorted(values) for key, values in found.items()}

    @cached_property
    def tied(self) -> frozenset[str]:
        """Settings of the cone that a limit ties to others, so that every value of theirs matters."""
        return frozenset(key for key in self.cone.settings if any(True for _ in self.reading.walk_bound(key)))

    @property
    def held(self) -> bool:
        """Whether the knob turns while it is held."""
        return self.design.knob.turns_while_held

    def _list_times(self, setting: Setting) -> tuple[int, ...]:
        """Return the steps that a plain detent can be worth in a setting, those of the fastest first."""
        return list_times(self.design.knob) if self.fast and is_accelerated(setting, self.design.knob) else (1,)

    def _turn_fast(self, state: State, setting: Setting, start: int, value: Value, held: bool) -> Iterator[Way]:
        """Return the fewest detents from one value of a setting to another, if it accelerates.

        Raises:
            OverflowError: The setting has too many values.
        """
        if self.fast and isinstance(value, int) and is_accelerated(setting, self.design.knob):
            way = turn_to_value(self.design, state.values, setting, start, value, held=held, moving=True)
            if way is not None:
                yield way

    @property
    def rows(self) -> int:
        """The entries that a held detent moves in a list; 0 if the knob does not turn while held."""
        return max(self.design.display.rows, 2) if self.held else 0

    @cached_property
    def remembering(self) -> bool:
        """Whether a list may have changed when it opens again."""
        return bool(self.cone.settings or self.cone.readouts)

    @cached_property
    def last_used(self) -> tuple[int, ...]:
        """Positions of the menus whose last used entry tells states apart."""
        return tuple(
            self.design.index.menu_positions[menu.key]
            for menu in self.design.menus
            if self.remembering and menu.reopens == "last-used" and menu.key in self.cone.menus
        )

    @cached_property
    def proves(self) -> bool:
        """Whether the result is certain to be the least: every value that could be worth setting is tried."""
        return not any(
            has_too_many(self.design.index.settings[key]) and self.thresholds[key] for key in self.cone.settings
        )

    # The nodes.

    def make_key(self, state: State) -> Any:
        """Return the part of a state that matters to the search."""
        focus = state.focus
        values = state.values
        return (
            state.path,
            focus._replace(before=()) if isinstance(focus, Editing) else focus,
            tuple([get_at(values, position) for position in self.positions]),
            tuple([get_at(state.last_used, position) for position in self.last_used]),
            state.reports if self.cone.readouts else (),
        )

    def _leads_nowhere(self, effects: tuple[Effect, ...]) -> bool:
        """Return whether a setting was changed that no condition on the way reads, which brings the goal no nearer."""
        return any(isinstance(effect, Committed) and effect.key not in self.cone.settings for effect in effects)

    def _leads(self, target: str) -> bool:
        return self.pressed is None or leads_anywhere(self.design, target, self.cone, self.pressed)

    # The edges.

    def walk_edges(self, state: State) -> Iterator[tuple[int, Way, State, tuple[Effect, ...]]]:
        """Walk the gestures that can come next, each with its weight, the state after it and the effects."""
        focus = state.focus
        if focus is None:
            yield from self._walk_list_edges(state) if state.path else self._walk_home_edges(state)
        elif isinstance(focus, Editing):
            yield from self._walk_editor_edges(state, focus)
        elif isinstance(focus, Asking):
            turn: Way = () if focus.yes else (Gesture("turn", 1),)
            yield self._perform(state, (*turn, PRESS))
        else:
            yield self._perform(state, (HOLD,))
        if focus is not None and state is self.start:
            yield self._perform(state, (HOLD,))
            if isinstance(focus, Holding):
                yield self._perform(state, (PRESS,))
            if isinstance(focus, Asking):
                yield self._perform(state, (Gesture("turn", -1), PRESS))
        yield from self._walk_reports(state)

    def _perform(self, state: State, way: Way) -> tuple[int, Way, State, tuple[Effect, ...]]:
        after, effects = perform_all(self.design, state, way)
        return self.weights.weigh_way(way), way, after, effects

    def _walk_presses(self, state: State) -> Iterator[Gesture]:
        yield HOLD
        if self.design.knob.double_press_ms:
            yield DOUBLE
        if self.design.idle.after_ms and (state.path or state.focus is not None):
            yield WAIT

    def _walk_home_edges(self, state: State) -> Iterator[tuple[int, Way, State, tuple[Effect, ...]]]:
        home = self.design.home
        for gesture, target in ((PRESS, home.press), (HOLD, home.long_press), (DOUBLE, home.double_press)):
            if target and (self._leads(target)):
                yield self._perform(state, (gesture,))
        turns: tuple[tuple[Kind, str], ...] = (("turn", home.turn), ("held", home.held_turn))
        for kind, target in turns:
            if not target or target not in self.cone.settings:
                continue
            setting = self.design.index.settings[target]
            coarse = isinstance(setting, Number | Scale) and (kind == "held" or home.held_turn == target)
            if isinstance(setting, Turned) and not coarse and target not in self.tied:
                track = make_value_track(self.design, state.values, setting, held=False)
                present = get_number(self.design, state.values, target)
                place = find_place_on_track(self.design, state.values, setting, present)
                assert place is not None
                for value in self._walk_candidates(state, setting):
                    end = find_place_on_track(self.design, state.values, setting, value)
                    if end is not None and end != place:
                        turning = find_least_turning(track, place, end, self.weights)
                        yield self._perform(state, tuple(Gesture(kind, run.amount) for run in turning))
                        for way in self._turn_fast(state, setting, present, value, held=False):
                            yield self._perform(state, way)
                continue
            for amount in (1, -1):
                for times in self._list_times(setting) if kind == "turn" else (1,):
                    yield self._perform(state, (Gesture(kind, amount, times),))

    def _walk_list_edges(self, state: State) -> Iterator[tuple[int, Way, State, tuple[Effect, ...]]]:
        design, place = self.design, state.path[-1]
        menu = design.index.menus[place.menu]
        conditional = place.menu in design.index.conditional
        if place.entry < 0:
            for gesture in (PRESS, *self._walk_presses(state)):
                yield self._perform(state, (gesture,))
            return
        shown = [e for e in range(len(menu.entries)) if is_shown(design, state, place.menu, e)] if conditional else None
        count = len(menu.entries) if shown is None else len(shown)
        here = place.entry if shown is None else shown.index(place.entry)
        track = Track(count, menu.ends == "wrap", self.rows)
        # Where the list may have changed when it opens again, it can pay to select another entry before leaving it.
        anywhere = self.remembering and conditional and menu.reopens == "last-used"
        for index in range(count):
            entry = index if shown is None else shown[index]
            target = menu.entries[entry].target
            pressed = self._leads(target)
            if not pressed and not anywhere:
                continue
            turning = find_least_turning(track, here, index, self.weights) if index != here else ()
            weight = weigh_turning(track, here, index, self.weights)
            selected = state
            if index != here:
                selected = state._replace(path=(*state.path[:-1], Place(place.menu, entry)))
            if pressed:
                after, effects = perform(design, selected, PRESS)
                yield weight + self.weights.press, (*turning, PRESS), after, effects
            if anywhere or index == here:
                for gesture in self._walk_presses(selected):
                    after, effects = perform(design, selected, gesture)
                    yield weight + self.weights.weigh(gesture), (*turning, gesture), after, effects
        if not anywhere:
            for gesture in self._walk_presses(state):
                after, effects = perform(design, state, gesture)
                yield self.weights.weigh(gesture), (gesture,), after, effects

    def _walk_editor_edges(self, state: State, focus: Editing) -> Iterator[tuple[int, Way, State, tuple[Effect, ...]]]:
        key = focus.setting
        if key not in self.cone.settings:
            if state is self.start:
                yield self._perform(state, (PRESS,))
            return
        setting = self.design.index.settings[key]
        if key in self.tied:
            gestures = [Gesture("turn", amount, times) for amount in (1, -1) for times in self._list_times(setting)]
            gestures.append(PRESS)
            if self.held:
                gestures += [Gesture("held", 1), Gesture("held", -1)]
            for gesture in (
                *gestures,
                *(leave for leave in list_exits(self.design, key, waits=True) if leave is not PRESS),
            ):
                yield self._perform(state, (gesture,))
            return
        values = (self.values[key],) if key in self.values else ()
        for value in (*values, *self._walk_candidates(state, setting)):
            fast: list[Way] = []
            if isinstance(focus, NumberDraft):
                fast += self._turn_fast(state, setting, focus.draft, value, self.held)
            for leave in list_exits(self.design, key, waits=True):
                for turning in fast:
                    yield self._perform(state, (*turning, leave))
                for way in walk_commit_ways(self.design, state, focus, value, leave, self.weights):
                    yield self._perform(state, way)

    def _walk_candidates(self, state: State, setting: Setting) -> Iterator[int]:
        """Walk the values of a setting that are worth setting."""
        reach = max(COARSE if self.held else 1, *self._list_times(setting))
        return walk_candidates(self.design, state.values, setting, self.thresholds[setting.key], reach)

    def _walk_reports(self, state: State) -> Iterator[tuple[int, Way, State, tuple[Effect, ...]]]:
        for key in sorted(self.cone.readouts):
            present = get_number_at(self.design, state, self.design.index.numbers[key])
            thresholds = self.thresholds[key]
            # One value of each class; all values of a class are alike to every condition.
            for value in (*(cut - 1 for cut in thresholds[:1]), *thresholds):
                if bisect_right(thresholds, value) != bisect_right(thresholds, present):
                    yield self._perform(state, (Gesture("report", value, key=key),))

    # The search.

    def run(self, goals: Iterable[str], names: Names, most_states: int = MOST_STATES) -> Answer:
        """Search until every goal is reached, nothing is left, or too many states were visited."""
        start, targets = self.start, set(goals)
        first = self.make_key(start)
        best = {first: 0}
        back: dict[Any, tuple[Any, Way]] = {}
        # A goal may be reached by what happens on an edge, so it is kept with the edge that reached it.
        reached: dict[str, tuple[int, Any, Way, State]] = {
            name: (0, None, (), start) for name in names(start, ()) if name in targets
        }
        heap: list[tuple[int, int, Any, State]] = [(0, 0, first, start)]
        tick, looked, whole = 0, 0, True
        open_goals = targets - reached.keys()
        while heap:
            weight, _, node, state = heappop(heap)
            if not open_goals and weight >= max(item[0] for item in reached.values()):
                break
            if weight > best[node]:
                continue
            looked += 1
            if looked > most_states:
                whole = False
                break
            for more, way, after, effects in self.walk_edges(state):
                total = weight + more
                for name in names(after, effects):
                    if name in targets and (name not in reached or total < reached[name][0]):
                        reached[name] = (total, node, way, after)
                        open_goals.discard(name)
                if any(isinstance(effect, ActionRun) for effect in effects):
                    continue  # no way goes on behind an action
                if not (state is start and isinstance(start.focus, Editing)) and self._leads_nowhere(effects):
                    continue
                following = self.make_key(after)
                if following not in best or total < best[following]:
                    best[following] = total
                    back[following] = (node, way)
                    tick += 1
                    heappush(heap, (total, tick, following, after))
        # What was reached no later than the search got is the least; of the rest that is not known.
        sure = {name: item for name, item in reached.items() if whole or item[0] <= weight}
        return Answer({name: self._assemble(item, back) for name, item in sure.items()}, looked, whole)

    def _assemble(self, item: tuple[int, Any, Way, State], back: dict[Any, tuple[Any, Way]]) -> Found:
        weight, node, way, state = item
        ways = [way]
        while node in back:
            node, before = back[node]
            ways.append(before)
        return Found(weight, tuple(gesture for part in reversed(ways) for gesture in part), state, self.proves)
