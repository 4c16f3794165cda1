"""The desk without a terminal library: what is done by words, and what is then seen, as pictures or as text.

Time moves only here, by `STEP_MS` for each thing that is done, so the same words always show the same.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rich.cells import cell_len

from knobmenu.bench.simulated import SimulatedEncoder
from knobmenu.picture.display import Blink
from knobmenu.picture.forms import Kind
from knobmenu.picture.palettes import DARK, Palette
from knobmenu.picture.runs import Pictures
from knobmenu.picture.svg import draw_svg
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from knobmenu.session.variants import Variant
from knobmenu.terminal.desk.layout import PANES
from knobmenu.terminal.desk.showing import Scene, pictures, plan_desk
from knobmenu.terminal.notice import HINT, Notice

STEP_MS = 400
"""Between two things that are done. [ms]"""


def _hold(session: Session, at_ms: int) -> None:
    session.press("sticky", at_ms)


_DONE: dict[str, Callable[[Session, int], object]] = {
    "up": lambda session, at_ms: session.turn(1, at_ms),
    "down": lambda session, at_ms: session.turn(-1, at_ms),
    "spin": lambda session, at_ms: session.spin(5, at_ms),
    "press": Session.click,
    "long": Session.long_press,
    "hold": _hold,
    "wait": Session.pass_time,
    "back": Session.go_back,
    "on": Session.go_forward,
    "first": lambda session, at_ms: session.go(0, at_ms),
    "freeze": Session.freeze,
}


class Stage:
    """A desk on which things are done by words."""

    def __init__(self, variants: Sequence[Variant]) -> None:
        """Switch the devices on."""
        self.variants = list(variants)
        self.session = Session(Timeline([variant.design for variant in variants]), 0)
        self.now_ms = 0
        self.notice = Notice(HINT)
        self.simulated: SimulatedEncoder | None = None

    def use(self, simulated: SimulatedEncoder) -> None:
        """Let turns and presses go through a simulated encoder."""
        self.simulated = simulated
        self.session.take_source(simulated, self.now_ms)

    def do(self, words: str) -> Stage:
        """Do something by words, such as ``up up press note:slow wait``."""
        for word in words.split():
            self.now_ms += STEP_MS
            if word.startswith("note:"):
                self.session.timeline.note(word.removeprefix("note:").replace("_", " "), self.now_ms)
            else:
                _DONE[word](self.session, self.now_ms)
        return self

    def pictures(
        self,
        columns: int,
        rows: int,
        palette: Palette = DARK,
        panes: tuple[str, ...] = ("notes", "menu", "cost", "place", "events"),
        least: Kind = "half",
        blink: Blink = "marked",
    ) -> Pictures:
        """Draw what is seen now."""
        assert set(panes) <= set(PANES)
        scene = Scene(
            session=self.session,
            variants=self.variants,
            palette=palette,
            shading=palette.shading,
            columns=columns,
            rows=rows,
            plan=plan_desk(columns, rows, self.variants, panes, least),
            notice=self.notice,
            pressing="press: clicks",
            clicked=False,
            blink=blink,
            tree_variant=0,
            real_ms=self.now_ms,
            simulated=self.simulated,
        )
        return pictures(scene)

    def svg(self, columns: int, rows: int, palette: Palette = DARK) -> str:
        """Draw what is seen now as SVG."""
        title = " and ".join(variant.design.name for variant in self.variants)
        return draw_svg(palette, self.pictures(columns, rows, palette, blink="shown"), columns, rows, title)

    def text(self, columns: int, rows: int) -> str:
        """Write what is seen now as lines of text."""
        return text_on_screen(self.pictures(columns, rows), columns, rows)


def text_on_screen(shown: Pictures, columns: int, rows: int) -> str:
    """Put pictures together as text, one line a row, without the blanks at the lines' ends."""
    lines = [[" "] * columns for _ in range(rows)]
    for box, drawing in shown.values():
        for y, row in enumerate(drawing[: box.rows], box.y):
            x = box.x
            for sign in "".join(run.text for run in row):
                width = cell_len(sign)
                assert x + width <= box.x + box.columns, f"row {y} is longer than its place: {row}"
                lines[y][x : x + width] = [sign, *[""] * (width - 1)]
                x += width
    return "".join("".join(line).rstrip() + "\n" for line in lines)
