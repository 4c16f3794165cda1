"""The fewest detents between two values where detents that follow each other fast count more."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING, TypeGuard

import attrs

from knobmenu.analysis.cost.editors import find_place_on_track, make_value_track
from knobmenu.analysis.cost.gestures import Gesture, Way
from knobmenu.analysis.cost.track import Track
from knobmenu.design.kinds import Setting
from knobmenu.design.settings import Number, Scale
from knobmenu.knob.acceleration import list_intervals

if TYPE_CHECKING:
    from knobmenu.design.hardware import Knob
    from knobmenu.design.whole import Design
    from knobmenu.machine.values import Values

MOST_FAST = 20_000
"""Values up to which fast turning is counted."""

_Node = tuple[int, int]
"""A place, and the direction of the last turn without holding: 1 up, -1 down, 0 where there was none."""


def is_accelerated(setting: Setting, knob: Knob) -> TypeGuard[Number | Scale]:
    """Tell whether fast turning counts more in a setting."""
    return isinstance(setting, Number | Scale) and setting.accelerates and bool(knob.acceleration)


def list_times(knob: Knob) -> tuple[int, ...]:
    """Return the steps that a detent can be worth, those of the fastest first. [steps per detent]"""
    return tuple(interval.times for interval in list_intervals(knob))


def turn_to_value(
    design: Design, values: Values, setting: Number | Scale, start: int, value: int, *, held: bool, moving: bool
) -> Way | None:
    """Find the fewest detents from one value of an accelerated setting to another.

    Args:
        design: The device's design.
        values: Its values, which may limit the setting.
        setting: The setting.
        start: Its value, or its draft.
        value: The value to turn to.
        held: Whether held detents can be among them.
        moving: Whether the knob may be turning already, so that the first detent can be worth more than one step. If
            not, it is worth one.

    Returns:
        Runs of turning; None where the setting cannot have the value now.

    Raises:
        OverflowError: The setting has too many values.
    """
    track = make_value_track(design, values, setting, held)
    if track.size > MOST_FAST:
        raise OverflowError(f"not decided: {track.size} values")
    begin, end = (find_place_on_track(design, values, setting, one) for one in (start, value))
    if begin is None or end is None:
        return None
    return _search(track, begin, list_times(design.knob), moving).find_way(end)


@attrs.frozen(eq=False)
class _Turning:
    """The fewest detents from one position of a track to all others."""

    start: int
    before: dict[_Node, tuple[_Node, Gesture]]
    """How each place was reached: from where, and by which detent."""

    def find_way(self, end: int) -> Way | None:
        """Return runs of turning to a place, empty if it is the start; None if no turning leads there."""
        if end == self.start:
            return ()
        ways = [self._trace_back((end, direction)) for direction in (1, -1, 0) if (end, direction) in self.before]
        return min(ways, key=lambda way: sum(gesture.detents for gesture in way), default=None)

    def _trace_back(self, node: _Node) -> Way:
        runs: list[Gesture] = []
        while node in self.before:
            node, gesture = self.before[node]
            if runs and runs[-1].amount * gesture.amount > 0:
                last = runs[-1]
                if (last.kind, last.times) == (gesture.kind, gesture.times):
                    runs[-1] = attrs.evolve(last, amount=last.amount + gesture.amount)
                    continue
            runs.append(gesture)
        return tuple(reversed(runs))


@lru_cache(maxsize=16)
def _search(track: Track, start: int, times: tuple[int, ...], moving: bool) -> _Turning:
    """Search for the fewest detents from a place of a track to all others.

    The first detent after a reversal is worth one step; each after it as many steps as a rule of the knob says, or one.
    """
    before: dict[_Node, tuple[_Node, Gesture]] = {}
    seen: set[_Node] = {(start, 1), (start, -1)} if moving else {(start, 0)}
    waiting = deque(sorted(seen))
    moves = {direction: tuple(_walk_moves(track, direction, times)) for direction in (1, 0, -1)}
    while waiting:
        node = waiting.popleft()
        place, direction = node
        for steps, turned, gesture in moves[direction]:
            after = place + steps
            after = after % track.size if track.wraps else min(max(after, 0), track.size - 1)
            if (after, turned) not in seen:
                seen.add((after, turned))
                before[after, turned] = (node, gesture)
                waiting.append((after, turned))
    return _Turning(start, before)


def _walk_moves(track: Track, direction: int, times: tuple[int, ...]) -> Iterator[tuple[int, int, Gesture]]:
    """Yield the detents that can follow a turn in a direction, each with its places and its direction."""
    for sign in (1, -1):
        for steps in times if sign == direction else (1,):
            yield sign * steps, sign, Gesture("turn", sign, steps)
        if track.coarse:
            yield sign * track.coarse, direction, Gesture("held", sign)
