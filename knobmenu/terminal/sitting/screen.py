"""The screen of a participant's sitting, and its app."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from textual import events

from knobmenu.errors import RecordingError
from knobmenu.picture.palettes import Palette
from knobmenu.picture.runs import Box, Drawing, Pictures, Run
from knobmenu.review import pages
from knobmenu.review.answering import write
from knobmenu.review.ongoing import OngoingSitting
from knobmenu.review.pages import Answer, Choice, Line, Page
from knobmenu.review.sitting import AskedQuestion, Consent, Practice
from knobmenu.review.study import Trial
from knobmenu.session import repeats
from knobmenu.session.repeats import Repeats
from knobmenu.session.variants import Variant
from knobmenu.terminal.backend.parser import is_repeat
from knobmenu.terminal.clock import now_ms, real_ms
from knobmenu.terminal.desk.layout import LEAST
from knobmenu.terminal.desk.showing import hide_tools, plan_desk
from knobmenu.terminal.desk.views.device import draw_device
from knobmenu.terminal.desk.views.knob import draw_knob_and_words
from knobmenu.terminal.drawing.frame import draw_keys, draw_too_small
from knobmenu.terminal.input.keymap import BY_KEY
from knobmenu.terminal.input.turning import KNOB
from knobmenu.terminal.knob_screen import AppWithKnob, KnobScreen
from knobmenu.terminal.sitting.drawing import (
    DEVICE_KEYS,
    PRACTICE_KEYS,
    divide,
    draw_page,
    draw_task,
)
from knobmenu.terminal.sitting.keys import strike

UNREAD_MS = 250
"""For how long a press is not an answer to a new page yet: it was meant for what was there before. [ms]"""

LEAVING = ("ctrl+c", "ctrl+q")
"""The moderator's keys; no participant strikes them by accident, and they ask."""


class Open(Protocol):
    """A sitting that is being recorded."""

    @property
    def ongoing(self) -> OngoingSitting:
        """The sitting."""

    @property
    def problem(self) -> str:
        """Why it cannot be recorded any more; nothing while it can."""

    def close(self) -> None:
        """Stop recording it."""


class SittingScreen(KnobScreen):
    """A sitting: pages to read and to answer, and between them the device."""

    def __init__(self, opened: Open, reopen: Callable[[], Open], palette: Palette, blinking: bool = True) -> None:
        """Begin at the stage that comes next.

        Args:
            opened: The sitting.
            reopen: Opens it again, as after a crash; raises `RecordingError`.
            palette: The look.
            blinking: Whether anything may blink.
        """
        super().__init__(palette, blinking)
        self._reopen = reopen
        self._notice = ""
        self._take(opened)

    def on_mount(self) -> None:
        """Begin."""
        self.begin()
        self.changed()

    def on_unmount(self) -> None:
        """Stop recording."""
        self._open.close()

    def on_resize(self) -> None:
        """Lay everything out again."""
        self.paint()

    # The sitting.

    @property
    def ongoing(self) -> OngoingSitting:
        """The sitting."""
        return self._open.ongoing

    @property
    def works(self) -> bool:
        """Whether the participant has the device."""
        return self._page is None

    def _take(self, opened: Open) -> None:
        """Go on with a sitting that was opened."""
        self._open = opened
        self._go_on("")

    def _show(self, page: Page, answered: Callable[[Answer], None]) -> None:
        self._page: Page | None = page
        """The page that the participant reads; None while they have the device."""
        self._answered = answered
        """The function that receives the answer."""
        self._page_ms = now_ms()
        """Since when the page, or the part of its text, is shown. [ms of real time]"""

    def _go_on(self, remark: str) -> None:
        """Show the page of the stage that comes next."""
        self.session = self.ongoing.session
        self._show(pages.make_page(self.ongoing, remark), self._answer_step)

    def _put_device(self) -> None:
        self.ongoing.put_device(now_ms())
        self.session = self.ongoing.session
        self._return_to_device()

    def _return_to_device(self) -> None:
        self._page, self._notice = None, ""

    def _answer_step(self, answer: Answer) -> None:
        """Process the answer to the page of a stage."""
        match self.ongoing.stage:
            case None:
                self.app.exit()
            case Consent():
                if answer == pages.REFUSE:
                    self.app.exit()
                else:
                    self.ongoing.agree(now_ms())
                    self._go_on("")
            case Practice() | Trial():
                self._put_device()
            case AskedQuestion():
                self.ongoing.answer(answer, now_ms())
                self._go_on("")

    def _take_give_up(self, answer: Answer) -> None:
        if answer == 0:
            self._return_to_device()
        elif isinstance(self.ongoing.stage, Practice):
            self.ongoing.end_practice(now_ms())
            self._go_on("")
        else:
            self.ongoing.give_up(now_ms())
            self._go_on("")

    def _ask_to_leave(self) -> None:
        page, answered = self._page, self._answered

        def leave(answer: Answer) -> None:
            if answer:
                self.app.exit()
            elif page is None:
                self._return_to_device()
            else:
                self._show(page, answered)

        self._show(pages.make_leave_page(self.ongoing.sitting.code), leave)

    def _repair(self, answer: Answer) -> None:
        """Open the recording again, as after a crash: what is on disk is what counts."""
        if answer:
            self.app.exit()
            return
        try:
            self._take(self._reopen())
        except RecordingError as error:
            self._show(pages.make_repair_page(str(error)), self._repair)

    def changed(self) -> None:
        """Draw soon; a recording that cannot be written pauses the sitting."""
        if self._open.problem and not self._paused:
            self._open.close()
            self._show(pages.make_repair_page(self._open.problem), self._repair)
        super().changed()

    @property
    def _paused(self) -> bool:
        """Whether the sitting is paused until it can be recorded again."""
        return self._answered == self._repair

    # Time.

    def due_ms(self) -> int | None:
        """Return when something happens next by time alone. [ms of real time]"""
        return None if self._paused else self.ongoing.find_due_ms()

    def pass_time(self, real_ms: int) -> None:
        """Do everything that is due; show the next page if that ends a task."""
        if self._paused:
            return
        before = self.ongoing.sitting
        self.ongoing.pass_time(real_ms)
        if self.ongoing.sitting is not before:
            self._go_on(pages.describe_end(self.ongoing))

    # Keys.

    def on_key(self, event: events.Key) -> None:
        """Answer a page, or operate the knob."""
        event.stop()
        event.prevent_default()
        if event.key in LEAVING:
            self._ask_to_leave()
        elif self._page is not None:
            self._strike_page(self._page, event)
        elif event.key == "escape":
            self._show(pages.make_stop_page(self.ongoing), self._take_give_up)
        elif event.key in BY_KEY and BY_KEY[event.key].does in KNOB:
            self._notice = ""
            self.work(BY_KEY[event.key], event)
            self.pass_time(real_ms(event))
        self.changed()

    def _strike_page(self, page: Page, event: events.Key) -> None:
        if self._is_too_small:
            return
        presses = not isinstance(page, Line) and event.key in BY_KEY and BY_KEY[event.key].does == "press"
        if presses:
            self._repeats, repeated = repeats.follow(self._repeats, event.key, real_ms(event))
            if repeated or is_repeat(event) or real_ms(event) - self._page_ms < UNREAD_MS:
                return
        else:
            self._repeats = Repeats()
        parts = [part.before for part in divide(page, *self.app.size)]
        struck, answer = strike(page, event.key, event.character, parts)
        if isinstance(page, Choice) and isinstance(struck, Choice) and struck.read != page.read:
            self._page_ms = now_ms()
        self._page = struck
        if answer is not None:
            self._answered(answer)

    def on_paste(self, event: events.Paste) -> None:
        """Write what is pasted."""
        event.stop()
        if isinstance(self._page, Line):
            self._page = write(self._page, event.text)
            self.changed()

    def say(self, text: str, ink: str = "dim") -> None:
        """Show a message in the last row, until the next key."""
        self._notice = text

    # Showing.

    def pictures(self) -> Pictures:
        """Draw the page, or the task and the device."""
        columns, rows = self.app.size
        if self._is_too_small:
            return draw_too_small(columns, rows, LEAST, "Make it larger.")
        if self._page is not None:
            return draw_page(self._page, columns, rows)
        words = draw_task(pages.describe_use(self.ongoing), columns)
        keys = draw_keys(PRACTICE_KEYS if isinstance(self.ongoing.stage, Practice) else DEVICE_KEYS, columns)
        if self._notice:
            keys = ((Run(f" {self._notice}", "caution"),),)
        above = 1 + len(words)
        device = self._draw_device(columns, rows - above - 1)
        return {
            "task": (Box(0, 1, columns, len(words)), words),
            **{name: (box._replace(y=box.y + above), drawing) for name, (box, drawing) in device.items()},
            "keys": (Box(0, rows - 1, columns, 1), keys),
        }

    @property
    def _is_too_small(self) -> bool:
        """Whether the terminal shows neither pages nor the device."""
        columns, rows = self.app.size
        return columns < LEAST.columns or rows < LEAST.rows

    def _draw_device(self, columns: int, rows: int) -> Pictures:
        """Draw the device and its knob as large as fits."""
        part = self.session.parts[0]
        # The plan of a whole desk has a header above the device, and two rows below it.
        plan = plan_desk(columns, rows + _DESK_ROWS, [Variant(part.design, None)], ())
        if plan is None:
            return draw_too_small(columns, rows, LEAST, "Make it larger.")
        drawn: dict[str, tuple[Box, Drawing]] = {}
        for name, box in hide_tools(plan).boxes.items():
            if name == "knob":
                drawing = draw_knob_and_words(
                    self.session, box.columns, box.rows, now_ms(), self.clicked, shading=self.shading
                )
            else:
                drawing = draw_device(part, plan.form, self.palette.manner, self.blink, box.rows)
            drawn[name] = box._replace(y=box.y - 1), drawing
        return drawn


_DESK_ROWS = 3
"""The rows of a desk that a sitting does not show: its header, the history and the keys. [terminal cells]"""


class SittingApp(AppWithKnob):
    """A participant's sitting."""

    CSS_PATH = "../look.tcss"
    TITLE = "knobmenu study"
    ENABLE_COMMAND_PALETTE = False

    def __init__(
        self, opened: Open, reopen: Callable[[], Open], look: Palette | None = None, blinking: bool = True
    ) -> None:
        """Make the app.

        Args:
            opened: The sitting.
            reopen: Opens it again, as after a crash; raises `RecordingError`.
            look: The look; None: what suits the terminal.
            blinking: Whether anything may blink.
        """
        super().__init__(look)
        self.sitting = self.knob_screen = SittingScreen(opened, reopen, self.look, blinking and self.blinking)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Refuse to leave or to suspend by the library's own keys."""
        return False
