"""Render the screen of a state.

For each mode, everything that the screen depends on is gathered from the state first; the screen is composed from that
and the design's face alone. So a screen that was composed before can be looked up.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar, assert_never

import attrs

from knobmenu.machine.state import (
    Asking,
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
from knobmenu.screen.editor import compose_editor
from knobmenu.screen.face import Face, get_face
from knobmenu.screen.home import compose_home, list_home_keys
from knobmenu.screen.lists import ListView, compose_list, find_list_sources, gather_list_view
from knobmenu.screen.panel import CellPanel, SegmentPanel
from knobmenu.screen.question import compose_hold, compose_question, list_unasked_cautions
from knobmenu.screen.segment_layout import (
    compose_segment_editor,
    compose_segment_entry,
    compose_segment_hold,
    compose_segment_home,
    compose_segment_question,
)

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

T = TypeVar("T")


def render(design: Design, state: State) -> Screen:
    """Render a state on the design's display.

    Args:
        design: The device's design; the state must be one of its states.
        state: The device.

    Returns:
        A screen of exactly the display's size, in characters that the display has. The same design and state always
        give an equal screen. It reports which characters were replaced and which texts are not shown in full.
    """
    face = get_face(design, find_language(design, state))
    focus = state.focus
    match focus:
        case None if state.path:
            return _show_list(face, state, state.path[-1])
        case None:
            values = tuple([get_value(design, state, key) for key in list_home_keys(face)])
            return face.recall(("home", values), lambda: _add_cautions(face, state, _compose_home(face, values)))
        # Patterns that destructure a tuple would double the time of looking up a screen.
        case NumberDraft():
            named = ("editing", focus.setting, focus.draft, focus.place)
            return face.recall(named, lambda: _compose(face, compose_editor, compose_segment_editor, focus))
        case TextDraft():
            return face.recall(
                ("writing", focus.setting, focus.draft, focus.pick),
                lambda: _compose(face, compose_editor, compose_segment_editor, focus),
            )
        case Asking():
            return face.recall(
                ("asking", focus.target, focus.yes),
                lambda: _compose(face, compose_question, compose_segment_question, focus),
            )
        case Holding():
            return face.recall(
                ("holding", focus.target), lambda: _compose(face, compose_hold, compose_segment_hold, focus.target)
            )
        case _:
            assert_never(focus)


def _show_list(face: Face, state: State, place: Place) -> Screen:
    """Show the open menu. Without conditions, the place and the values that it shows determine the screen."""
    sources = face.recall(("sources", place), lambda: find_list_sources(face.design, place, face.panel.rows))
    if sources.conditional:
        view = gather_list_view(face.design, state, face.panel.rows)
        return face.recall(("list", view), lambda: _compose_list(face, state, view))
    values, reports = state.values, state.reports
    shown = tuple([get_at(values, position) for position in sources.positions])
    reported = tuple([reports[position] for position in sources.readouts]) if sources.readouts else ()
    return face.recall(
        ("list", place, shown, reported),
        lambda: _compose_list(face, state, gather_list_view(face.design, state, face.panel.rows)),
    )


def _compose_list(face: Face, state: State, view: ListView) -> Screen:
    return _add_cautions(face, state, _compose(face, compose_list, compose_segment_entry, view))


def _add_cautions(face: Face, state: State, screen: Screen) -> Screen:
    """Report, on a screen, the cautions of what can be done from it without a question."""
    cautions = [face.translate(caution) for caution in list_unasked_cautions(face.design, state)]
    return attrs.evolve(screen, cut=tuple(dict.fromkeys((*screen.cut, *cautions)))) if cautions else screen


def _compose(
    face: Face,
    cells: Callable[[Face, CellPanel, T], Screen],
    segments: Callable[[Face, SegmentPanel, T], Screen],
    shown: T,
) -> Screen:
    """Compose a screen as the display's kind has it: of rows of cells, or of segments."""
    panel = face.panel
    return cells(face, panel, shown) if isinstance(panel, CellPanel) else segments(face, panel, shown)


def _compose_home(face: Face, values: tuple[Value, ...]) -> Screen:
    by_key = dict(zip(list_home_keys(face), values, strict=True))
    return _compose(face, compose_home, compose_segment_home, by_key)
