"""The screen of a state."""

from __future__ import annotations

from typing import TYPE_CHECKING

import attrs

from knobmenu.design.hardware import SegmentDisplay
from knobmenu.machine.state import Asking, Editing, State, language_of
from knobmenu.screen.cells import Screen
from knobmenu.screen.digits import digits_screen
from knobmenu.screen.editor import editor_lines
from knobmenu.screen.glass import glass_of
from knobmenu.screen.home import home_lines
from knobmenu.screen.lines import screen_of
from knobmenu.screen.lists import list_lines
from knobmenu.screen.question import hold_lines, question_lines, unasked
from knobmenu.screen.values import Words

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
    words = design.index.words[language_of(design, state)]
    screen = _composed(design, state, words)
    cautions = unasked(design, state, words) if state.focus is None else ()
    return attrs.evolve(screen, cut=tuple(dict.fromkeys((*screen.cut, *cautions)))) if cautions else screen


def _composed(design: Design, state: State, words: Words) -> Screen:
    display, focus = design.display, state.focus
    if isinstance(display, SegmentDisplay):
        return digits_screen(design, state, display.digits, words)
    glass = glass_of(display)
    if focus is None:
        lines = (list_lines if state.path else home_lines)(design, state, glass, words)
    elif isinstance(focus, Editing):
        lines = editor_lines(design, state, glass, words)
    elif isinstance(focus, Asking):
        lines = question_lines(design, state, glass, words)
    else:
        lines = hold_lines(design, state, glass, words)
    return screen_of(tuple(lines), glass.columns, glass.rows)
