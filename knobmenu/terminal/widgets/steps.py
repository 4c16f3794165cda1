"""What just happened: events and effects, the newest first, so that the eye stays near the device."""

from __future__ import annotations

from functools import lru_cache

from knobmenu.events import HeldTurn, Press, Report, Turn, Wait
from knobmenu.machine.effects import Flash, ScreenEntered, Sound
from knobmenu.machine.state import Editing
from knobmenu.terminal.drawing.runs import Drawing, Row, Run
from knobmenu.terminal.history import Moment
from knobmenu.terminal.session import Session
from knobmenu.terminal.trying import Part
from knobmenu.terminal.widgets.painted import Painted, fitted, titled
from knobmenu.transcript import effect_words, event_words, value_words

_WHAT = 11
"""Width of the column of events. [terminal cells]"""


class StepsView(Painted):
    """The log."""


def steps_rows(session: Session, columns: int, height: int) -> Drawing:
    """List the present moment and those before it.

    Args:
        session: Whose.
        columns: Width of the pane. [terminal cells]
        height: Height of it. [terminal cells]
    """
    notes: dict[int, str] = {}
    for note in session.notes:
        notes[note.number] = f"{notes[note.number]}; {note.text}" if note.number in notes else note.text
    rows: list[Row] = []
    for moment in session.history.back_from_present(height):
        if moment.number in notes:
            rows.append(fitted([Run("   ✎ ", "accent"), Run(notes[moment.number], "strong")], columns))
        rows.append(_row(moment, not rows, columns))
    return titled("events and effects, newest first", rows[: height - 1], columns, height)


@lru_cache(maxsize=4096)
def _row(moment: Moment, newest: bool, columns: int) -> Row:
    """Write one moment."""
    runs = [
        Run(("▸" if newest else " ") + f"{moment.number:>3}", "accent" if newest else "dim"),
        Run(f"{moment.at_ms / 1000:>8.2f}  ", "dim"),
    ]
    told = [part for part in moment.parts if part.event is not None]
    if not told:
        return fitted([*runs, Run(moment.remark, "good")], columns)
    runs.append(Run(f"{event_words(told[0].design, told[0].event):<{_WHAT}} ", _ink(told[0])))
    followed = [_effects(part) for part in moment.parts]
    runs.append(Run(followed[0] if len(set(followed)) == 1 else "", "strong" if newest else "text"))
    if len(set(followed)) > 1:
        for letter, words in zip("AB", followed, strict=False):
            runs += [Run(f"{letter} ", "caution"), Run(f"{words or 'nothing'}  ", "strong" if newest else "text")]
    return fitted(runs, columns)


def _ink(part: Part) -> str:
    match part.event:
        case Turn() | HeldTurn():
            return "turn"
        case Wait() | Report():
            return "dim"
        case Press():
            return "press"
        case _:
            return "press"


def _effects(part: Part) -> str:
    """Say what followed; where nothing did, where the selection went."""
    words = [
        effect_words(part.design, effect)
        for effect in part.effects
        if not isinstance(effect, Sound | Flash | ScreenEntered)
    ]
    words += [
        f"{effect.mode.value} {effect.key}".rstrip() for effect in part.effects if isinstance(effect, ScreenEntered)
    ]
    words += [effect_words(part.design, effect) for effect in part.effects if isinstance(effect, Sound)]
    if words:
        return ", ".join(words)
    focus = part.state.focus
    if isinstance(focus, Editing):
        return f"draft {value_words(part.design, focus.setting, focus.draft)}"
    if focus is None and part.state.path and isinstance(part.event, Turn | HeldTurn):
        place = part.state.path[-1]
        entries = part.design.index.menus[place.menu].entries
        return f"to {entries[place.entry].target}" if place.entry >= 0 else ""
    return ""
