"""What each variant's knob reports for the same hand: which direction counts up, and the timing of presses."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import attrs

from knobmenu.design.hardware import Knob
from knobmenu.events import Event
from knobmenu.knob import button
from knobmenu.knob.button import ButtonState

VariantEvents = list[tuple[Event, ...]]
"""For each variant, the events that its knob reports."""


class Buttons:
    """The buttons of all variants.

    Every method takes the variants' knobs, since designs change while they are tried. A time earlier than that of a
    previous call is replaced by it.
    """

    def __init__(self, variants: int) -> None:
        """Start with every button released, at power-on."""
        self._states = [ButtonState() for _ in range(variants)]

    def reset(self, at_ms: int) -> None:
        """Release every button, discarding presses in progress. [ms since power-on]"""
        self._states = [ButtonState(at_ms=at_ms) for _ in self._states]

    @property
    def at_ms(self) -> int:
        """The time of the latest call. [ms since power-on]"""
        return max(state.at_ms for state in self._states)

    def find_due_ms(self, knobs: Sequence[Knob]) -> int | None:
        """Return when to call `wait` next, or None if time alone changes nothing. [ms since power-on]"""
        dues = (button.find_due_ms(knob, state) for knob, state in zip(knobs, self._states, strict=True))
        return min((due for due in dues if due is not None), default=None)

    def turn(self, knobs: Sequence[Knob], clockwise: int, at_ms: int) -> VariantEvents:
        """Turn every knob. [detents, ms since power-on]"""

        def turn(knob: Knob, state: ButtonState, at_ms: int) -> tuple[ButtonState, tuple[Event, ...]]:
            return button.turn(knob, state, clockwise if knob.clockwise == "up" else -clockwise, 1, at_ms)

        return self._apply_to_each(knobs, at_ms, turn)

    def push(self, knobs: Sequence[Knob], down: bool, at_ms: int) -> VariantEvents:
        """Close or open every switch. [ms since power-on]"""
        return self._apply_to_each(knobs, at_ms, lambda knob, state, at_ms: button.read(knob, state, down, at_ms))

    def wait(self, knobs: Sequence[Knob], at_ms: int) -> VariantEvents:
        """Let time pass. [ms since power-on]"""
        return self._apply_to_each(knobs, at_ms, button.wait)

    def _apply_to_each(
        self,
        knobs: Sequence[Knob],
        at_ms: int,
        do: Callable[[Knob, ButtonState, int], tuple[ButtonState, tuple[Event, ...]]],
    ) -> VariantEvents:
        done = [do(knob, state, max(at_ms, state.at_ms)) for knob, state in zip(knobs, self._states, strict=True)]
        self._states = [state for state, _ in done]
        return [events for _, events in done]


@lru_cache(maxsize=16)
def remove_debounce(knob: Knob) -> Knob:
    """Return the same knob for a switch that does not bounce."""
    return attrs.evolve(knob, debounce_ms=0)
