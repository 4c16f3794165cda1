"""A question, and a request to hold the knob, on a display of cells.

The question is at the top and the answers are in the last row: no at the left, where the knob is turned down to, and
yes at the right. Between them stands the caution of what can hurt someone, as far as there are rows for it; where
there is none, the screen says that the caution was cut. One row shows the question and the selected answer, or the
request to hold alone where that fills it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from knobmenu.design.menu import Action
from knobmenu.design.settings import Switch
from knobmenu.machine.state import Asking, Holding, State
from knobmenu.screen.glass import Glass
from knobmenu.screen.lines import Line, answers, labelled, plain, without, wrapped
from knobmenu.screen.values import ValueText, Words

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


_DONE_AT_ONCE = (Action, Switch)

SHORTEST_QUESTION = 4
"""Where fewer cells than this are left beside the request to hold, it has the row to itself. [cells]"""


def question_lines(design: Design, state: State, glass: Glass, words: Words) -> list[Line]:
    """Compose the question that waits for an answer."""
    focus = state.focus
    assert isinstance(focus, Asking)
    no, yes = (words.get(word, word) for word in (design.wording.no, design.wording.yes))
    question, short, caution = asked(design, focus.target, words)
    if glass.rows == 1:
        width = max(len(no), len(yes))
        answer = ValueText(f"{glass.selected}{(yes if focus.yes else no).ljust(width)}", "", True)
        return [without(labelled(glass, "", question, short, answer), caution)]
    return [*_above(glass, question, short, caution), answers(glass, no, yes, focus.yes)]


def hold_lines(design: Design, state: State, glass: Glass, words: Words) -> list[Line]:
    """Compose the request to hold the knob."""
    focus = state.focus
    assert isinstance(focus, Holding)
    hold = words.get(design.wording.hold, design.wording.hold)
    question, short, caution = asked(design, focus.target, words)
    if glass.rows == 1:
        if len(glass.fitted(hold).text) > glass.columns - SHORTEST_QUESTION - 1:
            return [without(without(plain(glass, hold), question), caution)]
        return [without(labelled(glass, "", question, short, ValueText(hold, "", False)), caution)]
    return [*_above(glass, question, short, caution), plain(glass, hold)]


def asked(design: Design, key: str, words: Words) -> tuple[str, str, str]:
    """Return what is asked about a setting or action, its short label, and its caution or nothing."""
    part = design.index.actions.get(key) or design.index.settings[key]
    question, short = part.question or part.label, "" if part.question else part.short
    return words.get(question, question), words.get(short, short), words.get(part.hazard, part.hazard)


def unasked(design: Design, state: State, words: Words) -> tuple[str, ...]:
    """Return the cautions of what the knob does next without any question, so that no screen will show them.

    Turning at home never asks, an action and a switch do only where they say so, and an editor shows its caution.
    """
    index, home = design.index, design.home
    if not index.hazards:
        return ()
    if state.path:
        place = state.path[-1]
        pressed: Sequence[str] = [index.menus[place.menu].entries[place.entry].target] if place.entry >= 0 else ()
        turned: Sequence[str] = ()
    else:
        pressed, turned = (home.press, home.long_press, home.double_press), (home.turn, home.held_turn)
    at_once = [key for key in turned if key in index.hazards]
    for key in pressed:
        part = index.hazards.get(key)
        if isinstance(part, _DONE_AT_ONCE) and part.confirm == "none":
            at_once.append(key)
    return tuple(
        dict.fromkeys(words.get(caution, caution) for caution in (index.hazards[key].hazard for key in at_once))
    )


def _above(glass: Glass, question: str, short: str, caution: str) -> list[Line]:
    """Fill all rows but the last with the question and then the caution; each has a row at least, if there are two."""
    room = glass.rows - 1
    if room == 1:
        return [without(labelled(glass, "", question, short), caution)]
    lines = [*wrapped(glass, question, room - 1 if caution else room)]
    if caution:
        lines += wrapped(glass, caution, room - len(lines))
    return lines + [plain(glass, "")] * (room - len(lines))
