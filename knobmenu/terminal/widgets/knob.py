"""The knob: turned by the wheel and by dragging around it, pressed by the mouse button."""

from __future__ import annotations

from math import atan2, pi

from textual import events
from textual.message import Message

from knobmenu.terminal.drawing.knob import HOLD_STEPS, draw_knob, knob_words
from knobmenu.terminal.drawing.runs import Drawing, Row, Run, merged
from knobmenu.terminal.widgets.painted import Painted, fitted

WORDS = 2
"""Rows of words under the knob."""

DRAG = 2
"""Terminal cells that the mouse must move before a press becomes a drag."""


class KnobView(Painted):
    """The knob from above."""

    class Turned(Message):
        """It was turned with the mouse, clockwise or back."""

        def __init__(self, clockwise: int, real_ms: int) -> None:
            self.clockwise = clockwise
            self.real_ms = real_ms
            super().__init__()

    class Pressed(Message):
        """The mouse button went down on it."""

        def __init__(self, real_ms: int) -> None:
            self.real_ms = real_ms
            super().__init__()

    class Released(Message):
        """The mouse button was let go."""

        def __init__(self, real_ms: int) -> None:
            self.real_ms = real_ms
            super().__init__()

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.detents_per_turn = 24
        self._at: float | None = None
        """Where the mouse was around the knob when it last turned, while its button is down. [turns]"""
        self._rest = 0.0
        """What it moved since the last detent. [turns]"""

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Turn clockwise."""
        event.stop()
        self.post_message(self.Turned(1, real_ms(event)))

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Turn back."""
        event.stop()
        self.post_message(self.Turned(-1, real_ms(event)))

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Press it; on its rim, take hold of it to turn."""
        event.stop()
        self.capture_mouse()
        self._rest = 0.0
        turn, near = self._around(event)
        if near:
            self._at = None
            self.post_message(self.Pressed(real_ms(event)))
        else:
            self._at = turn

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Turn it along with the mouse."""
        if self._at is None:
            return
        turn, _ = self._around(event)
        moved = (turn - self._at + 0.5) % 1.0 - 0.5
        self._at = turn
        self._rest += moved
        detents = int(self._rest * self.detents_per_turn)
        if detents:
            self._rest -= detents / self.detents_per_turn
            self.post_message(self.Turned(detents, real_ms(event)))

    def on_mouse_up(self, event: events.MouseUp) -> None:
        """Let it go."""
        event.stop()
        self.release_mouse()
        if self._at is None:
            self.post_message(self.Released(real_ms(event)))
        self._at = None

    def let_go(self) -> None:
        """Forget a button whose release was lost."""
        self._at = None
        self.release_mouse()

    def _around(self, event: events.MouseEvent) -> tuple[float, bool]:
        """Return where the mouse is around the knob, clockwise from the top, and whether it is on its cap."""
        offset = event.get_content_offset_capture(self)
        columns, rows = self.size.width, self.size.height - WORDS
        across = (offset.x + 0.5 - columns / 2) / 2
        down = offset.y + 0.5 - rows / 2
        cap = min(columns / 2, rows) / 2 * 0.7
        return (atan2(across, -down) / (2 * pi)) % 1.0, across * across + down * down <= cap * cap


def real_ms(event: events.Event) -> int:
    """Return when an event came, on the clock that never goes back. [ms]"""
    return int(event.time * 1000)


def knob_rows(
    turned: int, detents_per_turn: int, columns: int, height: int, pressed: bool, held_part: float, held_ms: int
) -> Drawing:
    """Draw the knob with its words.

    Args:
        turned: How far it was turned, clockwise. [detents]
        detents_per_turn: Detents in one turn.
        columns: Width of its place. [terminal cells]
        height: Height of its place, words and all. [terminal cells]
        pressed: Whether it is down.
        held_part: How much of a long press has passed, 0 to 1.
        held_ms: How long it has been held. [ms]
    """
    rows = height - WORDS
    size = min(columns, rows * 2)
    picture = draw_knob(turned, detents_per_turn, size, rows, pressed, round(held_part * HOLD_STEPS))
    margin = Run(" " * ((columns - size) // 2), "text")
    state = [Run(f"held {held_ms / 1000:.1f} s", "press")] if pressed and held_ms >= 100 else _pressed(pressed)
    words = knob_words(turned, detents_per_turn)
    return (
        *(merged([margin, *row]) for row in picture),
        _centred([Run(words, "text")], columns),
        _centred(state, columns),
    )


def _pressed(pressed: bool) -> list[Run]:
    return [Run("pressed", "press") if pressed else Run("not pressed", "dim")]


def _centred(runs: list[Run], columns: int) -> Row:
    width = sum(len(run.text) for run in runs)
    return fitted([Run(" " * max((columns - width) // 2, 0), "text"), *runs], columns)
