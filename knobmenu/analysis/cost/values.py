"""What each value of a setting costs, from where the setting can be turned: plain, held, and by fast turning."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import attrs

from knobmenu.analysis.cost.editors import least_commit, place_on_track, value_track
from knobmenu.analysis.cost.gestures import PRESS, Gesture, Tally, Way, tally
from knobmenu.analysis.cost.track import Track, least_turning
from knobmenu.analysis.cost.weights import Weights
from knobmenu.design.domains import count_values, domain_of
from knobmenu.design.kinds import Setting
from knobmenu.design.settings import Choice, Digits, Number, Scale, Switch, TextSetting
from knobmenu.knob.acceleration import intervals_of
from knobmenu.machine.changing import number
from knobmenu.machine.state import Editing, NumberDraft, State, value_of
from knobmenu.machine.steps import COARSE
from knobmenu.machine.values import Value

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

MOST_LISTED = 401
"""Values up to which each one is counted."""

SPREAD = 101
"""Of more values so many, evenly spaced, with both ends."""

SPREAD_DIGITS = 21
"""The same for numbers edited digit by digit, some of which are searched for."""

MOST_FAST = 20_000
"""Values up to which fast turning is counted."""


@attrs.frozen
class ValueCost:
    """What it costs to keep one value."""

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
        return min(ways, key=lambda way: tally(way).gestures, default=None)

    @property
    def fewest(self) -> Tally | None:
        """The fewest gestures without fast turning."""
        return None if self.least is None else tally(self.least)


@attrs.frozen
class ValueCosts:
    """What the values of a setting cost."""

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
        """The listed values that can be kept, others than the present one."""
        return [item for item in self.listed if item.fewest is not None and item.value != self.start]

    @property
    def worst(self) -> ValueCost | None:
        """The listed value that takes most."""
        return max(self.reachable, key=lambda item: item.fewest.gestures if item.fewest else 0, default=None)

    @property
    def mean(self) -> float:
        """Gestures on average over the listed values, each as likely as any other."""
        counts = [item.fewest.gestures for item in self.reachable if item.fewest]
        return sum(counts) / len(counts) if counts else 0.0


def cost_of_value(design: Design, state: State, key: str, value: Value, weights: Weights) -> ValueCost:
    """Count what a value costs from a state in which its setting can be turned: its editor, or home.

    A switch has nothing to turn, so for it all ways are empty.
    """
    return _cost(design, state, key, value, weights, _FastTurning.of(design, state, key))


def _cost(
    design: Design, state: State, key: str, value: Value, weights: Weights, fast: _FastTurning | None
) -> ValueCost:
    if not isinstance(state.focus, Editing):
        return _home_cost(design, state, key, value, weights, fast)
    held = design.knob.turns_while_held
    return ValueCost(
        value,
        least_commit(design, state, state.focus, value, weights, held=False),
        least_commit(design, state, state.focus, value, weights) if held else None,
        None if fast is None else fast.way(value, (PRESS,)),
    )


def costs_of_values(design: Design, state: State, key: str, weights: Weights) -> ValueCosts | None:
    """Count what the values of a setting cost from a state in which it can be turned.

    Returns:
        None for a text, whose values are too many to list, and for a switch, which has no other than the next.
    """
    setting = design.index.settings[key]
    if isinstance(setting, TextSetting | Switch):
        return None
    domain = domain_of(design, key)
    start = value_of(design, state, key)
    fast = _FastTurning.of(design, state, key)
    listed = [
        _cost(design, state, key, value, weights, fast) for value in _spread(setting, domain, count_values(design, key))
    ]
    return ValueCosts(start, count_values(design, key), tuple(listed))


def _spread(setting: Setting, domain: Sequence[int], count: int) -> Iterator[int]:
    if count <= MOST_LISTED and not isinstance(setting, Digits):
        yield from domain
        return
    most = min(SPREAD_DIGITS if isinstance(setting, Digits) else SPREAD, count)
    places = sorted({place * (count - 1) // (most - 1) for place in range(most)})
    yield from (domain[place] for place in places)


def _home_cost(
    design: Design, state: State, key: str, value: Value, weights: Weights, fast: _FastTurning | None
) -> ValueCost:
    """Count what a value costs at home, where each detent takes effect."""
    home, setting = design.home, design.index.settings[key]
    if not isinstance(setting, Number | Scale | Choice | Digits) or not isinstance(value, int):
        return ValueCost(value, None, None, None)
    start = place_on_track(design, state.values, setting, number(design, state.values, key))
    end = place_on_track(design, state.values, setting, value)
    plain: Way | None = None
    held: Way | None = None
    if start is not None and end is not None:
        track = value_track(design, state.values, setting, held=False)
        turned = least_turning(track, start, end, weights)
        if home.turn == key:
            plain = turned
        if home.held_turn == key:
            held = _hold_at_home(setting, track, start, end, weights, plain)
    return ValueCost(value, plain, held, None if fast is None or home.turn != key else fast.way(value, ()))


def _hold_at_home(
    setting: Number | Scale | Choice | Digits, track: Track, start: int, end: int, weights: Weights, plain: Way | None
) -> Way | None:
    if isinstance(setting, Choice | Digits):
        return tuple(Gesture("held", run.amount) for run in least_turning(track, start, end, weights))
    if plain is not None:
        return least_turning(attrs.evolve(track, coarse=COARSE), start, end, weights)
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


@attrs.frozen
class _FastTurning:
    """The fewest detents of fast turning from one value to all others.

    The first detent in a direction is worth one step; each after it as many steps as a rule of the knob says, or one.
    """

    domain: Sequence[int]
    start: int
    before: dict[tuple[int, int], tuple[tuple[int, int], int]]
    """For each place and the direction in which it was reached: from where, and the steps of the last detent."""

    @classmethod
    def of(cls, design: Design, state: State, key: str) -> _FastTurning | None:
        """Search once for all values of a setting; None where it does not accelerate."""
        setting = design.index.settings[key]
        if not isinstance(setting, Number | Scale) or not setting.accelerates or not design.knob.acceleration:
            return None
        track = value_track(design, state.values, setting, held=False)
        focus = state.focus
        draft = focus.draft if isinstance(focus, NumberDraft) else number(design, state.values, key)
        start = place_on_track(design, state.values, setting, draft)
        if start is None or track.size > MOST_FAST:
            return None
        times = [rule.times for rule in intervals_of(design.knob)]
        before: dict[tuple[int, int], tuple[tuple[int, int], int]] = {}
        seen = {(start, 0)}
        waiting = deque(seen)
        while waiting:
            node = waiting.popleft()
            place, direction = node
            for sign in (1, -1):
                for steps in times if sign == direction else (1,):
                    after = place + sign * steps
                    after = after % track.size if track.wraps else min(max(after, 0), track.size - 1)
                    if (after, sign) not in seen:
                        seen.add((after, sign))
                        before[after, sign] = (node, steps)
                        waiting.append((after, sign))
        low = domain_of(design, key).index(draft) - start
        return cls(domain_of(design, key)[low : low + track.size], start, before)

    def way(self, value: Value, leave: Way) -> Way | None:
        """Return the turning to a value, and what keeps it; None where the setting cannot have it now."""
        if value not in self.domain:
            return None
        end = self.domain.index(value)
        ways = [self._trace_back(end, sign) for sign in (1, -1) if (end, sign) in self.before]
        if end == self.start:
            ways.append(())
        return (*min(ways, key=lambda way: tally(way).detents), *leave)

    def _trace_back(self, end: int, sign: int) -> Way:
        runs: list[Gesture] = []
        node = (end, sign)
        while node in self.before:
            direction = node[1]
            node, steps = self.before[node]
            if runs and runs[-1].times == steps and runs[-1].amount * direction > 0:
                runs[-1] = Gesture("turn", runs[-1].amount + direction, steps)
            else:
                runs.append(Gesture("turn", direction, steps))
        return tuple(reversed(runs))
