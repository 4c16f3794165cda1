"""The tables of docs/reference/report.md, drawn from the code."""

from __future__ import annotations

from knobmenu.review.departures import MEANINGS
from knobmenu.review.report.measures_table import COLUMNS


def departures_table() -> str:
    """Draw what each kind of departure means."""
    rows = (f"| `{kind}` | {meaning} |" for kind, meaning in MEANINGS.items())
    return "\n".join(["| kind | what happened |", "| --- | --- |", *rows]) + "\n"


def measures_table() -> str:
    """Draw what each column of the measures holds."""
    rows = (f"| `{column}` | {meaning} |" for column, meaning in COLUMNS.items())
    return "\n".join(["| column | meaning |", "| --- | --- |", *rows]) + "\n"
