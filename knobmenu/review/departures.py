"""Departures of a participant from the least way: what was expected there, and the cost until the return to it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Literal

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import DoublePress, HeldTurn, LongPress, Turn, Wait
from knobmenu.machine.advance import identify_screen
from knobmenu.machine.effects import Committed, Refused, Reverted, ValueChanged
from knobmenu.machine.state import Mode
from knobmenu.review.edits import Edit
from knobmenu.review.trail import HiddenGesture, Trail
from knobmenu.review.walk import (
    Screen,
    StateChange,
    Walk,
    count_gestures,
    find_pressed_entry,
    get_target,
    is_action_in_place,
    list_screens,
)

Kind = Literal[
    "wrong-turn",
    "left",
    "passed-entry",
    "wrong-setting",
    "refused",
    "overshoot",
    "long-turn",
    "wrong-value",
    "revert",
    "time-out",
    "not-found",
    "gave-up",
]
"""The kind of a departure."""

MEANINGS: Mapping[Kind, str] = {
    "wrong-turn": "opened or did something that the least way does not",
    "left": "went back before the task was done",
    "passed-entry": "turned past the entry that leads on, and back to it",
    "wrong-setting": "turned another setting at home",
    "refused": "pressed an entry that was not enabled",
    "overshoot": "turned past the value that the task requests",
    "long-turn": "turned the knob more than twice around to a value",
    "wrong-value": "kept a value other than the one that the task requests",
    "revert": "undid an edit",
    "time-out": "the device left the screen because it idled",
    "not-found": "never made a gesture that nothing on the display suggests",
    "gave-up": "failed without any of these",
}
"""The meaning of each kind."""

MOST_TURNS = 2
"""Turns of the knob in one edit above which it is a long turn (our own choice). [revolutions]"""

_EVENTS: Mapping[HiddenGesture, type] = {"hold": LongPress, "double": DoublePress, "held": HeldTurn}


@attrs.frozen
class Departure:
    """One departure of a participant from the least way."""

    kind: Kind
    screen: Screen
    """The screen on which it began."""
    key: str
    """Its subject: the pressed entry, the turned setting, or the gesture that was not found."""
    expected: str
    """The key of the entry that the least way presses there; empty if it presses none."""
    begun_ms: int
    """The start. [ms of real time since the header]"""
    ended_ms: int
    """When the participant was as far as before, or the end of the attempt. [ms of real time since the header]"""
    gestures: int
    """Detents and presses of that time; for a long turn, all its detents."""

    @property
    def seconds(self) -> float:
        """Its length. [s]"""
        return (self.ended_ms - self.begun_ms) / 1000


def find_departures(walk: Walk, trail: Trail, edits: Sequence[Edit], targets: Mapping[str, int]) -> Iterable[Departure]:
    """Find the departures of a participant from the least way, in order of time.

    An attempt that took no more gestures than the least way has no departures, whichever way it took.

    Args:
        walk: The attempt.
        trail: The least way.
        edits: The edits of the settings of the least way.
        targets: The requested values, for settings of which the task requests exactly one value.
    """
    found = [*_find_long_turns(walk.design, edits)]
    if walk.outcome != "done" or _is_longer(walk, trail):
        hidden = [*_find_unused_gestures(walk, trail)]
        unfound = {one.screen for one in hidden}
        # Participants who do not know the gesture try something else there, which is not a separate problem.
        detours = (one for one in _find_detours(walk, trail, targets) if one.screen not in unfound)
        found += [
            *hidden,
            *detours,
            *_find_slips(walk, trail),
            *_find_passed_entries(walk, trail),
            *_find_overshoots(edits),
        ]
    if walk.outcome != "done" and not found:
        last = list_screens(walk.start, walk.changes)[-1]
        gestures = sum(count_gestures(change.event) for change in walk.changes)
        found.append(Departure("gave-up", last, walk.outcome, "", walk.begun_ms, walk.ended_ms, gestures))
    return sorted(found, key=lambda one: (one.begun_ms, one.kind, one.key))


def _is_longer(walk: Walk, trail: Trail) -> bool:
    """Return whether an attempt took more than the least way."""
    return sum(count_gestures(change.event) for change in walk.changes) > trail.tally.gestures


# Detours, until the participant is as far as before.


@attrs.define
class _Detour:
    """A detour whose end is not yet found."""

    kind: Kind
    screen: Screen
    key: str
    begun_ms: int
    level: int
    """How far along the least way it began, which is where it ends."""
    gestures: int = 0

    def end(self, trail: Trail, ended_ms: int) -> Departure:
        expected = trail.opened.get(self.screen[1], "") if self.screen[0] is Mode.BROWSING else ""
        return Departure(self.kind, self.screen, self.key, expected, self.begun_ms, ended_ms, self.gestures)


def _find_detours(walk: Walk, trail: Trail, targets: Mapping[str, int]) -> Iterator[Departure]:
    levels = {screen: place for place, screen in reversed(list(enumerate(trail.screens)))}
    passages = set(zip(trail.screens, trail.screens[1:], strict=False))
    detour: _Detour | None = None
    entered_ms = before_ms = walk.begun_ms
    for change in walk.changes:
        here, there = identify_screen(change.before), identify_screen(change.after)
        begun = _begin_detour(walk.design, change, trail, levels, passages, targets)
        back = detour is not None and levels.get(there, -1) >= detour.level
        if begun is not None and (detour is None or (begun.kind == "wrong-turn" and here in levels)):
            if detour is not None:
                yield detour.end(trail, change.real_ms)
            begun.begun_ms = {"revert": entered_ms, "time-out": before_ms}.get(begun.kind, change.real_ms)
            detour, back = begun, False
        if detour is not None:
            detour.gestures += count_gestures(change.event)
            if back:
                yield detour.end(trail, change.real_ms)
                detour = None
        if here != there:
            entered_ms = change.real_ms
        before_ms = change.real_ms
    if detour is not None and not (walk.outcome == "done" and walk.changes and detour.begun_ms == walk.ended_ms):
        yield detour.end(trail, walk.ended_ms)


def _begin_detour(
    design: Design,
    change: StateChange,
    trail: Trail,
    levels: Mapping[Screen, int],
    passages: set[tuple[Screen, Screen]],
    targets: Mapping[str, int],
) -> _Detour | None:
    """Return the detour that a state change begins, or None."""
    here, there = identify_screen(change.before), identify_screen(change.after)
    level = levels.get(here)
    if level is None:
        return None
    entry = find_pressed_entry(change)
    chosen = get_target(design, entry) if entry is not None else there[1]
    if not isinstance(change.event, Wait):
        for effect in change.effects:
            if isinstance(effect, Reverted) and effect.key in trail.settings:
                return _Detour(
                    "revert", here, effect.key, change.real_ms, levels.get((Mode.EDITING, effect.key), level)
                )
            if isinstance(effect, Committed) and targets.get(effect.key, effect.value) != effect.value:
                return _Detour("wrong-value", here, effect.key, change.real_ms, level)
    if here == there:
        return None
    away = there not in levels
    earlier = not away and levels[there] < level and (here, there) not in passages
    if isinstance(change.event, Wait):
        return _Detour("time-out", here, here[1], change.real_ms, level) if away or earlier else None
    if away and count_gestures(change.event):
        return _Detour("wrong-turn", here, chosen, change.real_ms, level)
    if earlier and here[0] is Mode.BROWSING:
        return _Detour("left", here, chosen, change.real_ms, level)
    return None


# Slips that stay on their screen.


def _find_slips(walk: Walk, trail: Trail) -> Iterator[Departure]:
    on_way = set(trail.screens)
    turning: Departure | None = None
    for change in walk.changes:
        here = identify_screen(change.before)
        entry = find_pressed_entry(change)
        expected = trail.opened.get(here[1], "") if here[0] is Mode.BROWSING else ""
        turned = _find_setting_turned_at_home(change, trail)
        if turned:
            if turning is None or turning.key != turned:
                if turning is not None:
                    yield turning
                turning = Departure("wrong-setting", here, turned, "", change.real_ms, change.real_ms, 0)
            gestures = turning.gestures + count_gestures(change.event)
            turning = attrs.evolve(turning, ended_ms=change.real_ms, gestures=gestures)
        elif count_gestures(change.event) and turning is not None:
            yield turning
            turning = None
        for effect in change.effects:
            if isinstance(effect, Refused) and here in on_way:
                yield Departure("refused", here, effect.key, expected, change.real_ms, change.real_ms, 1)
        if entry is not None and here in on_way and is_action_in_place(change) and entry not in trail.entries:
            key = get_target(walk.design, entry)
            yield Departure("wrong-turn", here, key, expected, change.real_ms, change.real_ms, 1)
    if turning is not None:
        yield turning


def _find_setting_turned_at_home(change: StateChange, trail: Trail) -> str:
    """Return the setting that was turned at home although the task does not request it, or an empty string."""
    if not isinstance(change.event, Turn | HeldTurn) or change.before.mode is not Mode.HOME:
        return ""
    changed = (effect.key for effect in change.effects if isinstance(effect, ValueChanged))
    return next((key for key in changed if key not in trail.settings), "")


def _find_passed_entries(walk: Walk, trail: Trail) -> Iterator[Departure]:
    """Find where the entry that leads on was selected, left by turning, and pressed later in the same visit."""
    left: StateChange | None = None
    gestures = 0
    for change in walk.changes:
        if change.before.mode is not Mode.BROWSING:
            left = None
            continue
        here = change.before.path[-1]
        if left is not None:
            gestures += count_gestures(change.event)
        if isinstance(change.event, Turn) and change.after.path:
            if left is None and (here.menu, here.entry) in trail.entries and change.after.path[-1] != here:
                left, gestures = change, count_gestures(change.event)
        elif count_gestures(change.event):
            entry = find_pressed_entry(change)
            if left is not None and entry == (left.before.path[-1].menu, left.before.path[-1].entry):
                key = get_target(walk.design, entry)
                screen = identify_screen(left.before)
                yield Departure("passed-entry", screen, key, key, left.real_ms, change.real_ms, gestures - 1)
            left = None


# Values.


def _find_overshoots(edits: Iterable[Edit]) -> Iterator[Departure]:
    for edit in edits:
        for past, back in edit.overshoots:
            gestures = max(back.detents - past.detents, 1)
            yield Departure("overshoot", (Mode.EDITING, edit.key), edit.key, "", past.real_ms, back.real_ms, gestures)


def _find_long_turns(design: Design, edits: Iterable[Edit]) -> Iterator[Departure]:
    most = MOST_TURNS * design.knob.detents_per_turn
    for edit in edits:
        first, last = edit.points[0], edit.reached
        if last.detents > most:
            screen = (Mode.EDITING, edit.key)
            yield Departure("long-turn", screen, edit.key, "", first.real_ms, last.real_ms, last.detents)


def _find_unused_gestures(walk: Walk, trail: Trail) -> Iterator[Departure]:
    gestures = sum(count_gestures(change.event) for change in walk.changes)
    for screen, gesture in trail.hidden:
        if not any(
            isinstance(change.event, _EVENTS[gesture]) and identify_screen(change.before) == screen
            for change in walk.changes
        ):
            yield Departure("not-found", screen, gesture, "", walk.begun_ms, walk.ended_ms, gestures)
