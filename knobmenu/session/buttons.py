"""What each variant's own knob makes of one hand: the direction that counts up, and the timing of presses."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import attrs

from knobmenu.design.hardware import Knob
from knobmenu.events import Event
from knobmenu.knob import button
from knobmenu.knob.button import ButtonState

Told = list[tuple[Event, ...]]
"""For each variant, the events that its knob made."""


class Buttons:
    """The button of each variant.

    Every method takes the variants' knobs, since designs change while they are tried. A time before that of an earlier
    call counts as that one.
    """

    def __init__(self, variants: int) -> None:
        """Begin with every button up, at power-on."""
        self._states = [ButtonState() for _ in range(variants)]

    def reset(self, at_ms: int) -> None:
        """Forget what was pressed. [ms since power-on]"""
        self._states = [ButtonState(at_ms=at_ms) for _ in self._states]

    @property
    def at_ms(self) -> int:
        """The time up to which the buttons are known. [ms since power-on]"""
        return max(state.at_ms for state in self._states)

    def due_ms(self, knobs: Sequence[Knob]) -> int | None:
        """Return when `wait` next has something to do, or None where it has not. [ms since power-on]"""
        dues = (button.find_due_ms(knob, state) for knob, state in zip(knobs, self._states, strict=True))
        return min((due for due in dues if due is not None), default=None)

    def turn(self, knobs: Sequence[Knob], clockwise: int, at_ms: int) -> Told:
        """Turn every knob. [detents, ms since power-on]"""

        def turn(knob: Knob, state: ButtonState, at_ms: int) -> tuple[ButtonState, tuple[Event, ...]]:
            return button.turn(knob, state, clockwise if knob.clockwise == "up" else -clockwise, 1, at_ms)

        return self._each(knobs, at_ms, turn)

    def push(self, knobs: Sequence[Knob], down: bool, at_ms: int) -> Told:
        """Find every switch closed or open. [ms since power-on]"""
        return self._each(knobs, at_ms, lambda knob, state, at_ms: button.read(knob, state, down, at_ms))

    def wait(self, knobs: Sequence[Knob], at_ms: int) -> Told:
        """Let time pass. [ms since power-on]"""
        return self._each(knobs, at_ms, button.wait)

    def _each(
        self,
        knobs: Sequence[Knob],
        at_ms: int,
        do: Callable[[Knob, ButtonState, int], tuple[ButtonState, tuple[Event, ...]]],
    ) -> Told:
        done = [do(knob, state, max(at_ms, state.at_ms)) for knob, state in zip(knobs, self._states, strict=True)]
        self._states = [state for state, _ in done]
        return [events for _, events in done]


@lru_cache(maxsize=16)
def without_debounce(knob: Knob) -> Knob:
    """Return the same knob for a switch that does not bounce."""
    return attrs.evolve(knob, debounce_ms=0)
