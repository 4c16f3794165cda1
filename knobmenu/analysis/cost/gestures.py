"""What a hand does with a knob, counted, weighed, and written as a trace.

A way is a tuple of gestures. A gesture of turning stands for a whole run of detents, so that a way through a long list
is short.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Literal

import attrs

from knobmenu.events import MOST_DETENTS, DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait
from knobmenu.knob.acceleration import list_intervals
from knobmenu.machine.advance import advance, find_idle_due_ms, make_idle_event
from knobmenu.machine.effects import Effect
from knobmenu.machine.state import State
from knobmenu.structure import Additive

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

Kind = Literal["turn", "held", "press", "hold", "double", "wait", "report"]


@attrs.frozen
class Gesture:
    """One press, or one run of turning in one direction."""

    kind: Kind
    amount: int = 0
    """Detents of a turn or a held turn, positive is up; the value of a report."""
    times: int = 1
    """Steps that each detent of a fast turn is worth."""
    key: str = ""
    """The readout of a report."""

    @property
    def detents(self) -> int:
        """The number of detents in either direction; 0 if this is not a turn."""
        return abs(self.amount) if self.kind in ("turn", "held") else 0


Way = tuple[Gesture, ...]

PRESS, HOLD, DOUBLE, WAIT = Gesture("press"), Gesture("hold"), Gesture("double"), Gesture("wait")


@attrs.frozen
class Tally(Additive):
    """Numbers of gestures, by kind."""

    detents: int = 0
    """Detents turned."""
    held_detents: int = 0
    """Detents turned while the knob is held down."""
    presses: int = 0
    holds: int = 0
    """Long presses."""
    doubles: int = 0
    """Double presses."""
    waits: int = 0
    """Times that the idle time must pass."""
    reports: int = 0
    """Values that the device itself must report first."""

    @property
    def gestures(self) -> int:
        """The number of detents, presses, holds and double presses together."""
        return self.detents + self.held_detents + self.presses + self.holds + self.doubles


def count_gestures(way: Iterable[Gesture]) -> Tally:
    """Count the gestures of a way, by kind."""
    counts = dict.fromkeys(("turn", "held", "press", "hold", "double", "wait", "report"), 0)
    for gesture in way:
        counts[gesture.kind] += gesture.detents or 1
    return Tally(*counts.values())


# Doing them.


_PLAIN: Mapping[Literal["press", "hold", "double", "wait"], Callable[[int], Event]] = {
    "press": Press,
    "hold": LongPress,
    "double": DoublePress,
    "wait": Wait,
}
"""The events that say nothing but when they happen."""


def make_event(gesture: Gesture, at_ms: int) -> Event:
    """Make the event of a gesture at a moment; a wait ends at that moment."""
    match gesture.kind:
        case "turn":
            return Turn(at_ms, gesture.amount, gesture.times)
        case "held":
            return HeldTurn(at_ms, gesture.amount)
        case "report":
            return Report(at_ms, gesture.key, gesture.amount)
        case plain:
            return _PLAIN[plain](at_ms)


def _split(gesture: Gesture) -> Iterator[Gesture]:
    """Split a turn into events of at most the largest number of detents."""
    rest = gesture.detents
    if rest <= MOST_DETENTS:
        yield gesture
        return
    sign = 1 if gesture.amount > 0 else -1
    while rest:
        piece = min(rest, MOST_DETENTS)
        yield attrs.evolve(gesture, amount=sign * piece)
        rest -= piece


def perform(design: Design, state: State, gesture: Gesture) -> tuple[State, tuple[Effect, ...]]:
    """Perform a gesture in no time; a wait lasts until the knob has idled once."""
    if gesture.kind == "wait":
        event = make_idle_event(design, state)
        return (state, ()) if event is None else advance(design, state, event)
    effects: list[Effect] = []
    for piece in _split(gesture):
        state, more = advance(design, state, make_event(piece, state.at_ms))
        effects += more
    return state, tuple(effects)


def perform_all(design: Design, state: State, way: Iterable[Gesture]) -> tuple[State, tuple[Effect, ...]]:
    """Perform the gestures of a way, one after the other, in no time."""
    effects: list[Effect] = []
    for gesture in way:
        state, more = perform(design, state, gesture)
        effects += more
    return state, tuple(effects)


GAP_MS = 100
"""From one gesture of a written way to the next, where the design leaves so much time. [ms]"""


def time_gestures(design: Design, start: State, way: Iterable[Gesture]) -> list[Event]:
    """Return the events of a way, far enough apart that no turn is taken for a fast one, unless it is meant to be.

    Raises:
        ValueError: The design idles sooner than its knob can be turned slowly.
    """
    rules = design.knob.acceleration
    slow_ms = rules[-1].faster_than_ms if rules else 0
    idle_ms = design.idle.after_ms or GAP_MS + 1 + slow_ms * MOST_DETENTS
    events: list[Event] = []
    state, direction = start, 0
    for gesture in way:
        for piece in _split(gesture):
            runs = _pace(design, piece, direction, slow_ms, idle_ms, _find_left_ms(design, state, idle_ms))
            for run, gap_ms in runs:
                event = make_idle_event(design, state) if run.kind == "wait" else None
                left_ms = _find_left_ms(design, state, idle_ms)
                events.append(event or make_event(run, state.at_ms + min(gap_ms, left_ms - 1)))
                state, _ = advance(design, state, events[-1])
            if piece.kind == "turn":
                direction = 1 if piece.amount > 0 else -1
    return events


def _find_left_ms(design: Design, state: State, idle_ms: int) -> int:
    """Return how long a gesture may wait until the device idles: a report since the last one does not lengthen it."""
    due_ms = find_idle_due_ms(design, state)
    return idle_ms if due_ms is None else min(idle_ms, due_ms - state.at_ms)


def _pace(
    design: Design, gesture: Gesture, direction: int, slow_ms: int, idle_ms: int, left_ms: int
) -> Iterator[tuple[Gesture, int]]:
    """Return the events of a gesture, each with the time before it. [ms]"""
    if gesture.kind != "turn":
        yield gesture, GAP_MS
        return
    sign = 1 if gesture.amount > 0 else -1
    if gesture.times > 1:
        gap_ms = find_fast_gap_ms(design, gesture.times)
        yield from ((Gesture("turn", sign, gesture.times), gap_ms) for _ in range(gesture.detents))
        return
    if sign != direction or not slow_ms:
        # The first turn in a direction is slow however soon it follows.
        yield gesture, GAP_MS
        return
    whole_ms = max(GAP_MS, slow_ms * gesture.detents)
    if whole_ms < left_ms:
        yield gesture, whole_ms
        return
    if slow_ms >= idle_ms:
        raise ValueError("the design idles sooner than its knob can be turned slowly")
    yield from ((Gesture("turn", sign), slow_ms) for _ in range(gesture.detents))


def find_fast_gap_ms(design: Design, times: int) -> int:
    """Return the longest time between detents that each rule of acceleration allows. [ms]

    Raises:
        KeyError: No rule makes a detent worth so many steps.
    """
    return {rule.times: rule.below_ms - 1 for rule in list_intervals(design.knob) if rule.below_ms is not None}[times]
