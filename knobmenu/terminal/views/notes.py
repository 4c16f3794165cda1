"""The person's own remarks, each at its moment."""

from __future__ import annotations

from knobmenu.terminal.drawing.runs import Drawing, Row, Run
from knobmenu.terminal.keymap import SHOWN
from knobmenu.terminal.session import Session
from knobmenu.terminal.views.fitting import fitted, titled


def notes_rows(session: Session, columns: int, height: int) -> Drawing:
    """List the notes, the newest first.

    Args:
        session: Whose.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    rows: list[Row] = [
        fitted([Run(f"{note.at_ms / 1000:>7.2f}  ", "dim"), Run(note.text, "text")], columns)
        for note in reversed(session.notes)
    ]
    if not rows:
        rows = [fitted([Run("none yet; n writes one", "dim")], columns)]
    return titled("notes", rows, columns, height, SHOWN["pane_notes"])
