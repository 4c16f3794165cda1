"""A screen with a knob on it: what keys and mouse do to the knob, and the timers that follow from it."""

from __future__ import annotations

import asyncio

from textual import events
from textual.geometry import Offset
from textual.screen import Screen
from textual.timer import Timer

from knobmenu.picture.disc import Shading
from knobmenu.picture.display import Blink
from knobmenu.picture.knob import locate_on_knob
from knobmenu.picture.palettes import Palette
from knobmenu.picture.runs import Box
from knobmenu.session import repeats
from knobmenu.session.dragging import Drag, continue_drag
from knobmenu.session.repeats import Repeats
from knobmenu.session.session import Session
from knobmenu.terminal.backend.app import TerminalApp
from knobmenu.terminal.backend.canvas import CanvasScreen
from knobmenu.terminal.backend.parser import KeyUp, ReleasesReported, is_repeat
from knobmenu.terminal.clock import now_ms, real_ms
from knobmenu.terminal.input.keymap import Key
from knobmenu.terminal.input.turning import KNOB, PRESSES, WAITS

BLINK_S = 0.5
"""Half a period of what blinks: once a second. [s]"""

HELD_S = 0.06
"""The interval at which a held knob is redrawn. [s]"""

CLICK_SHOWN_S = 0.15
"""How long a click is visible. [s]"""


class KnobScreen(CanvasScreen[None]):
    """A screen on which one knob is turned, pressed and held.

    What it shows, what its other keys do and what passing time means is up to its children.
    """

    session: Session
    """Whose knob it is."""

    def __init__(self, palette: Palette, blinking: bool = True) -> None:
        """Begin with an empty canvas.

        Args:
            palette: The look to begin with.
            blinking: Whether anything may blink.
        """
        super().__init__(palette)
        self.blinking = blinking
        self.releases = False
        """Whether the terminal reports releases."""
        self._repeats = Repeats()
        self._guard_told = False
        self._waiting: list[str] = []
        """Requests of keys during a simulated press, in order."""
        self._drag: Drag | None = None
        self._phase: Blink = "shown"
        self._due: tuple[int, asyncio.TimerHandle] | None = None
        self._held_timer: Timer | None = None
        self._click_timer: Timer | None = None
        self._blink_timer: Timer | None = None

    def begin(self) -> None:
        """Make the screen ready to be painted; to be called when it is mounted."""
        self._blink_timer = self.set_interval(BLINK_S, self._blink, pause=True)

    def on_unmount(self) -> None:
        """Stop the clock."""
        if self._due is not None:
            self._due[1].cancel()

    # What a child says.

    def command(self, does: str) -> None:
        """Run a command that does not move the knob, by its name."""
        raise NotImplementedError

    @property
    def works(self) -> bool:
        """Whether the knob can be operated now."""
        return True

    def due_ms(self) -> int | None:
        """Return when something happens next by time alone. [ms of real time]"""
        return self.session.find_due_ms()

    def pass_time(self, real_ms: int) -> None:
        """Do everything that is due."""
        self.session.pass_time(real_ms)

    # Showing.

    @property
    def is_ready(self) -> bool:
        """Whether there is something to draw: from `begin` on."""
        return self._blink_timer is not None

    def paint(self) -> None:
        """Draw what changed, and see to the timers."""
        super().paint()
        if self.is_ready:
            self._run_due()

    @property
    def clicked(self) -> bool:
        """Whether a click is still visible."""
        return self._click_timer is not None

    @property
    def shading(self) -> Shading | None:
        """The colours of the knob as a shaded disc; None: a ring of dots."""
        return self.palette.shading if self.app.console.color_system == "truecolor" else None

    @property
    def blink(self) -> Blink:
        """The present phase of blinking."""
        return self._phase if self.blinking else "marked"

    def box(self, name: str) -> Box:
        """Return the place of one thing that is shown.

        Raises:
            KeyError: It is not shown.
        """
        return self._canvas.pictures[name][0]

    # Timers: each runs only while it has something to do.

    def _run_due(self) -> None:
        self._run_waiting(now_ms())
        due = self.due_ms()
        if due is not None and (self._due is None or due < self._due[0]):
            if self._due is not None:
                self._due[1].cancel()
            # The library's own timers never come where they are so short that they are late before they begin.
            wait_s = max(due - now_ms(), 0) / 1000
            self._due = due, asyncio.get_running_loop().call_later(wait_s, self._pass_time)
        if self.session.hand.down and self._held_timer is None:
            self._held_timer = self.set_interval(HELD_S, self._hold_on)
        blinks = self.blinking and any(
            part.screen.blinking or any(lamp.blink_ms for lamp in part.design.lamps) for part in self.session.parts
        )
        if self._blink_timer is None:
            return
        if blinks:
            self._blink_timer.resume()
        else:
            self._blink_timer.pause()
            self._phase = "shown"

    def _pass_time(self) -> None:
        self._due = None
        self.pass_time(now_ms())
        self.changed()

    def _hold_on(self) -> None:
        if not self.session.hand.down and self._held_timer is not None:
            self._held_timer.stop()
            self._held_timer = None
        self.changed()

    def _blink(self) -> None:
        self._phase = "shown" if self._phase == "other" else "other"
        self.changed()

    # Keys.

    def work(self, key: Key, event: events.Key) -> None:
        """Do what a key does."""
        if key.does != "press":
            # A key that repeats ends when another is struck.
            self._repeats = Repeats()
        if key.does == "press":
            self._press_key(event)
        elif key.does in KNOB or not is_repeat(event) or key.does in ("back", "on"):
            self.run(key.does, real_ms(event))

    def run(self, does: str, at_ms: int | None = None) -> None:
        """Run a command by its name.

        Args:
            does: What.
            at_ms: When; None: now. [ms of real time]
        """
        moment = now_ms() if at_ms is None else at_ms
        if not self._is_deferred(does, moment):
            self._do(does, moment)

    def _do(self, does: str, at_ms: int) -> None:
        if does in KNOB:
            KNOB[does](self.session, at_ms)
        else:
            self.command(does)
        self.changed()

    def _is_deferred(self, does: str, at_ms: int) -> bool:
        """Queue what cannot be done while a press is simulated, and refuse a press while the knob is held."""
        if self.session.hand.by == "measured":
            # It may be over already, before a timer says so; then what waited for its end comes first.
            self.pass_time(at_ms)
        self._run_waiting(at_ms)
        if self.session.hand.by == "measured" and does in WAITS:
            self._waiting.append(does)
            return True
        return self._is_refused(does)

    def _is_refused(self, does: str) -> bool:
        hand = self.session.hand
        refused = hand.down and does in PRESSES and not (hand.by == "sticky" and does == "hold")
        if refused:
            self.say("the knob is held down already: release it first", "caution")
        return refused

    def _run_waiting(self, at_ms: int) -> None:
        while self._waiting and self.session.hand.by != "measured":
            does = self._waiting.pop(0)
            if not self._is_refused(does):
                self._do(does, at_ms)

    def _press_key(self, event: events.Key) -> None:
        at_ms = real_ms(event)
        if self.releases:
            if not is_repeat(event) and not self._is_deferred("press", at_ms):
                self.session.press("key", at_ms, event.key)
        else:
            self._repeats, repeated = repeats.follow(self._repeats, event.key, at_ms)
            if repeated:
                if not self._guard_told:
                    self._guard_told = True
                    self.say("no key releases reported: l is a long press", "caution")
                return
            self.run("press", at_ms)
            self._show_click()
        self.changed()

    def _show_click(self) -> None:
        if self._click_timer is not None:
            self._click_timer.stop()
        self._click_timer = self.set_timer(CLICK_SHOWN_S, self._click_over)

    def _click_over(self) -> None:
        self._click_timer = None
        self.changed()

    def on_key_up(self, event: KeyUp) -> None:
        """Release the knob, if this key pressed it."""
        self.session.release("key", real_ms(event), event.key)
        self.changed()

    # The mouse.

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Turn clockwise, wherever the mouse is."""
        self._scroll(1, event)

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Turn back, wherever the mouse is."""
        self._scroll(-1, event)

    def _scroll(self, clockwise: int, event: events.MouseEvent) -> None:
        event.stop()
        if self.works:
            self.session.turn(clockwise, real_ms(event))
            self.changed()

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Press the knob's middle, grab its rim, or go to a place in the history."""
        place = event.screen_offset
        found = self._canvas.box_at(place.x, place.y)
        if found is None or not self.works:
            return
        name, box = found
        if name == "knob":
            self._canvas.capture_mouse()
            turn, on_middle = locate_on_knob(box, place.x, place.y)
            if not on_middle:
                self._drag = Drag(turn)
            elif not self._is_deferred("press", real_ms(event)):
                self.session.press("mouse", real_ms(event))
        else:
            self.point_at(name, place.x - box.x, real_ms(event))
        self.changed()

    def point_at(self, name: str, column: int, at_ms: int) -> None:
        """Do what a mouse button does on something else than the knob.

        Args:
            name: What is there.
            column: How far from its left. [terminal cells]
            at_ms: When. [ms of real time]
        """

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Turn the knob along with the mouse that holds its rim."""
        if self._drag is None or "knob" not in self._canvas.pictures:
            return
        place: Offset = event.screen_offset
        turn, _ = locate_on_knob(self.box("knob"), place.x, place.y)
        self._drag, detents = continue_drag(self._drag, turn, self.session.designs[0].knob.detents_per_turn)
        if detents:
            self.session.turn(detents, real_ms(event))
            self.changed()

    def on_mouse_up(self, event: events.MouseUp) -> None:
        """Release the knob."""
        self._canvas.release_mouse()
        self._drag = None
        self.session.release("mouse", real_ms(event))
        self.changed()

    def blurred(self, at_ms: int) -> None:
        """Release what a window without focus gets no release of."""
        self._canvas.release_mouse()
        self._drag = None
        self.session.blur(at_ms)
        self.changed()


class AppWithKnob(TerminalApp[None]):
    """An app whose first screen has a knob on it."""

    def __init__(self, look: Palette | None) -> None:
        """Make the app; a child sets its screen.

        Args:
            look: The look to begin with; None: what suits the terminal.
        """
        super().__init__(look)
        self.blinking = self.animation_level != "none"
        """Whether the user allows blinking."""
        self.knob_screen: KnobScreen

    def get_default_screen(self) -> Screen[None]:
        """Begin at the knob."""
        return self.knob_screen

    def on_key_up(self, event: KeyUp) -> None:
        """Pass a release to the knob, behind the press that may still be in its queue."""
        self.knob_screen.post_message(event)

    def on_releases_reported(self, event: ReleasesReported) -> None:
        """Learn whether the terminal reports releases."""
        self.knob_screen.releases = event.reported
        self.knob_screen.changed()

    def on_app_blur(self, event: events.AppBlur) -> None:
        """Release what the terminal will not report as released."""
        self.knob_screen.blurred(real_ms(event))
