"""All moments of the line as a bar, and where the present one is."""

from __future__ import annotations

from textual import events
from textual.message import Message

from knobmenu.terminal.drawing.runs import Drawing, Row, Run, merged
from knobmenu.terminal.session import Session
from knobmenu.terminal.widgets.painted import Painted

_WORDS = 44
"""Room for the words at the right. [terminal cells]"""


class TimelineView(Painted):
    """The timeline; a click on it goes there."""

    class Wanted(Message):
        """A place on the bar was clicked, 0 to 1."""

        def __init__(self, part: float) -> None:
            self.part = part
            super().__init__()

    def on_click(self, event: events.Click) -> None:
        """Go there."""
        width = self.size.width - _WORDS - 1
        if event.x <= width:
            self.post_message(self.Wanted(max(event.x - 1, 0) / max(width - 1, 1)))


def timeline_rows(session: Session, columns: int) -> Drawing:
    """Draw the bar.

    Args:
        session: Whose.
        columns: Width. [terminal cells]
    """
    past = session.history
    width = max(columns - _WORDS - 2, 4)
    filled = width - 1 if not past.last else past.place * (width - 1) // past.last
    words = f"step {past.place} of {past.last}"
    if past.lines > 1:
        words += f", line {past.line_number} of {past.lines}"
    state, ink = _state(session)
    row: Row = merged(
        [
            Run(" ", "text"),
            Run("━" * filled, "accent"),
            Run("●", "accent"),
            Run("─" * (width - 1 - filled), "dim"),
            Run(f"  {words}, ", "text"),
            Run(state, ink),
        ]
    )
    return (row,)


def _state(session: Session) -> tuple[str, str]:
    if session.history.in_past:
        return "in the past", "caution"
    if session.frozen:
        return "time frozen", "caution"
    return "live", "good"
