"""The person's own remarks, each at its moment."""

from __future__ import annotations

from knobmenu.terminal.drawing.runs import Drawing, Row, Run
from knobmenu.terminal.session import Note, Session
from knobmenu.terminal.views.fitting import fitted, titled


def notes_rows(session: Session, columns: int, height: int) -> Drawing:
    """List the notes, the newest first.

    Args:
        session: Whose.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    rows: list[Row] = [
        fitted([Run(f"{_when(session, note)}  ", "dim"), Run(note.text, "text")], columns)
        for note in reversed(session.notes)
    ]
    if not rows:
        rows = [fitted([Run("none yet; n writes one", "dim")], columns)]
    return titled("notes", rows, columns, height)


def _when(session: Session, note: Note) -> str:
    """Say at which device time a note was written; its moment may be among those that were let go."""
    moment = session.history.moment(note.number)
    return " " * 7 if moment is None else f"{moment.at_ms / 1000:>7.2f}"
