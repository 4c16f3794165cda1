"""The history: events and effects, each event on a row of its own."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

from knobmenu.events import HeldTurn, Report, Turn, Wait
from knobmenu.picture.fitting import draw_pane, fit, pad
from knobmenu.picture.runs import Drawing, Row, Run
from knobmenu.session.facts import describe_outcome
from knobmenu.session.narration import describe_event
from knobmenu.session.part import Part, Snapshot
from knobmenu.session.session import Session
from knobmenu.terminal.input.keymap import SHOWN

When = Literal["past", "present", "future"]

_WHAT = 13
"""Width of the column of events. [terminal cells]"""


def draw_events(session: Session, columns: int, height: int) -> Drawing:
    """List the events around the present moment, the newest at the top.

    Args:
        session: Whose.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    past = session.history
    room = max(height - 1, 1)
    # In the past, the present moment stays in the middle of the list as far as there is something on both sides.
    newest = min(past.last, max(past.place + room // 2, room - 1))
    rows: list[Row] = []
    for place in range(newest, max(newest - room, -1), -1):
        when: When = "present" if place == past.place else "past" if place < past.place else "future"
        notes = _list_notes(session, place) if session.notes else ()
        rows.append(_draw_row(place, past.get(place), when, notes, columns))
    return draw_pane("events, newest first", rows, columns, height, SHOWN["pane_events"])


def _list_notes(session: Session, place: int) -> tuple[str, ...]:
    number = session.history.get_number(place)
    return tuple(note.text for note in session.notes if note.number == number)


@lru_cache(maxsize=4096)
def _draw_row(place: int, snapshot: Snapshot, when: When, notes: tuple[str, ...], columns: int) -> Row:
    """Write one moment."""
    future = when == "future"
    present = when == "present"
    runs = [
        Run(("▸" if present else " ") + f"{place:>3}", "accent" if present else "dim"),
        Run("✎" if notes else " ", "accent"),
        Run(f"{_format_seconds(snapshot.at_ms):>6}  ", "dim"),
    ]
    ink = "dim" if future else "strong" if present else "text"
    reached = [part for part in snapshot.parts if part.event is not None]
    if reached:
        runs.append(Run(f"{pad(_describe_event(reached[0]), _WHAT)} ", "dim" if future else _choose_ink(reached[0])))
        outcomes = [describe_outcome(part) for part in snapshot.parts]
        if len(set(outcomes)) == 1:
            runs.append(Run(outcomes[0], ink))
        else:
            for letter, words in zip("AB", outcomes, strict=False):
                runs += [Run(f"{letter} ", "caution"), Run(f"{words or 'nothing'}  ", ink)]
    else:
        runs.append(Run(snapshot.remark, "dim" if future else "good"))
    if notes:
        runs.append(Run(f"  {'; '.join(notes)}", "accent"))
    return fit(runs, columns)


def _format_seconds(at_ms: int) -> str:
    """Format a time in hundredths of a second, or in tenths if that would need more room."""
    return f"{at_ms / 1000:.2f}" if at_ms < 999_995 else f"{at_ms / 1000:.1f}"


def _describe_event(part: Part) -> str:
    """Describe the event, a turn while held in the notation of traces."""
    if isinstance(part.event, HeldTurn):
        return f"held {part.event.detents:+d}"
    return describe_event(part.design, part.event)


def _choose_ink(part: Part) -> str:
    match part.event:
        case Turn() | HeldTurn():
            return "turn"
        case Wait() | Report():
            return "dim"
        case _:
            return "press"
