"""What the least way to do a task shows and does: what participants are compared with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal

import attrs

from knobmenu.analysis.cost.gestures import Gesture, Tally, event_of, perform
from knobmenu.analysis.cost.operators import Seconds
from knobmenu.analysis.cost.routes import Route
from knobmenu.design.conditions import All, Condition, Equal
from knobmenu.design.settings import TextSetting
from knobmenu.design.whole import Design, resolve_operand
from knobmenu.events import MOST_DETENTS
from knobmenu.machine.advance import identify_screen
from knobmenu.machine.effects import ValueChanged
from knobmenu.review.walk import Node, Screen, Step, acted_in_place, path_of, pressed_entry, screens_of, target_of

HiddenGesture = Literal["hold", "double", "held"]
"""A gesture that nothing on a display suggests: a long press, a double press, turning while held down."""

_HIDDEN: Mapping[str, HiddenGesture] = {"hold": "hold", "double": "double", "held": "held"}


@attrs.frozen
class Trail:
    """What a least way shows and does."""

    tally: Tally
    gestures: int
    """Detents and presses that no attempt goes below, however fast the knob is turned. At most those of the tally."""
    seconds: Seconds
    """How long it is predicted to take."""
    screens: tuple[Screen, ...]
    """Each screen, in order, the first included."""
    path: tuple[Node, ...]
    """Each place of the menu's map, in order, the first included."""
    first_entry: tuple[str, int] | None
    """The menu and the place of the entry that is pressed first."""
    entries: frozenset[tuple[str, int]]
    """The menu and the place of every entry that is pressed."""
    opened: Mapping[str, str]
    """For each menu, the key of the entry that is pressed first in it."""
    hidden: tuple[tuple[Screen, HiddenGesture], ...]
    """The gestures that nothing suggests, each with the screen on which it is made."""
    settings: frozenset[str]
    """The settings that are changed."""


def trail_of(route: Route, gestures: int) -> Trail:
    """Work out what a least way shows and does.

    Args:
        route: The least way.
        gestures: Detents and presses that no attempt goes below.
    """
    steps = tuple(_steps(route))
    pressed = [entry for step in steps if (entry := pressed_entry(step)) is not None]
    hidden = dict.fromkeys(
        (identify_screen(step.before), _HIDDEN[gesture.kind])
        for step, gesture in zip(steps, route.way, strict=True)
        if gesture.kind in _HIDDEN
    )
    return Trail(
        tally=route.tally,
        gestures=gestures,
        seconds=route.seconds,
        screens=screens_of(route.start, steps),
        path=path_of(route.design, route.start, steps),
        first_entry=pressed[0] if pressed else None,
        entries=frozenset(pressed),
        opened={menu: target_of(route.design, (menu, place)) for menu, place in reversed(pressed)},
        hidden=tuple(hidden),
        settings=frozenset(route.changed) | {key for step in steps if acted_in_place(step) for key in _changed(step)},
    )


def targets_of(design: Design, condition: Condition) -> Iterator[tuple[str, int]]:
    """Walk the settings for which a condition asks for exactly one value, each with that value."""
    if isinstance(condition, All):
        for part in condition.of:
            yield from targets_of(design, part)
    elif isinstance(condition, Equal):
        settings: Mapping[str, object] = design.index.settings
        if condition.key in settings and not isinstance(settings[condition.key], TextSetting):
            yield condition.key, resolve_operand(design.index.settings, condition.key, condition.value)


def _steps(route: Route) -> Iterator[Step]:
    state = route.start
    for gesture in route.way:
        before = state
        state, effects = perform(route.design, state, gesture)
        yield Step(state.at_ms, before, event_of(_in_one_event(gesture), before.at_ms), state, effects)


def _in_one_event(gesture: Gesture) -> Gesture:
    """Return a gesture that one event can hold; of a longer turn nothing but its direction is read here."""
    if not gesture.detents > MOST_DETENTS:
        return gesture
    return attrs.evolve(gesture, amount=MOST_DETENTS if gesture.amount > 0 else -MOST_DETENTS)


def _changed(step: Step) -> Iterator[str]:
    return (effect.key for effect in step.effects if isinstance(effect, ValueChanged))
