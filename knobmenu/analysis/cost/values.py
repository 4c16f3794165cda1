"""What each value of a setting costs, from where the setting can be turned: plain, held, and by fast turning."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import attrs

from knobmenu.analysis.cost.editors import find_least_commit, find_place_on_track, make_value_track
from knobmenu.analysis.cost.fast import is_accelerated, turn_to_value
from knobmenu.analysis.cost.gestures import PRESS, Gesture, Tally, Way, count_gestures
from knobmenu.analysis.cost.track import Track, find_least_turning
from knobmenu.analysis.cost.weights import Weights
from knobmenu.design.domains import count_values, get_domain
from knobmenu.design.kinds import Setting
from knobmenu.design.settings import Choice, Digits, Number, Scale, Switch, TextSetting
from knobmenu.machine.actions import COARSE
from knobmenu.machine.changing import get_number
from knobmenu.machine.state import Editing, NumberDraft, State, get_value
from knobmenu.machine.values import Value

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

MOST_LISTED = 401
"""Values up to which each one is counted."""

SPREAD = 101
"""Of more values so many, evenly spaced, with both ends."""

SPREAD_DIGITS = 21
"""The same for numbers edited digit by digit, some of which are searched for."""


@attrs.frozen
class ValueCost:
    """The cost of setting one value."""

    value: Value
    plain: Way | None
    """Turning one detent at a time, without holding the knob; None where that cannot reach the value."""
    held: Way | None
    """Turning while held, too; None where the knob does not do so, or a limit is in the way."""
    fast: Way | None
    """Turning so fast that detents count more; None where the setting does not accelerate."""

    @property
    def least(self) -> Way | None:
        """The way of fewest gestures without fast turning."""
        ways = [way for way in (self.plain, self.held) if way is not None]
        return min(ways, key=lambda way: count_gestures(way).gestures, default=None)

    @property
    def fewest(self) -> Tally | None:
        """The fewest gestures without fast turning."""
        return None if self.least is None else count_gestures(self.least)


@attrs.frozen
class ValueCosts:
    """The costs of a setting's values."""

    start: Value
    """The value from which it is turned."""
    count: int
    """How many values the setting has."""
    listed: tuple[ValueCost, ...]
    """Every value, or evenly spaced ones and both ends where there are too many."""

    @property
    def whole(self) -> bool:
        """Whether every value is listed."""
        return len(self.listed) == self.count

    @property
    def reachable(self) -> list[ValueCost]:
        """The listed values that can be set, other than the present one."""
        return [item for item in self.listed if item.fewest is not None and item.value != self.start]

    @property
    def worst(self) -> ValueCost | None:
        """The listed value that takes the most gestures."""
        return max(self.reachable, key=lambda item: item.fewest.gestures if item.fewest else 0, default=None)

    @property
    def mean(self) -> float:
        """The mean number of gestures over the listed values, all equally likely."""
        counts = [item.fewest.gestures for item in self.reachable if item.fewest]
        return sum(counts) / len(counts) if counts else 0.0


def measure_value_cost(design: Design, state: State, key: str, value: Value, weights: Weights) -> ValueCost:
    """Count what a value costs from a state in which its setting can be turned: its editor, or home.

    A switch has nothing to turn, so for it all ways are empty.
    """
    if not isinstance(state.focus, Editing):
        return _measure_home_cost(design, state, key, value, weights)
    held = design.knob.turns_while_held
    return ValueCost(
        value,
        find_least_commit(design, state, state.focus, value, weights, held=False),
        find_least_commit(design, state, state.focus, value, weights) if held else None,
        _find_fast_way(design, state, key, value, (PRESS,)),
    )


def measure_value_costs(design: Design, state: State, key: str, weights: Weights) -> ValueCosts | None:
    """Count what the values of a setting cost from a state in which it can be turned.

    Returns:
        None for a text, whose values are too many to list, and for a switch, which has no other than the next.
    """
    setting = design.index.settings[key]
    if isinstance(setting, TextSetting | Switch):
        return None
    domain = get_domain(design, key)
    start = get_value(design, state, key)
    count = count_values(design, key)
    listed = (measure_value_cost(design, state, key, value, weights) for value in _spread(setting, domain, count))
    return ValueCosts(start, count, tuple(listed))


def _spread(setting: Setting, domain: Sequence[int], count: int) -> Iterator[int]:
    if count <= MOST_LISTED and not isinstance(setting, Digits):
        yield from domain
        return
    most = min(SPREAD_DIGITS if isinstance(setting, Digits) else SPREAD, count)
    places = sorted({place * (count - 1) // (most - 1) for place in range(most)})
    yield from (domain[place] for place in places)


def _measure_home_cost(design: Design, state: State, key: str, value: Value, weights: Weights) -> ValueCost:
    """Count what a value costs at home, where each detent takes effect."""
    home, setting = design.home, design.index.settings[key]
    if not isinstance(setting, Number | Scale | Choice | Digits) or not isinstance(value, int):
        return ValueCost(value, None, None, None)
    start = find_place_on_track(design, state.values, setting, get_number(design, state.values, key))
    end = find_place_on_track(design, state.values, setting, value)
    plain: Way | None = None
    held: Way | None = None
    if start is not None and end is not None:
        track = make_value_track(design, state.values, setting, held=False)
        turned = find_least_turning(track, start, end, weights)
        if home.turn == key:
            plain = turned
        if home.held_turn == key:
            held = _hold_at_home(setting, track, start, end, weights, plain)
    return ValueCost(value, plain, held, _find_fast_way(design, state, key, value, ()) if home.turn == key else None)


def _hold_at_home(
    setting: Number | Scale | Choice | Digits, track: Track, start: int, end: int, weights: Weights, plain: Way | None
) -> Way | None:
    if isinstance(setting, Choice | Digits):
        return tuple(Gesture("held", run.amount) for run in find_least_turning(track, start, end, weights))
    if plain is not None:
        return find_least_turning(attrs.evolve(track, coarse=COARSE), start, end, weights)
    # Held turns alone: ten steps each, and the ends.
    before: dict[int, tuple[int, int] | None] = {start: None}
    waiting = deque([start])
    while waiting and end not in before:
        place = waiting.popleft()
        for detent in (1, -1):
            after = place + detent * COARSE
            after = after % track.size if track.wraps else min(max(after, 0), track.size - 1)
            if after not in before:
                before[after] = (place, detent)
                waiting.append(after)
    if end not in before:
        return None
    way: list[Gesture] = []
    while (step := before[end]) is not None:
        end, detent = step
        way.append(Gesture("held", detent))
    return tuple(reversed(way))


def _find_fast_way(design: Design, state: State, key: str, value: Value, leave: Way) -> Way | None:
    """Find the fastest worthwhile turning to a value; None if the setting does not accelerate, or cannot have it now.

    The first detent is worth one step, as after a pause.
    """
    setting = design.index.settings[key]
    if not isinstance(value, int) or not is_accelerated(setting, design.knob):
        return None
    focus = state.focus
    draft = focus.draft if isinstance(focus, NumberDraft) else get_number(design, state.values, key)
    try:
        turning = turn_to_value(design, state.values, setting, draft, value, held=False, moving=False)
    except OverflowError:
        return None
    return None if turning is None else (*turning, *leave)
