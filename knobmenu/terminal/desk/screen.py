"""The desk at work: what keys, mouse and timers do there."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from textual import events
from textual.geometry import Offset
from textual.timer import Timer

from knobmenu.session.session import Session
from knobmenu.terminal.backend.parser import KeyUp, is_repeat
from knobmenu.terminal.clock import now_ms, real_ms
from knobmenu.terminal.desk import reloading
from knobmenu.terminal.desk.commands import COMMANDS
from knobmenu.terminal.desk.desk import Desk
from knobmenu.terminal.desk.views.bar import wanted_part
from knobmenu.terminal.input import repeats
from knobmenu.terminal.input.keymap import BY_KEY
from knobmenu.terminal.input.mouse import Drag, around, dragged
from knobmenu.terminal.input.repeats import Repeats
from knobmenu.terminal.input.turning import KNOB, PRESSES, WAITS
from knobmenu.terminal.saying import HINT, on_key_at

if TYPE_CHECKING:
    pass

BLINK_S = 0.5
"""Half a period of what blinks: once a second. [s]"""

HELD_S = 0.06
"""How often a held knob is drawn again. [s]"""

CLICK_SHOWN_S = 0.15
"""How long a click is seen. [s]"""


class DeskScreen(Desk):
    """The desk with its keys, its mouse and its timers."""

    _repeats = Repeats()
    _guard_explained = False
    """Whether it was said why a held key clicks once."""
    _waiting: tuple[str, ...] = ()
    """What keys asked for while a press was simulated, in order."""
    _drag: Drag | None = None
    _due: tuple[int, asyncio.TimerHandle] | None = None
    _held_timer: Timer | None = None
    _click_timer: Timer | None = None
    _blink_timer: Timer | None = None

    def on_mount(self) -> None:
        """Begin."""
        self._begun = True
        self._blink_timer = self.set_interval(BLINK_S, self._blink, pause=True)
        self.say(HINT if any(variant.path for variant in self.variants) else f"a demo; {HINT}")
        if self._dropped:
            self.say(f"resumed, but {self._dropped[0]}", "caution")
        if self.chain is not None:
            self.run("simulated_encoder")
        if any(variant.path is not None for variant in self.variants):
            self.run_worker(reloading.watch(self), group="watch", exit_on_error=False)
        # Already now, so that the first frame is a whole one.
        self.lay_out()

    def on_unmount(self) -> None:
        """Stop the clock, and leave a chain that was not saved for the next time."""
        if self._due is not None:
            self._due[1].cancel()
        if self.kept_chain is not None:
            self.kept_chain.close()

    def paint(self) -> None:
        """Draw what changed, and see to the timers."""
        super().paint()
        if self._blink_timer is not None:
            self._see_to_timers(self._blink_timer)

    def take_session(self, session: Session) -> None:
        """Go on with another session of the same variants; what keys asked of the one before is dropped."""
        self._waiting = ()
        super().take_session(session)

    # Timers: each runs only while it has something to do.

    def _see_to_timers(self, blink: Timer) -> None:
        self._do_what_waited()
        due = self.session.due_ms()
        if due is not None and (self._due is None or due < self._due[0]):
            if self._due is not None:
                self._due[1].cancel()
            # The library's own timers never come where they are so short that they are late before they begin.
            wait_s = max(due - now_ms(), 0) / 1000
            self._due = due, asyncio.get_running_loop().call_later(wait_s, self._time_passes)
        if self.session.hand.down and self._held_timer is None:
            self._held_timer = self.set_interval(HELD_S, self._hold_on)
        blinks = self.blinking and any(
            part.screen.blinking or any(lamp.blink_ms for lamp in part.design.lamps) for part in self.session.parts
        )
        if blinks:
            blink.resume()
        else:
            blink.pause()
            self._phase = "shown"

    def _time_passes(self) -> None:
        self._due = None
        self.session.pass_time(now_ms())
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

    def on_key(self, event: events.Key) -> None:
        """Run a key's command; a key that came after a question was opened belongs to the question."""
        if self.app.screen is not self:
            # Late, as in the commands.
            from knobmenu.terminal.prompts.help import Help
            from knobmenu.terminal.prompts.prompt import Prompt, TypedAhead

            event.stop()
            ahead = TypedAhead if isinstance(self.app.screen, Prompt | Help) else events.Key
            self.app.screen.post_message(ahead(event.key, event.character))
            return
        self._said = on_key_at(self._said, real_ms(event), any(variant.problems for variant in self.variants))
        key = BY_KEY.get(event.key) or BY_KEY.get((event.character or "").lower())
        if key is None:
            if happened := self.session.press_simulation_key(event.key, real_ms(event)):
                event.stop()
                self.say(", ".join(happened))
            return
        event.stop()
        event.prevent_default()
        if self.presenting and key.does not in KNOB and key.does not in ("press", "present"):
            return
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
        if self._is_deferred(does, moment):
            return
        if does in KNOB:
            KNOB[does](self.session, moment)
        else:
            COMMANDS[does](self)
        self.changed()

    def _is_deferred(self, does: str, at_ms: int) -> bool:
        """Queue what cannot be done while a press is simulated, and refuse a press while the knob is held."""
        if self.session.hand.by == "measured":
            # It may be over already, before a timer says so.
            self.session.pass_time(at_ms)
        hand = self.session.hand
        if hand.by == "measured" and does in WAITS:
            self._waiting += (does,)
            return True
        if hand.down and does in PRESSES and not (hand.by == "sticky" and does == "hold"):
            self.say("the knob is held down already: release it first", "caution")
            return True
        return False

    def _do_what_waited(self) -> None:
        while self._waiting and self.session.hand.by != "measured":
            first, *rest = self._waiting
            self._waiting = tuple(rest)
            self.run(first)

    def _press_key(self, event: events.Key) -> None:
        at_ms = real_ms(event)
        if self.releases:
            if not is_repeat(event) and not self._is_deferred("press", at_ms):
                self.session.press("key", at_ms, event.key)
        else:
            self._repeats, repeated = repeats.follow(self._repeats, event.key, at_ms)
            if repeated:
                if not self._guard_explained:
                    self._guard_explained = True
                    self.say("keys click here: l presses long, h holds", "caution")
                return
            self.run("press", at_ms)
            self._show_click()
        self.changed()

    def _show_click(self) -> None:
        if self._click_timer is not None:
            self._click_timer.stop()
        self._click_timer = self.set_timer(CLICK_SHOWN_S, self._click_over)
        self._clicked = True

    def _click_over(self) -> None:
        self._click_timer = None
        self._clicked = False
        self.changed()

    def on_key_up(self, event: KeyUp) -> None:
        """Release the knob, if this key pressed it."""
        self.session.release("key", real_ms(event), event.key)
        self.changed()

    # The mouse.

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Turn clockwise, wherever the mouse is."""
        event.stop()
        self.session.turn(1, real_ms(event))
        self.changed()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Turn back, wherever the mouse is."""
        event.stop()
        self.session.turn(-1, real_ms(event))
        self.changed()

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Press the knob's middle, grab its rim, or go to a place in the history."""
        place = event.screen_offset
        found = self._canvas.box_at(place.x, place.y)
        if found is None:
            return
        name, box = found
        if name == "bar":
            part = wanted_part(place.x - box.x, box.columns)
            if part is not None:
                self.session.go(round(part * self.session.history.last), real_ms(event))
        elif name == "knob":
            self._canvas.capture_mouse()
            turn, on_middle = around(box, place.x, place.y)
            if not on_middle:
                self._drag = Drag(turn)
            elif not self._is_deferred("press", real_ms(event)):
                self.session.press("mouse", real_ms(event))
        self.changed()

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Turn the knob along with the mouse that holds its rim."""
        if self._drag is None or self._plan is None:
            return
        place: Offset = event.screen_offset
        turn, _ = around(self._plan.boxes["knob"], place.x, place.y)
        self._drag, detents = dragged(self._drag, turn, self.variants[0].design.knob.detents_per_turn)
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
