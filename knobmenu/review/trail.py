"""The trail of the least way to do a task, with which participants are compared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal

import attrs

from knobmenu.analysis.cost.gestures import Gesture, Tally, make_event, perform
from knobmenu.analysis.cost.operators import Seconds
from knobmenu.analysis.cost.routes import Route
from knobmenu.design.conditions import All, Condition, Equal
from knobmenu.design.settings import TextSetting
from knobmenu.design.whole import Design, resolve_operand
from knobmenu.events import MOST_DETENTS
from knobmenu.machine.advance import identify_screen
from knobmenu.machine.effects import ValueChanged
from knobmenu.review.walk import (
    Node,
    Screen,
    StateChange,
    find_pressed_entry,
    get_target,
    is_action_in_place,
    list_nodes,
    list_screens,
)

HiddenGesture = Literal["hold", "double", "held"]
"""A gesture that no display suggests: a long press, a double press, a turn while held."""

_HIDDEN: Mapping[str, HiddenGesture] = {"hold": "hold", "double": "double", "held": "held"}


@attrs.frozen
class Trail:
    """What a least way shows and changes."""

    tally: Tally
    gestures: int
    """The fewest detents and presses of any attempt, at any speed of turning; at most those of the tally."""
    seconds: Seconds
    """The predicted time."""
    screens: tuple[Screen, ...]
    """Each screen, in order, including the first."""
    path: tuple[Node, ...]
    """Each place on the map of the menu, in order, including the first."""
    first_entry: tuple[str, int] | None
    """The menu and the index of the entry that is pressed first."""
    entries: frozenset[tuple[str, int]]
    """The menu and the index of every entry that is pressed."""
    opened: Mapping[str, str]
    """For each menu, the key of the entry that is pressed first in it."""
    hidden: tuple[tuple[Screen, HiddenGesture], ...]
    """The gestures that no display suggests, each with its screen."""
    settings: frozenset[str]
    """The settings that it changes."""


def make_trail(route: Route, gestures: int) -> Trail:
    """Make the trail of a least way.

    Args:
        route: The least way.
        gestures: The fewest detents and presses of any attempt.
    """
    changes = tuple(_walk_changes(route))
    pressed = [entry for change in changes if (entry := find_pressed_entry(change)) is not None]
    hidden = dict.fromkeys(
        (identify_screen(change.before), _HIDDEN[gesture.kind])
        for change, gesture in zip(changes, route.way, strict=True)
        if gesture.kind in _HIDDEN
    )
    return Trail(
        tally=route.tally,
        gestures=gestures,
        seconds=route.seconds,
        screens=list_screens(route.start, changes),
        path=list_nodes(route.design, route.start, changes),
        first_entry=pressed[0] if pressed else None,
        entries=frozenset(pressed),
        opened={menu: get_target(route.design, (menu, place)) for menu, place in reversed(pressed)},
        hidden=tuple(hidden),
        settings=frozenset(route.changed)
        | {key for change in changes if is_action_in_place(change) for key in _walk_changed_settings(change)},
    )


def walk_targets(design: Design, condition: Condition) -> Iterator[tuple[str, int]]:
    """Walk the settings for which a condition requests exactly one value, each with that value."""
    if isinstance(condition, All):
        for part in condition.of:
            yield from walk_targets(design, part)
    elif isinstance(condition, Equal):
        settings: Mapping[str, object] = design.index.settings
        if condition.key in settings and not isinstance(settings[condition.key], TextSetting):
            yield condition.key, resolve_operand(design.index.settings, condition.key, condition.value)


def _walk_changes(route: Route) -> Iterator[StateChange]:
    state = route.start
    for gesture in route.way:
        before = state
        state, effects = perform(route.design, state, gesture)
        yield StateChange(state.at_ms, before, make_event(_limit_to_one_event(gesture), before.at_ms), state, effects)


def _limit_to_one_event(gesture: Gesture) -> Gesture:
    """Shorten a turn to what one event can hold: only its direction matters here."""
    if not gesture.detents > MOST_DETENTS:
        return gesture
    return attrs.evolve(gesture, amount=MOST_DETENTS if gesture.amount > 0 else -MOST_DETENTS)


def _walk_changed_settings(change: StateChange) -> Iterator[str]:
    return (effect.key for effect in change.effects if isinstance(effect, ValueChanged))
