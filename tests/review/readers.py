"""Simulated participants who look: they know the task's words and what the display shows, and neither map nor route.

Each reads the selected entry, presses the one that the task names, opens menus in turn where it names none, and
watches the value while turning to it: fast while it is far away, slowly once it is near. They know turning and pressing
only; so they stumble over what a design hides or calls by a wrong name. Beyond that each has habits of their own, which
no design is to blame for.
"""

from __future__ import annotations

import re
from collections.abc import Generator
from random import Random

import attrs

from knobmenu.analysis.cost.gestures import PRESS, Gesture
from knobmenu.design.labels import get_label
from knobmenu.design.menu import BACK
from knobmenu.design.whole import Design
from knobmenu.machine.state import Editing, Mode, NumberDraft, Place
from knobmenu.review.trail import walk_targets
from tests.review.participants import Plan, Seat

SLOW_MS = 350
"""Their pause before a detent once the value is near, too long for acceleration. [ms]"""

READING_MS = 200
"""How long they read an entry. [ms]"""

DONE_MS = 1500
"""How long they leave the knob alone when they have done what the task says. [ms]"""

PATIENCE = 16
"""Presses after which they give up."""

MOST_DETENTS = 600
"""Detents after which they leave a value as it is."""

Doing = Generator[Gesture | int, None, bool]
"""What is done, and whether it led to something that can be pressed."""


@attrs.frozen
class Reader:
    """Somebody who looks for the words of the task on the display, with habits; the rates are chances each time."""

    pause_ms: int = 500
    """How long they think before each press, about. [ms]"""
    turns_back: float = 0.0
    """Turns one detent back, and on again, at an entry that they have just read."""
    too_far: float = 0.0
    """Turns one or two detents too far at the entry or the value that they expected, and corrects it."""
    strays: float = 0.0
    """Presses any entry of a list, instead of the one that fits best."""
    gives_up: float = 0.0
    """Gives up after something that led nowhere."""

    def __call__(self, seat: Seat, random: Random) -> Plan:
        """Do a task."""
        return _Visit(self, seat, random).do()


exact = Reader()
hesitant = Reader(pause_ms=2000, turns_back=0.1)
overshooting = Reader(too_far=0.5)
lost = Reader(pause_ms=1000, strays=0.25, gives_up=0.15)


@attrs.define
class _Visit:
    """One person with one task."""

    who: Reader
    seat: Seat
    random: Random
    tried: set[tuple[str, int]] = attrs.Factory(set)
    """Entries that were pressed."""

    @property
    def design(self) -> Design:
        return self.seat.model.design

    def do(self) -> Plan:
        targets = dict(walk_targets(self.design, self.seat.task.done))
        for _ in range(PATIENCE):
            yield self.random.randint(self.who.pause_ms // 2, 2 * self.who.pause_ms)
            state = self.seat.state()
            if isinstance(state.focus, Editing) and state.focus.setting in targets:
                yield from self.turn_to(targets[state.focus.setting])
                yield PRESS
                yield DONE_MS
            elif state.mode is Mode.BROWSING:
                if not (yield from self.choose()):
                    return
            elif len(self.tried) > 1 and self.happens(self.who.gives_up):
                return
            yield PRESS

    def happens(self, chance: float) -> bool:
        return chance > 0 and self.random.random() < chance

    # In a list.

    def choose(self) -> Doing:
        """Select the first entry that the task names, else a menu that was not tried, else the way back."""
        seen: list[Place] = []
        stops_at = self.random.randint(0, 4) if self.happens(self.who.strays) else None
        for direction in (1, -1):  # reads on to the end of the list, then back to its begin
            while True:
                here = self.here()
                if here not in seen:
                    seen.append(here)
                    if self.is_named(here) and not self.is_tried(here):
                        yield from self.stop(direction)
                        return self.press(here)
                    if stops_at is not None and len(seen) > stops_at:
                        return self.press(here)
                yield Gesture("turn", direction)
                yield READING_MS
                if self.happens(self.who.turns_back):
                    for back in (-direction, direction):
                        yield Gesture("turn", back)
                        yield READING_MS
                if self.here() == here or (direction > 0 and self.here() in seen):
                    break
            if seen[0].entry == 0 or self.here() != here:
                break  # it has read everything: it began at the first entry, or came round to it
        menus = [one for one in seen if self.target(one) in self.design.index.menus and not self.is_tried(one)]
        for place in (menus or [one for one in seen if self.target(one) == BACK])[:1]:
            yield from self.go(place)
            return self.press(place)
        return False

    def stop(self, direction: int) -> Generator[Gesture | int]:
        """Stop at an entry, perhaps behind it, and go back to it."""
        expected = self.here()
        if self.happens(self.who.too_far):
            yield Gesture("turn", direction * self.random.randint(1, 2))
            yield SLOW_MS
            yield from self.go(expected)

    def go(self, expected: Place) -> Generator[Gesture | int]:
        """Turn to an entry that was seen before."""
        while self.here() != expected:
            before = self.here()
            yield Gesture("turn", 1 if expected.entry > before.entry else -1)
            if self.here() == before:
                return

    def press(self, place: Place) -> bool:
        self.tried.add((place.menu, place.entry))
        return True

    def here(self) -> Place:
        return self.seat.state().path[-1]

    def target(self, place: Place) -> str:
        return self.design.index.menus[place.menu].entries[place.entry].target

    def is_tried(self, place: Place) -> bool:
        return (place.menu, place.entry) in self.tried

    def is_named(self, place: Place) -> bool:
        """Tell whether the task names an entry: as one of its names in quotation marks, else by one of its words.

        Of the names, only those behind that of the open list are looked for.
        """
        text, label = self.seat.task.text, get_label(self.design, self.target(place))
        if quoted := re.findall('"([^"]+)"', text):
            opened = get_label(self.design, place.menu)
            return label in quoted[quoted.index(opened) + 1 if opened in quoted else 0 :]
        return bool(words_of(text) & words_of(label))

    # In an editor.

    def turn_to(self, target: int) -> Generator[Gesture | int]:
        """Turn to a value, looking at it after each detent, and perhaps past it and back."""
        yield from self.approach(target)
        if self.happens(self.who.too_far):
            yield Gesture("turn", self.way * self.random.randint(1, 2))
            yield from self.approach(target)
        yield SLOW_MS

    way: int = 1
    """The direction of the last detent."""

    def approach(self, target: int) -> Generator[Gesture | int]:
        """Turn fast while a value is far from its target, and slowly once three of the largest steps could pass it."""
        moved = 1
        for _ in range(MOST_DETENTS):
            if not isinstance(self.seat.state().focus, NumberDraft):
                return  # the device left the editor meanwhile
            before = self.value()
            left = target - before
            if left == 0:
                return
            if abs(left) <= 3 * moved:
                yield SLOW_MS
            self.way = 1 if left > 0 else -1
            yield Gesture("turn", self.way)
            if isinstance(self.seat.state().focus, NumberDraft):
                moved = max(moved, abs(self.value() - before))

    def value(self) -> int:
        focus = self.seat.state().focus
        assert isinstance(focus, NumberDraft)
        return focus.draft


def words_of(text: str) -> set[str]:
    """Return the words of a text that can be looked for."""
    return {word for word in re.findall(r"[a-z]+", text.lower()) if len(word) > 3}
