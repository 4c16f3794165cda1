"""All moments of the branch as a bar, and where the present one is."""

from __future__ import annotations

from knobmenu.picture.runs import Drawing, Row, Run, merge
from knobmenu.session.session import Session

_WORDS = 44
"""Room for the words at the right. [terminal cells]"""


def find_requested_part(column: int, columns: int) -> float | None:
    """Return the position on the branch of a click on the bar, 0 to 1; None beside the bar.

    Args:
        column: Where the click is. [terminal cells]
        columns: Width. [terminal cells]
    """
    width = _compute_bar_columns(columns)
    return (column - 1) / (width - 1) if 1 <= column <= width else None


def _compute_bar_columns(columns: int) -> int:
    return max(columns - _WORDS - 2, 4)


def draw_bar(session: Session, columns: int) -> Drawing:
    """Draw the bar.

    Args:
        session: Whose.
        columns: Width. [terminal cells]
    """
    past = session.history
    width = _compute_bar_columns(columns)
    filled = width - 1 if not past.last else past.place * (width - 1) // past.last
    words = f"event {past.place} of {past.last}"
    if past.branches > 1:
        words += f", branch {past.branch} of {past.branches}"
    state, ink = _describe_state(session)
    row: Row = merge(
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


def _describe_state(session: Session) -> tuple[str, str]:
    if session.history.in_past:
        return "in the past", "caution"
    if session.frozen:
        return "time frozen", "caution"
    return "live", "good"
