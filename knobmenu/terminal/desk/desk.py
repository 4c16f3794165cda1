"""The desk: the devices, the knob and the panes around them; what it holds, shows and lets a command change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from knobmenu.files.running import RunningRecording
from knobmenu.picture.forms import Kind
from knobmenu.picture.palettes import Palette
from knobmenu.picture.runs import Pictures
from knobmenu.session.session import Session
from knobmenu.session.source import IdealEncoder
from knobmenu.session.variants import Variant
from knobmenu.terminal.clock import now_ms
from knobmenu.terminal.desk.layout import Plan
from knobmenu.terminal.desk.showing import Scene, hide_tools, pictures, plan_desk
from knobmenu.terminal.input.keymap import SHOWN
from knobmenu.terminal.knob_screen import KnobScreen
from knobmenu.terminal.notice import HINT, Notice

if TYPE_CHECKING:
    from knobmenu.bench.simulated import NamedChain, SimulatedEncoder
    from knobmenu.files.kept import KeptText
    from knobmenu.terminal.bench.screen import BenchScreen


class Desk(KnobScreen):
    """The screen on which a device is tried, but for its keys and mouse: what it holds, and what it shows."""

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
        super().__init__(palette, blinking)
        self.variants = list(variants)
        self.recording = recording or RunningRecording()
        self.session, self._dropped = self.recording.begin([variant.design for variant in variants], now_ms())
        self.least: Kind = least
        self.chain = chain
        """The signal chain of the simulated encoder; None: a built-in one."""
        self.simulated: SimulatedEncoder | None = None
        """The simulated encoder, while it is in use."""
        self.bench: BenchScreen | None = None
        """The bench, while it stands in front."""
        self.kept_chain: KeptText | None = None
        """Keeps the bench's chain, once that was opened."""
        self.panes: list[str] | None = None
        """The requested panes, in ascending order of priority; None: all, as far as there is room."""
        self.presenting = False
        """Whether only the device and its knob are shown, and only the knob's keys work."""
        self.stays_presented = False
        """Whether no key ends the presentation."""
        self.tree_variant = 0
        """The index of the variant whose tree is shown and whose events are saved."""
        self._notice = Notice(HINT)
        self._plan: Plan | None = None
        self._strokes = 0

    # Showing.

    def on_resize(self) -> None:
        """Lay everything out again."""
        self.lay_out()

    def list_requested_panes(self) -> tuple[str, ...]:
        """List the requested panes, the most important last."""
        if self.panes is not None:
            return tuple(self.panes)
        return ("notes", "menu", "cost", "place", "events")

    def lay_out(self) -> None:
        """Lay out everything that is shown, and draw it."""
        columns, rows = self.app.size
        panes = () if self.presenting else self.list_requested_panes()
        plan = plan_desk(columns, rows, self.variants, panes, self.least)
        self._plan = hide_tools(plan) if plan is not None and self.presenting else plan
        self.paint()

    def pictures(self) -> Pictures:
        """Draw everything that is shown."""
        self._hear_stroke()
        if (news := self.recording.report_change()) is not None:
            self._notice = Notice(*news, now_ms())
        scene = Scene(
            session=self.session,
            variants=self.variants,
            palette=self.palette,
            shading=self.shading,
            columns=self.app.size.width,
            rows=self.app.size.height,
            plan=self._plan,
            notice=self._notice,
            pressing="press: exact" if self.releases else "press: clicks",
            clicked=self.clicked,
            blink=self.blink,
            tree_variant=self.tree_variant,
            simulated=self.simulated,
            real_ms=now_ms(),
        )
        return pictures(scene)

    def _hear_stroke(self) -> None:
        """Report how a simulated encoder counted, each time that it has come to rest."""
        encoder = self.simulated
        strokes = 0 if encoder is None else encoder.tally.strokes
        if encoder is not None and strokes > self._strokes:
            from knobmenu.bench.tally import format_stroke

            self._notice = Notice(format_stroke(encoder.last), "caution" if encoder.last.errors else "good", now_ms())
        self._strokes = strokes

    def begin_recording(self) -> None:
        """Record the session from now on if that has not begun, and offer one of before that was not saved."""
        if self.session.timeline.recorder is not None and self.recording.kept is not None:
            self.run_worker(self._offer(), group="offer", exit_on_error=False)

    async def _offer(self) -> None:
        offer = await self.recording.offer([variant.path for variant in self.variants])
        if offer and self._notice.text.endswith(HINT):
            self.say(f"{SHOWN['resume']} resumes {offer}", "caution")

    # What the commands change.

    def take_session(self, session: Session) -> None:
        """Go on with another session of the same variants; what keys asked of the one before is dropped."""
        self._waiting = []
        self.session = session
        if self.simulated is not None:
            self.use_simulated_encoder(self.simulated.named)

    def use_simulated_encoder(self, named: NamedChain) -> None:
        """Send turns and presses through a signal chain."""
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
        panes = list(self.list_requested_panes())
        shown = self._plan is not None and name in self._plan.boxes
        if name in panes:
            panes.remove(name)
        if not shown:
            panes.append(name)
        self.panes = panes
        self.lay_out()

    def draw_no_larger_than(self, kind: Kind) -> None:
        """Draw displays in a form that takes no more room than this one, or as large as fits."""
        self.least = kind
        self.lay_out()
        self.say(f"drawn as {self._plan.form}" if self._plan else "")

    def say(self, text: str, ink: str = "dim") -> None:
        """Show a message in the header, until another replaces it or a key is struck after a while."""
        self._notice = Notice(text, ink, now_ms())
        self.changed()

    def picture(self) -> str:
        """Draw what is shown now, as SVG."""
        title = " and ".join(variant.design.name for variant in self.variants)
        # Late, since it takes a while and few sessions make a picture.
        from knobmenu.picture.svg import draw_svg

        return draw_svg(self.palette, self._canvas.pictures, *self.size, title)
