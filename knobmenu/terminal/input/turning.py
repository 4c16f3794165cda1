"""The actions of keys that move the knob, at the time of the key."""

from __future__ import annotations

from collections.abc import Callable

from knobmenu.session.session import Session

SPIN = 5
"""Detents of a quick spin."""


def hold(session: Session, at_ms: int) -> None:
    """Hold the knob down, or let it go."""
    if session.hand.by == "sticky":
        session.release("sticky", at_ms)
    else:
        session.press("sticky", at_ms)


KNOB: dict[str, Callable[[Session, int], None]] = {
    "turn_clockwise": lambda session, at_ms: session.turn(1, at_ms),
    "turn_back": lambda session, at_ms: session.turn(-1, at_ms),
    "spin_clockwise": lambda session, at_ms: session.spin(SPIN, at_ms),
    "spin_back": lambda session, at_ms: session.spin(-SPIN, at_ms),
    "press": Session.click,
    "long_press": Session.long_press,
    "hold": hold,
    "double_press": Session.double_press,
}
"""The actions that `knobmenu.terminal.input.keymap.Key.does` names and that move the knob."""

PRESSES = frozenset({"press", "long_press", "hold", "double_press"})

WAITS = PRESSES | {"back", "on", "power_on", "newest", "next_branch", "freeze", "play_again", "simulated_encoder"}
"""The actions that wait until a simulated press is over, since they would end it early or be lost."""
