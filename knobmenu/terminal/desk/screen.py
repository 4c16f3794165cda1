"""The desk: the devices, the knob and the panes around them, and what keys and mouse do there."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual import events
from textual.app import ComposeResult
from textual.geometry import Offset
from textual.screen import Screen
from textual.timer import Timer
from textual.worker import Worker

from knobmenu.bench.tally import format_stroke
from knobmenu.files.running import RunningRecording
from knobmenu.picture.display import Blink
from knobmenu.picture.forms import Kind
from knobmenu.picture.palettes import Palette
from knobmenu.picture.runs import Box, plain_text
from knobmenu.session.session import Session
from knobmenu.session.source import IdealEncoder
from knobmenu.session.variants import Variant
from knobmenu.terminal.backend.canvas import Canvas
from knobmenu.terminal.backend.parser import KeyUp, is_repeat
from knobmenu.terminal.backend.styles import theme
from knobmenu.terminal.backend.workers import failure_of
from knobmenu.terminal.clock import now_ms, real_ms
from knobmenu.terminal.desk import reloading
from knobmenu.terminal.desk.commands import COMMANDS
from knobmenu.terminal.desk.layout import Plan
from knobmenu.terminal.desk.showing import Scene, pictures, plan_desk, without_tools
from knobmenu.terminal.desk.views.bar import wanted_part
from knobmenu.terminal.input import repeats
from knobmenu.terminal.input.keymap import BY_KEY, SHOWN
from knobmenu.terminal.input.mouse import Drag, around, dragged
from knobmenu.terminal.input.repeats import Repeats
from knobmenu.terminal.input.turning import KNOB, PRESSES, WAITS
from knobmenu.terminal.saying import HINT, Said, on_key_at

if TYPE_CHECKING:
    from knobmenu.bench.simulated import NamedChain, SimulatedEncoder
    from knobmenu.terminal.bench.kept import KeptChain
    from knobmenu.terminal.bench.screen import BenchScreen

BLINK_S = 0.5
"""Half a period of what blinks: once a second. [s]"""

HELD_S = 0.06
"""How often a held knob is drawn again. [s]"""

CLICK_SHOWN_S = 0.15
"""How long a click is seen. [s]"""


class Desk(Screen[None]):
    """The screen on which a device is tried."""

    ALLOW_SELECT = False

    def __init__(
        self,
        variants: Sequence[Variant],
        palette: Palette,
        blinking: bool = True,
        least: Kind = "half",
        chain: NamedChain | None = None,
        recording: RunningRecording | None = None,
    ) -> None:
        """Switch the devices on.

        Args:
            variants: One or two.
            palette: The look to begin with.
            blinking: Whether anything may blink.
            least: The largest form in which displays are drawn.
            chain: The signal chain of a simulated encoder to begin with. None: an ideal encoder.
            recording: Records the session. None: nothing does.
        """
        super().__init__()
        self.variants = list(variants)
        self.recording = recording or RunningRecording()
        self.session: Session
        self.session, self._dropped = self.recording.begin([variant.design for variant in variants], now_ms())
        self.palette = palette
        self.blinking = blinking
        self.least: Kind = least
        self.chain = chain
        """The signal chain of the simulated encoder; None: a built-in one."""
        self.simulated: SimulatedEncoder | None = None
        """The simulated encoder, while it is in use."""
        self.bench: BenchScreen | None = None
        """The bench, while it stands in front."""
        self.kept_chain: KeptChain | None = None
        """Keeps the bench's chain, once that was opened."""
        self.panes: list[str] | None = None
        """The requested panes, the most wanted last; None: all, as far as there is room."""
        self.presenting = False
        """Whether only the device and its knob are shown, and only the knob's keys work."""
        self.stays_presented = False
        """Whether no key ends that."""
        self.releases = False
        """Whether the terminal reports releases."""
        self.tree_variant = 0
        """Which variant's tree is shown, and whose events are saved."""
        self._canvas = Canvas()
        self._said = Said(HINT)
        self._plan: Plan | None = None
        self._repeats = Repeats()
        self._guard_told = False
        self._waiting: list[str] = []
        """What keys asked for while a press was simulated, in order."""
        self._drag: Drag | None = None
        self._strokes = 0
        self._painting = False
        self._phase: Blink = "shown"
        self._due: tuple[int, asyncio.TimerHandle] | None = None
        self._held_timer: Timer | None = None
        self._click_timer: Timer | None = None
        self._blink_timer: Timer | None = None

    def compose(self) -> ComposeResult:
        """Put the canvas there."""
        yield self._canvas

    def on_mount(self) -> None:
        """Begin."""
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

    # Showing.

    def on_resize(self) -> None:
        """Lay everything out again."""
        self.lay_out()

    def wanted_panes(self) -> tuple[str, ...]:
        """Return the requested panes, the most wanted last."""
        if self.panes is not None:
            return tuple(self.panes)
        return ("notes", "menu", "cost", "place", "events")

    def lay_out(self) -> None:
        """Give everything that is shown its place, and draw it."""
        columns, rows = self.app.size
        panes = () if self.presenting else self.wanted_panes()
        plan = plan_desk(columns, rows, self.variants, panes, self.least)
        self._plan = without_tools(plan) if plan is not None and self.presenting else plan
        self.paint()

    def changed(self) -> None:
        """Draw soon; many changes before that are drawn once."""
        if not self._painting:
            self._painting = True
            self.call_later(self.paint)

    def paint(self) -> None:
        """Draw what changed, and see to the timers."""
        self._painting = False
        if self._blink_timer is None:
            return
        self._hear_stroke()
        if (news := self.recording.news()) is not None:
            self._said = Said(*news, now_ms())
        scene = Scene(
            session=self.session,
            variants=self.variants,
            palette=self.palette,
            shading=self.palette.shading if self.app.console.color_system == "truecolor" else None,
            columns=self.app.size.width,
            rows=self.app.size.height,
            plan=self._plan,
            said=self._said,
            pressing="press: exact" if self.releases else "press: clicks",
            clicked=self._click_timer is not None,
            blink=self._phase if self.blinking else "marked",
            tree_variant=self.tree_variant,
            simulated=self.simulated,
            real_ms=now_ms(),
        )
        self._canvas.paint(self.palette, pictures(scene))
        self._see_to_timers()

    def _hear_stroke(self) -> None:
        """Report how a simulated encoder counted, each time that it has come to rest."""
        encoder = self.simulated
        strokes = 0 if encoder is None else encoder.tally.strokes
        if encoder is not None and strokes > self._strokes:
            self._said = Said(format_stroke(encoder.last), "caution" if encoder.last.errors else "good", now_ms())
        self._strokes = strokes

    def begin_recording(self) -> None:
        """Record the session from now on if that has not begun, and offer one of before that was not saved."""
        if self.session.timeline.recorder is not None and self.recording.kept is not None:
            self.run_worker(self._offer(), group="offer", exit_on_error=False)

    async def _offer(self) -> None:
        offer = await self.recording.offer([variant.path for variant in self.variants])
        if offer and self._said.text.endswith(HINT):
            self.say(f"{SHOWN['resume']} resumes {offer}", "caution")

    # What the commands change.

    def take_session(self, session: Session) -> None:
        """Go on with another session of the same variants."""
        self._waiting = []
        self.session = session
        if self.simulated is not None:
            self.use_simulated_encoder(self.simulated.named)

    def use_simulated_encoder(self, named: NamedChain) -> None:
        """Let turns and presses go through a signal chain."""
        # Late: the bench takes a while to load.
        from knobmenu.bench.simulated import SimulatedEncoder

        self.simulated = SimulatedEncoder(named, now_ms())
        self.session.take_source(self.simulated, now_ms())

    def use_ideal_encoder(self) -> None:
        """Count every detent."""
        self.simulated = None
        self.session.take_source(IdealEncoder(), now_ms())

    def present(self) -> None:
        """Show the device and its knob alone, or everything again, unless it is presented for good."""
        if self.stays_presented:
            return
        self.presenting = not self.presenting
        self.lay_out()

    def toggle_pane(self, name: str) -> None:
        """Show or hide a pane."""
        panes = list(self.wanted_panes())
        shown = self._plan is not None and name in self._plan.boxes
        if name in panes:
            panes.remove(name)
        if not shown:
            panes.append(name)
        self.panes = panes
        self.lay_out()

    def take_look(self, palette: Palette) -> None:
        """Change the look."""
        self.palette = palette
        self.app.theme = theme(palette).name
        self.lay_out()

    def draw_no_larger_than(self, kind: Kind) -> None:
        """Draw displays in a form that takes no more room than this one, or as large as fits."""
        self.least = kind
        self.lay_out()
        self.say(f"drawn as {self._plan.form}" if self._plan else "")

    def say(self, text: str, ink: str = "dim") -> None:
        """Show a message in the header, until another replaces it or a key is struck after a while."""
        self._said = Said(text, ink, now_ms())
        self.changed()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Say that a background task failed."""
        if failure := failure_of(event):
            self.say(failure, "wrong")

    # Timers: each runs only while it has something to do.

    def _see_to_timers(self) -> None:
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
        if self._blink_timer is None:
            return
        if blinks:
            self._blink_timer.resume()
        else:
            self._blink_timer.pause()
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
            self._waiting.append(does)
            return True
        if hand.down and does in PRESSES and not (hand.by == "sticky" and does == "hold"):
            self.say("the knob is held down already: release it first", "caution")
            return True
        return False

    def _do_what_waited(self) -> None:
        while self._waiting and self.session.hand.by != "measured":
            self.run(self._waiting.pop(0))

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
                    self.say("keys click here: l presses long, h holds", "caution")
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

    def picture(self) -> str:
        """Draw what is shown now, as SVG."""
        title = " and ".join(variant.design.name for variant in self.variants)
        # Late, since it takes a while and few sessions make a picture.
        from knobmenu.picture.svg import svg

        return svg(self.palette, self._canvas.pictures, *self.size, title)

    def box(self, name: str) -> Box:
        """Return the place of one thing that is shown.

        Raises:
            KeyError: It is not shown.
        """
        if self._plan is None:
            raise KeyError(name)
        return self._plan.boxes[name]

    def shown(self, name: str) -> str:
        """Return what one thing shows, as text; nothing where it is not shown."""
        return plain_text(self._canvas.shown(name))
