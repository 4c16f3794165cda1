"""A question, and a request to hold the knob, on a display of cells.

The question is at the top and the answers are in the last row: no at the left, since turning down selects it, and yes
at the right. The caution of a hazard is between them, as far as there are rows for it; if there are none, the screen
reports the caution as cut. A single row shows the question and the selected answer, or the request to hold alone if
that fills the row.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from knobmenu.design.menu import Action
from knobmenu.design.settings import Switch
from knobmenu.machine.state import Asking, State
from knobmenu.screen.cells import Screen
from knobmenu.screen.characters import CellText
from knobmenu.screen.face import Face
from knobmenu.screen.lines import Line, build_screen, compose_answers, compose_plain, label_value, note_cut, wrap
from knobmenu.screen.panel import CellPanel
from knobmenu.screen.values import ValueText

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


_IMMEDIATE = (Action, Switch)

SHORTEST_QUESTION = 4
"""If fewer cells than this are left beside the request to hold, it gets the row to itself. [cells]"""


class Question(NamedTuple):
    """The question about a setting or action."""

    text: CellText
    short: CellText
    """Its short form; only a question that is a label can have one."""
    caution: CellText


def make_question(face: Face, key: str) -> Question:
    """Make the question about a setting or action: its own question, or else its label."""
    part = face.design.index.actions.get(key) or face.design.index.settings[key]
    text, short = (part.question, "") if part.question else (part.label, part.short)
    return Question(face.fit_caption(text), face.fit_caption(short), face.fit_caption(part.hazard))


def compose_question(face: Face, panel: CellPanel, focus: Asking) -> Screen:
    """Compose a question with its answers."""
    no, yes = face.fit_caption(face.design.wording.no), face.fit_caption(face.design.wording.yes)
    question = make_question(face, focus.target)
    if panel.rows > 1:
        return build_screen([*_compose_above(panel, question), compose_answers(panel, no, yes, focus.yes)], panel)
    chosen = yes if focus.yes else no
    answer = chosen._replace(text=panel.selected + chosen.text.ljust(max(len(no.text), len(yes.text))))
    line = label_value(panel, "", question.text, question.short, ValueText((answer,)))
    return build_screen([note_cut(line, question.caution.source)], panel)


def compose_hold(face: Face, panel: CellPanel, target: str) -> Screen:
    """Compose the request to hold the knob."""
    hold = face.fit_caption(face.design.wording.hold)
    question = make_question(face, target)
    if panel.rows > 1:
        return build_screen([*_compose_above(panel, question), compose_plain(panel, hold)], panel)
    if len(hold.text) > panel.columns - SHORTEST_QUESTION - 1:
        line = note_cut(compose_plain(panel, hold), question.text.source)
    else:
        line = label_value(panel, "", question.text, question.short, ValueText((hold,), False))
    return build_screen([note_cut(line, question.caution.source)], panel)


def _compose_above(panel: CellPanel, question: Question) -> list[Line]:
    """Fill all rows but the last with the question and then the caution; each gets at least one of two or more rows."""
    room = panel.rows - 1
    if room == 1:
        line = label_value(panel, "", question.text, question.short)
        return [note_cut(line, question.caution.source)]
    lines = wrap(panel, question.text, room - 1 if question.caution.text else room)
    lines += wrap(panel, question.caution, room - len(lines))
    return lines + [compose_plain(panel)] * (room - len(lines))


def list_unasked_cautions(design: Design, state: State) -> tuple[str, ...]:
    """List the cautions of what the next gesture can do without a question, so that no screen will show them.

    Turning at home never asks, an action or a switch asks only if it declares so, and an editor shows its caution.
    """
    index, home = design.index, design.home
    if not index.hazards or state.focus is not None:
        return ()
    if state.path:
        place = state.path[-1]
        pressed: Sequence[str] = [index.menus[place.menu].entries[place.entry].target] if place.entry >= 0 else ()
        turned: Sequence[str] = ()
    else:
        pressed, turned = (home.press, home.long_press, home.double_press), (home.turn, home.held_turn)
    cautions = [index.hazards[key].hazard for key in turned if key in index.hazards]
    for key in pressed:
        part = index.hazards.get(key)
        if isinstance(part, _IMMEDIATE) and part.confirm == "none":
            cautions.append(part.hazard)
    return tuple(dict.fromkeys(cautions))
