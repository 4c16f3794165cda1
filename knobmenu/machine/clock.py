"""The machine's clock: 32 bits of milliseconds, moved back before they run out.

A state holds times up to `CLOCK_MS`, 49 days. Only their differences matter, such as the time since the last change or
the last touch. So all of them can be moved back by the same amount without changing what the device does. Firmware, or
a simulation that runs for long, moves the clock of its state back and adds the amount to a base time of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobmenu.errors import EventError, mismatch, quote_value
from knobmenu.events import CLOCK_MS, Wait
from knobmenu.machine.advance import advance, find_next_due_ms
from knobmenu.machine.effects import Effect
from knobmenu.machine.state import State

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

RECENT_MS = 86_400_000
"""How much of the past can still matter: the longest time after which a device idles or saves, a day. [ms]"""


def rebase_time(state: State, by_ms: int) -> State:
    """Return a state whose clock is moved back; times before its new zero become zero.

    Args:
        state: The device, at the time of its last event.
        by_ms: By how much, at most the time of the state. Up to `RECENT_MS` before that time, nothing is lost: every
            later event, moved back as much, does exactly what it would have done. [ms]

    Raises:
        EventError: The amount is not a whole number from 0 to the time of the state.
    """
    if type(by_ms) is not int or not 0 <= by_ms <= state.at_ms:
        raise EventError(f"by_ms: {mismatch(f'a whole number from 0 to {state.at_ms}', quote_value(by_ms))}")
    return state._replace(
        at_ms=state.at_ms - by_ms,
        idle_from_ms=max(state.idle_from_ms - by_ms, 0),
        changed_ms=max(state.changed_ms - by_ms, 0),
    )


def make_room(design: Design, state: State, base_ms: int, at_ms: int) -> tuple[State, int, tuple[Effect, ...]]:
    """Rebase a state's clock so that it can hold a time, however far in the future.

    Args:
        design: The design.
        state: The device.
        base_ms: By how much the state's clock was moved back since power-on. [ms]
        at_ms: The time that the clock has to hold, since power-on. [ms]

    Returns:
        The state, the total by which its clock has been moved back, and the effects of what fell due on the way.
    """
    effects: tuple[Effect, ...] = ()
    while at_ms - base_ms > CLOCK_MS:
        due_ms = find_next_due_ms(design, state)
        if due_ms is None:
            return rebase_time(state, state.at_ms), at_ms, effects
        if due_ms > CLOCK_MS:
            by_ms = state.at_ms - RECENT_MS
            state, base_ms = rebase_time(state, by_ms), base_ms + by_ms
        else:
            state, more = advance(design, state, Wait(due_ms))
            effects += more
    return state, base_ms, effects
