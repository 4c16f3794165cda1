"""The person's own remarks, each at its moment."""

from __future__ import annotations

from knobmenu.picture.fitting import draw_pane, fit
from knobmenu.picture.runs import Drawing, Row, Run
from knobmenu.session.session import Session
from knobmenu.terminal.input.keymap import SHOWN


def draw_notes(session: Session, columns: int, height: int) -> Drawing:
    """List the notes, the newest first.

    Args:
        session: Whose.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    rows: list[Row] = [
        fit([Run(f"{note.at_ms / 1000:>7.2f}  ", "dim"), Run(note.text, "text")], columns)
        for note in reversed(session.notes)
    ]
    if not rows:
        rows = [fit([Run("none yet; n writes one", "dim")], columns)]
    return draw_pane("notes", rows, columns, height, SHOWN["pane_notes"])
