"""The screen of a state.

For each mode, what its screen depends on is gathered from the state first; the screen is composed of that and of the
design's face, and of nothing else. So a screen that was composed before is looked up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

import attrs

from knobmenu.machine.state import (
    Asking,
    Editing,
    Holding,
    NumberDraft,
    Place,
    State,
    TextDraft,
    find_language,
    get_value,
)
from knobmenu.machine.values import Value, get_at
from knobmenu.screen.cells import Screen
from knobmenu.screen.editor import editor_screen
from knobmenu.screen.face import Face, face_of
from knobmenu.screen.home import home_keys, home_screen
from knobmenu.screen.lists import ListView, list_screen, list_sources, list_view
from knobmenu.screen.panel import CellPanel
from knobmenu.screen.question import hold_screen, list_unasked_cautions, question_screen
from knobmenu.screen.segment_layout import (
    segment_editor,
    segment_entry,
    segment_hold,
    segment_home,
    segment_question,
)

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def render(design: Design, state: State) -> Screen:
    """Show a state on the design's display.

    Args:
        design: The device's design; the state must be one of its states.
        state: The device.

    Returns:
        A screen of exactly the display's size, of characters that the display has. The same design and state always
        give an equal one. It says which characters were replaced and which texts are not shown whole.
    """
    face = face_of(design, find_language(design, state))
    focus = state.focus
    match focus:
        case None if state.path:
            return _open_list(face, state, state.path[-1])
        case None:
            values = tuple([get_value(design, state, key) for key in home_keys(face)])
            return face.recall(("home", values), lambda: _with_cautions(face, state, _home(face, values)))
        # Patterns that take a tuple apart cost as much again as finding the screen.
        case NumberDraft():
            named = ("editing", focus.setting, focus.draft, focus.place)
            return face.recall(named, lambda: _editor(face, focus))
        case TextDraft():
            return face.recall(("writing", focus.setting, focus.draft, focus.pick), lambda: _editor(face, focus))
        case Asking():
            return face.recall(("asking", focus.target, focus.yes), lambda: _question(face, focus))
        case Holding():
            return face.recall(("holding", focus.target), lambda: _hold(face, focus.target))
        case _:
            assert_never(focus)


def _open_list(face: Face, state: State, place: Place) -> Screen:
    """Show the menu that is open. Where no condition has a say, its place and the values that it shows are enough."""
    sources = face.recall(("sources", place), lambda: list_sources(face.design, place, face.panel.rows))
    if sources.conditional:
        view = list_view(face.design, state, face.panel.rows)
        return face.recall(("list", view), lambda: _compose_list(face, state, view))
    values, reports = state.values, state.reports
    shown = tuple([get_at(values, position) for position in sources.positions])
    reported = tuple([reports[position] for position in sources.readouts]) if sources.readouts else ()
    return face.recall(
        ("list", place, shown, reported),
        lambda: _compose_list(face, state, list_view(face.design, state, face.panel.rows)),
    )


def _compose_list(face: Face, state: State, view: ListView) -> Screen:
    return _with_cautions(face, state, _list(face, view))


def _with_cautions(face: Face, state: State, screen: Screen) -> Screen:
    """Report on a screen the cautions of what can be done from it without any question."""
    cautions = [face.translate(caution) for caution in list_unasked_cautions(face.design, state)]
    return attrs.evolve(screen, cut=tuple(dict.fromkeys((*screen.cut, *cautions)))) if cautions else screen


def _editor(face: Face, focus: Editing) -> Screen:
    panel = face.panel
    return editor_screen(face, panel, focus) if isinstance(panel, CellPanel) else segment_editor(face, panel, focus)


def _question(face: Face, focus: Asking) -> Screen:
    panel = face.panel
    return question_screen(face, panel, focus) if isinstance(panel, CellPanel) else segment_question(face, panel, focus)


def _hold(face: Face, target: str) -> Screen:
    panel = face.panel
    return hold_screen(face, panel, target) if isinstance(panel, CellPanel) else segment_hold(face, panel, target)


def _list(face: Face, view: ListView) -> Screen:
    panel = face.panel
    return list_screen(face, panel, view) if isinstance(panel, CellPanel) else segment_entry(face, panel, view)


def _home(face: Face, values: tuple[Value, ...]) -> Screen:
    panel = face.panel
    by_key = dict(zip(home_keys(face), values, strict=True))
    return home_screen(face, panel, by_key) if isinstance(panel, CellPanel) else segment_home(face, panel, by_key)
