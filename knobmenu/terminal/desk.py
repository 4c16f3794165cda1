"""The desk: the devices, the knob and the panes around them, and what keys and mouse do there."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual import events
from textual.app import ComposeResult
from textual.message import Message
from textual.screen import Screen
from textual.timer import Timer

from knobmenu.errors import DesignError
from knobmenu.terminal import held, watching
from knobmenu.terminal.commands import COMMANDS
from knobmenu.terminal.drawing.display import Blink
from knobmenu.terminal.drawing.forms import Kind
from knobmenu.terminal.drawing.palettes import Palette
from knobmenu.terminal.drawing.runs import Drawing, Run
from knobmenu.terminal.driver import KeyUp, is_repeat
from knobmenu.terminal.held import Repeats
from knobmenu.terminal.inks import theme
from knobmenu.terminal.keymap import BY_KEY
from knobmenu.terminal.layout import LEAST, PANES, Box, Plan, plan
from knobmenu.terminal.session import Session
from knobmenu.terminal.variants import Variant
from knobmenu.terminal.widgets.cost import CostView, cost_rows
from knobmenu.terminal.widgets.device import DeviceView, device_rows
from knobmenu.terminal.widgets.head import HeadView, head_rows
from knobmenu.terminal.widgets.keys import KeysView, keys_rows
from knobmenu.terminal.widgets.knob import KnobView, knob_rows, real_ms
from knobmenu.terminal.widgets.notes import NotesView, notes_rows
from knobmenu.terminal.widgets.painted import Painted
from knobmenu.terminal.widgets.place import PlaceView, place_rows
from knobmenu.terminal.widgets.problems import ProblemsView, problems_rows, wrapped
from knobmenu.terminal.widgets.steps import StepsView, steps_rows
from knobmenu.terminal.widgets.timeline import TimelineView, timeline_rows
from knobmenu.terminal.widgets.tree import TreeView, tree_rows

SPIN = 5
"""Detents of a quick spin."""

BLINK_S = 0.5
"""Half a period of what blinks: once a second. [s]"""

HELD_S = 0.06
"""How often the picture of a held knob is drawn anew. [s]"""

CLICK_SHOWN_S = 0.15
"""How long a click is seen. [s]"""


def now_ms() -> int:
    """Return the time on the clock that events are stamped by. [ms]"""
    return int(Message().time * 1000)


class Desk(Screen[None]):
    """The screen on which a device is tried."""

    def __init__(
        self, variants: Sequence[Variant], palette: Palette, blinking: bool = True, least: Kind = "half"
    ) -> None:
        """Switch the devices on.

        Args:
            variants: One or two.
            palette: The look to begin with.
            blinking: Whether anything may blink.
            least: The largest form in which displays are drawn.
        """
        super().__init__()
        self.variants = list(variants)
        self.session = Session([variant.design for variant in variants], now_ms())
        self.palette = palette
        self.blinking = blinking
        self.least: Kind = least
        self.panes: list[str] | None = None
        """The panes that are wanted, the most wanted last; None while that follows from the room."""
        self.releases = False
        """Whether the terminal reports releases."""
        self.poor_knob = None
        self._message = ("", "dim")
        self._plan: Plan | None = None
        self._boxes: dict[str, Box] = {}
        self.tree_variant = 0
        """Which variant's tree is shown, and whose events are saved."""
        self._repeats = Repeats()
        self._guard_told = False
        self._painting = False
        self._phase: Blink = "shown"
        self._due: tuple[int, Timer] | None = None
        self._held_timer: Timer | None = None
        self._click_timer: Timer | None = None
        self._blink_timer: Timer | None = None

    def compose(self) -> ComposeResult:
        """Make every widget; which are shown, and where, is the plan's."""
        yield HeadView("head", "raised")
        for number in range(len(self.variants)):
            yield DeviceView(f"device-{number}")
        yield KnobView("knob")
        for view, name in zip((StepsView, PlaceView, CostView, TreeView, NotesView), PANES, strict=True):
            yield view(name)
        yield ProblemsView("problems")
        yield TimelineView("timeline")
        yield KeysView("keys")
        yield Painted("small")

    def on_mount(self) -> None:
        """Begin."""
        self._blink_timer = self.set_interval(BLINK_S, self._blink, pause=True)
        self.say("? shows the keys" if any(variant.path for variant in self.variants) else "a demo; ? shows the keys")
        if any(variant.path is not None for variant in self.variants):
            self.run_worker(self._watch(), group="watch", exit_on_error=False)

    # Showing.

    def on_resize(self) -> None:
        """Lay everything out anew."""
        self._lay_out()

    def wanted_panes(self) -> tuple[str, ...]:
        """Return the panes that are wanted, the most wanted last."""
        if self.panes is not None:
            return tuple(self.panes)
        columns = self.size.width
        more = (["notes"] if columns >= 150 else []) + (["tree"] if columns >= 110 else [])
        return (*more, "cost", "place", "steps")

    def _lay_out(self) -> None:
        columns, rows = self.size
        if not columns or not rows:
            return
        displays = tuple(variant.design.display for variant in self.variants)
        self._plan = plan(columns, rows, displays, self.wanted_panes(), self.least)
        boxes = dict(self._plan.boxes) if self._plan else {}
        if (problems := self._problems_box()) is not None:
            boxes["problems"] = problems
        self._boxes = boxes
        for view in self.query(Painted):
            if view.id == "small":
                view.display = self._plan is None
                continue
            box = boxes.get(view.id or "")
            view.display = box is not None
            if box is not None:
                view.styles.offset = (box.x, box.y)
                view.styles.width, view.styles.height = box.columns, box.rows
        self.call_after_refresh(self.paint)

    def _problems_box(self) -> Box | None:
        """Return the place of the problems while there are some: over the largest pane, and all to its right."""
        if self._plan is None or not any(variant.problems for variant in self.variants):
            return None
        panes = [box for name, box in self._plan.boxes.items() if name in PANES]
        if not panes:
            return Box(0, self.size.height - 8, self.size.width, 6)
        box = max(panes, key=lambda one: one.columns * one.rows)
        return Box(box.x, box.y, self.size.width - box.x, box.rows)

    def changed(self) -> None:
        """Draw soon; many changes before that are drawn once."""
        if not self._painting:
            self._painting = True
            self.call_later(self.paint)

    def paint(self) -> None:
        """Draw what changed, and see to the timers."""
        self._painting = False
        if self._plan is None:
            columns, height = self.size
            text = (
                f"This terminal is {columns} by {height}; at least {LEAST.columns} by {LEAST.rows} are needed."
                " Make it larger, or leave with q and use knobmenu try --plain."
            )
            words = wrapped(text, max(columns, 10))
            self.query_one("#small", Painted).paint(self.palette, tuple((Run(word, "text"),) for word in words))
            return
        for view in self.query(Painted):
            if view.display and view.id:
                view.paint(self.palette, self._rows(view.id))
        self._see_to_timers()

    def _rows(self, name: str) -> Drawing:
        """Return what one thing of the plan shows."""
        assert self._plan is not None
        session, parts = self.session, self.session.parts
        columns, rows = self._boxes[name][2:]
        match name:
            case "problems":
                problems = tuple(problem for variant in self.variants for problem in variant.problems)
                return problems_rows(problems, columns, rows)
            case "head":
                names = tuple(variant.title for variant in self.variants)
                return head_rows(names, *self._message, self._mode(), columns)
            case "knob":
                knob = self.variants[0].design.knob
                down = session.hand.down or self._click_timer is not None
                held_ms = session.device_ms(now_ms()) - session.hand.since_ms if session.hand.down else 0
                part = session.held_part(now_ms())
                return knob_rows(session.turned, knob.detents_per_turn, columns, rows, down, part, held_ms)
            case "steps":
                return steps_rows(session, columns, rows)
            case "place":
                return place_rows(parts, columns, rows)
            case "cost":
                return cost_rows(parts, columns, rows)
            case "tree":
                return tree_rows(parts[self.tree_variant], columns, rows)
            case "notes":
                return notes_rows(session, columns, rows)
            case "timeline":
                return timeline_rows(session, columns)
            case "keys":
                return keys_rows(columns)
        number = int(name.removeprefix("device-"))
        label = "AB"[number] if len(parts) > 1 else ""
        blink: Blink = self._phase if self.blinking else "marked"
        differs = number > 0 and parts[number].screen.rows != parts[0].screen.rows
        return device_rows(parts[number], self._plan.form, self.palette.manner, blink, label, differs)

    def _mode(self) -> str:
        return ("press: exact" if self.releases else "press: clicks") + (", poor knob" if self.poor_knob else "")

    # What the commands change.

    def now_ms(self) -> int:
        """Return the time on the clock that events are stamped by. [ms]"""
        return now_ms()

    def toggle_pane(self, name: str) -> None:
        """Show a pane, or put it away."""
        panes = list(self.wanted_panes())
        shown = self._plan is not None and name in self._plan.boxes
        if name in panes:
            panes.remove(name)
        if not shown:
            panes.append(name)
        self.panes = panes
        self._lay_out()

    def take_look(self, palette: Palette) -> None:
        """Take another look."""
        self.palette = palette
        self.app.theme = theme(palette).name
        self._lay_out()

    def draw_no_larger_than(self, kind: Kind) -> None:
        """Draw displays in a form that takes no more room than this one, or as large as fits."""
        self.least = kind
        self._lay_out()
        self.say(f"drawn as {self._plan.form}" if self._plan else "")

    def say(self, text: str, ink: str = "dim") -> None:
        """Say something in the head, until something else is said."""
        self._message = (text, ink)
        self.changed()

    # Timers: each runs only while it has something to do.

    def _see_to_timers(self) -> None:
        due = self.session.due_ms()
        if due is not None and (self._due is None or due < self._due[0]):
            if self._due is not None:
                self._due[1].stop()
            self._due = due, self.set_timer(max(due - now_ms(), 0) / 1000, self._time_passes)
        if self.session.hand.down and self._held_timer is None:
            self._held_timer = self.set_interval(HELD_S, self._hold_on)
        blinks = self.blinking and any(
            part.screen.blinking or any(lamp.blink_ms for lamp in part.design.lamps) for part in self.session.parts
        )
        assert self._blink_timer is not None
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

    # Keys and mouse.

    def on_key(self, event: events.Key) -> None:
        """Do what a key does."""
        key = BY_KEY.get(event.key) or BY_KEY.get(event.character or "")
        if key is None:
            return
        event.stop()
        event.prevent_default()
        if key.does == "press":
            self._press_key(event)
        elif key.does in _KNOB:
            _KNOB[key.does](self, real_ms(event))
            self.changed()
        elif not is_repeat(event) or key.does in ("back", "on"):
            self.run(key.does)

    def run(self, does: str) -> None:
        """Do what a key does, by its name."""
        if does in _KNOB:
            _KNOB[does](self, now_ms())
        elif does == "press":
            self.session.click(now_ms())
        else:
            COMMANDS[does](self)
        self.changed()

    def _press_key(self, event: events.Key) -> None:
        at_ms = real_ms(event)
        if self.releases:
            if not is_repeat(event):
                self.session.press("key", at_ms, event.key)
        else:
            self._repeats, repeated = held.repeats(self._repeats, event.key, at_ms)
            if repeated:
                if not self._guard_told:
                    self._guard_told = True
                    self.say("no release is told here: l presses long, h holds, or hold the mouse button", "caution")
                return
            self.session.click(at_ms)
            self._show_click()
        self.changed()

    def _show_click(self) -> None:
        if self._click_timer is not None:
            self._click_timer.stop()
        self._click_timer = self.set_timer(CLICK_SHOWN_S, self._click_over)

    def _click_over(self) -> None:
        self._click_timer = None
        self.changed()

    def key_up(self, event: KeyUp) -> None:
        """Let the knob go, if it was this key that pressed it."""
        self.session.release("key", real_ms(event), event.key)
        self.changed()

    def blurred(self, at_ms: int) -> None:
        """Let go what a window without focus hears no release of."""
        self.session.blur(at_ms)
        self.query_one(KnobView).let_go()
        self.changed()

    def on_knob_view_turned(self, message: KnobView.Turned) -> None:
        """Turn the knob with the mouse."""
        self.turn(message.clockwise, message.real_ms)
        self.changed()

    def on_knob_view_pressed(self, message: KnobView.Pressed) -> None:
        """Press the knob with the mouse."""
        self.session.press("mouse", message.real_ms)
        self.changed()

    def on_knob_view_released(self, message: KnobView.Released) -> None:
        """Let the knob go with the mouse."""
        self.session.release("mouse", message.real_ms)
        self.changed()

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """Turn clockwise, wherever the mouse is."""
        self.turn(1, real_ms(event))
        self.changed()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """Turn back, wherever the mouse is."""
        self.turn(-1, real_ms(event))
        self.changed()

    def on_timeline_view_wanted(self, message: TimelineView.Wanted) -> None:
        """Go to a place of the line."""
        self.session.go(round(message.part * self.session.history.last), now_ms())
        self.changed()

    def turn(self, clockwise: int, at_ms: int) -> None:
        """Turn the knob."""
        self.session.turn(clockwise, at_ms)

    def hold(self, at_ms: int) -> None:
        """Hold the knob down, or let it go."""
        if self.session.hand.by == "sticky":
            self.session.release("sticky", at_ms)
        else:
            self.session.press("sticky", at_ms)

    # Files.

    async def _watch(self) -> None:
        paths = tuple(variant.path for variant in self.variants if variant.path is not None)
        async for changed in watching.changes(paths):
            for variant in self.variants:
                if variant.path in changed:
                    await self.reload(variant)

    async def reload(self, variant: Variant) -> None:
        """Read a variant's file again, and take the design over, or say what is wrong in it."""
        if variant.path is None:
            return
        try:
            design = await watching.settled(variant.path)
        except DesignError as error:
            variant.problems = error.problems
            first = error.problems[0]
            where = f"{variant.path.name}:{first.line}" if first.line else variant.path.name
            self.say(f"{where} is broken; the last good design goes on", "wrong")
            self._lay_out()
            return
        was_broken = bool(variant.problems)
        variant.problems = ()
        if design == variant.design:
            if was_broken:
                self.say(f"{variant.path.name} is good again, and as it was", "good")
        else:
            dropped = self.session.redesign(self.variants.index(variant), design)
            variant.design = design
            became = f"but {dropped[0]}" if dropped else "place and values kept"
            self.say(f"{variant.path.name} read again, {became}", "caution" if dropped else "good")
        self._lay_out()


_KNOB: dict[str, Callable[[Desk, int], None]] = {
    "turn_clockwise": lambda desk, at_ms: desk.turn(1, at_ms),
    "turn_back": lambda desk, at_ms: desk.turn(-1, at_ms),
    "spin_clockwise": lambda desk, at_ms: desk.session.spin(SPIN, at_ms),
    "spin_back": lambda desk, at_ms: desk.session.spin(-SPIN, at_ms),
    "long_press": lambda desk, at_ms: desk.session.long_press(at_ms),
    "hold": lambda desk, at_ms: desk.hold(at_ms),
    "double_press": lambda desk, at_ms: desk.session.double_press(at_ms),
}
"""What the knob's keys do, at the key's own time."""
