"""A simulated participant who reads: knows the task's words and the labels on the display, and neither map nor route.

It presses the entry whose label shares a word with the task, opens menus in turn where none does, and knows turning and
pressing only; so it stumbles over what a design hides or calls by a wrong name, and over nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Generator, Iterator
from random import Random

import attrs

from knobmenu.analysis.cost.gestures import PRESS, Gesture
from knobmenu.design.labels import label_of
from knobmenu.design.menu import BACK
from knobmenu.design.whole import Design
from knobmenu.machine.state import Editing, Mode, Place, State
from knobmenu.review.trail import targets_of
from tests.review.participants import Plan, Seat

NEAR = 15
"""Steps from the target below which it turns one detent at a time."""

SLOW_MS = 300
"""Its pause after a detent near the target, too long for acceleration. [ms]"""

DONE_MS = 1500
"""How long it leaves the knob alone when it has done what the task says. [ms]"""

PATIENCE = 12
"""Presses after which it gives up."""


@attrs.frozen
class Reader:
    """Somebody who looks for the words of the task in the labels."""

    pause_ms: int = 500
    """How long it thinks before each press, about. [ms]"""
    too_far: int = 0
    """Detents that it turns too far, and back, in each edit."""
    strays: bool = False
    """Whether it chooses the last entry before the way back first, whatever that is called."""

    def __call__(self, seat: Seat, random: Random) -> Plan:
        """Do a task."""
        design = seat.model.design
        words, targets = words_of(seat.task.text), dict(targets_of(design, seat.task.done))
        tried: set[tuple[str, int]] = set()
        strays = self.strays
        for _ in range(PATIENCE):
            yield random.randint(self.pause_ms // 2, 2 * self.pause_ms)
            focus = seat.state().focus
            if isinstance(focus, Editing) and focus.setting in targets:
                yield from _set(seat, targets[focus.setting], self.too_far)
                yield PRESS
                yield DONE_MS
            elif seat.state().mode is Mode.BROWSING:
                if strays:
                    strays = False
                    last = len(design.index.menus[_here(seat.state()).menu].entries) - 2
                    yield Gesture("turn", max(last - _here(seat.state()).entry, 1))
                elif not (yield from _choose(seat, design, words, tried)):
                    return
            yield PRESS


careful, slow, hasty, stray = Reader(), Reader(pause_ms=2000), Reader(too_far=1), Reader(strays=True)


def words_of(text: str) -> set[str]:
    """Return the words of a text that can be looked for."""
    return {word for word in re.findall(r"[a-z]+", text.lower()) if len(word) > 3}


def _choose(
    seat: Seat, design: Design, words: set[str], tried: set[tuple[str, int]]
) -> Generator[Gesture | int, None, bool]:
    """Select an entry whose label matches, else a menu that was not tried, else the way back."""
    seen: dict[int, set[str]] = {}
    for direction in (1, -1):  # reads on to the end of the list, then back to its begin
        while True:
            here = _here(seat.state())
            key = design.index.menus[here.menu].entries[here.entry].target
            seen[here.entry] = words_of(label_of(design, key))
            if seen[here.entry] & words and here not in tried:
                tried.add((here.menu, here.entry))
                return True
            yield Gesture("turn", direction)
            yield 200
            if _here(seat.state()) == here:
                break
    here = _here(seat.state())
    entries = design.index.menus[here.menu].entries
    menus = [place for place in seen if entries[place].target in design.index.menus and (here.menu, place) not in tried]
    back = [place for place in seen if entries[place].target == BACK]
    for place in (menus or back)[:1]:
        tried.add((here.menu, place))
        if place != here.entry:
            yield Gesture("turn", place - here.entry)
        return True
    return False


def _set(seat: Seat, target: int, too_far: int) -> Iterator[Gesture | int]:
    """Turn to a value: in runs of a few detents while it is far, in single slow ones when it is near."""
    while (left := target - _draft(seat.state())) != 0:
        sign = 1 if left > 0 else -1
        if abs(left) > NEAR:
            before = _draft(seat.state())
            yield Gesture("turn", sign)
            step = abs(_draft(seat.state()) - before) or 1
            if step * 4 > abs(target - _draft(seat.state())):
                yield SLOW_MS
        else:
            yield SLOW_MS
            yield Gesture("turn", sign)
    if too_far:
        sign = -1 if _draft(seat.state()) < 0 else 1
        yield SLOW_MS
        yield Gesture("turn", too_far * sign)
        yield SLOW_MS
        yield Gesture("turn", -too_far * sign)
    yield SLOW_MS


def _here(state: State) -> Place:
    return state.path[-1]


def _draft(state: State) -> int:
    assert isinstance(state.focus, Editing)
    assert isinstance(state.focus.draft, int)
    return state.focus.draft
