"""Layouts for a row of seven-segment digits, which shows one thing at a time.

- Home: its row with the values filled in; or the value that turning changes; or the device's name.
- A list: the label of the selected entry, or its short label if the label does not fit or cannot be spelled. The value
  of a switch or readout, which is not shown anywhere else, is at the right if both fit. If not, a switch that is on
  lights the last point, and a readout shows its value alone. A disabled entry lights the first point.
- An editor: the value at the right; the part that turning changes blinks. A text shows its end and what is picked, with
  ``dEL`` and ``End`` for delete and done.
- A question: the selected answer, blinking. The question itself is not shown, and the screen reports it as cut.
- A request to hold: its text, as far as it fits.

A number keeps its unit if the widest value and the unit fit; otherwise it loses the unit, then the blanks before it. A
number that still does not fit becomes hyphens. Words are cut at their end, without a mark.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import assert_never

import attrs

from knobmenu.design.settings import Switch, TextSetting
from knobmenu.design.whole import Kind
from knobmenu.machine.state import Asking, Editing, NumberDraft, TextDraft
from knobmenu.machine.values import Value
from knobmenu.screen.cells import Screen, Span
from knobmenu.screen.characters import CellText
from knobmenu.screen.face import Face
from knobmenu.screen.home import fill
from knobmenu.screen.lines import merge
from knobmenu.screen.lists import ListView, fit_captions
from knobmenu.screen.panel import SegmentPanel
from knobmenu.screen.question import make_question
from knobmenu.screen.segments import fit, lay_out
from knobmenu.screen.values import (
    ValueText,
    get_bare_form,
    get_longest_form,
    get_shortest_form,
    join_texts,
    write_draft,
    write_value,
)


def compose_segment_home(face: Face, panel: SegmentPanel, values: Mapping[str, Value]) -> Screen:
    """Compose the home screen.

    Args:
        face: The design on its display.
        panel: The display.
        values: The values of `knobmenu.screen.home.list_home_keys`.
    """
    home = face.design.home
    if not home.rows:
        if home.turn:
            return _compose_value(panel, write_value(face, home.turn, values[home.turn]), blinks=False)
        return _compose_text(panel, face.fit_caption(face.design.name))
    row = home.rows[0]
    for choose in (get_longest_form, get_shortest_form, get_bare_form):
        left, right = fill(face, row.left, values, choose), fill(face, row.right, values, choose)
        both = _compose_beside(panel, _strip(left, start=False), _strip(right, end=False))
        if both is not None:
            return both
    whole = _strip(join_texts(left, CellText(" ", (), " "), right))
    keys = [key for text in (row.left, row.right) for key in face.fit_template(text).keys]
    if all(write_value(face, key, values[key]).in_words for key in keys):
        return _compose_text(panel, whole)
    return _compose_hyphens(panel, whole.source.strip())


def compose_segment_entry(face: Face, panel: SegmentPanel, view: ListView) -> Screen:
    """Compose the selected entry of the menu that is open."""
    if view.selected < 0:
        return _compose_text(panel, face.fit_caption(face.design.wording.empty))
    index = face.design.index
    shown = view.entries[0]
    label, short = fit_captions(face, view.menu, shown.entry)
    target = index.menus[view.menu].entries[shown.entry].target
    cramped = panel.measure(label.text) > panel.columns or label.replaced
    screen = _compose_text(panel, short if short.text and cramped else label)
    readout = index.kinds[target] is Kind.READOUT
    if shown.value is not None and (readout or isinstance(index.settings[target], Switch)):
        value = write_value(face, target, shown.value)
        both = _compose_label_and_value(panel, label, short, value)
        if both is not None:
            screen = both
        elif readout:
            screen = _compose_value(panel, value, blinks=False)
        elif shown.value:
            screen = _add_point(screen, panel.columns - 1)
    return screen if shown.enabled else _add_point(screen, 0)


def compose_segment_editor(face: Face, panel: SegmentPanel, focus: Editing) -> Screen:
    """Compose the editor of a setting."""
    index = face.design.index
    match focus:
        case TextDraft():
            screen = _compose_text_end(panel, index.texts[focus.setting], focus.draft, focus.pick)
        case NumberDraft():
            screen = _compose_value(panel, write_draft(face, focus.setting, focus.draft, focus.place), blinks=True)
        case _:
            assert_never(focus)
    return _note_cut(screen, face.fit_caption(index.settings[focus.setting].hazard))


def compose_segment_question(face: Face, panel: SegmentPanel, focus: Asking) -> Screen:
    """Compose the selected answer of a question."""
    question, wording = make_question(face, focus.target), face.design.wording
    screen = _compose_text(panel, face.fit_caption(wording.yes if focus.yes else wording.no))
    return _note_cut(_blink(screen, 0, len(screen.rows[0].rstrip())), question.text, question.caution)


def compose_segment_hold(face: Face, panel: SegmentPanel, target: str) -> Screen:
    """Compose the request to hold the knob."""
    question = make_question(face, target)
    screen = _compose_text(panel, face.fit_caption(face.design.wording.hold))
    return _note_cut(screen, question.text, question.caution)


def _compose_label_and_value(panel: SegmentPanel, label: CellText, short: CellText, value: ValueText) -> Screen | None:
    """Compose a label and a value beside each other; None if no form of both fits."""
    for name in (label, short) if short.text else (label,):
        for form in value.forms:
            both = _compose_beside(panel, name, _strip(form))
            if both is not None:
                return both
    return None


def _compose_beside(panel: SegmentPanel, left: CellText, right: CellText) -> Screen | None:
    """Compose two texts at the two ends, with an empty cell between them; None if they do not fit."""
    first, last = lay_out(left.text), lay_out(right.text)
    between = panel.columns - len(first.cells) - len(last.cells)
    if between < (1 if first.cells and last.cells else 0):
        return None
    offset = panel.columns - len(last.cells)
    return Screen(
        rows=(f"{first.cells}{' ' * between}{last.cells}",),
        points=(*first.points, *(offset + point for point in last.points)),
        replaced=merge(left.replaced, right.replaced),
    )


def _compose_text_end(panel: SegmentPanel, setting: TextSetting, draft: str, pick: int) -> Screen:
    """Compose the end of a text and what is picked after it; delete and done are shown alone."""
    if pick >= len(setting.characters):
        return _blink(_compose_text(panel, fit("dEL" if pick == len(setting.characters) else "End")), 0, 3)
    each = panel.fit_each(draft + setting.characters[pick])
    shown = join_texts(*each[-panel.columns :])
    screen = _blink(_compose_text(panel, shown), min(len(each), panel.columns) - 1, min(len(each), panel.columns))
    return attrs.evolve(screen, cut=(draft,)) if len(each) > panel.columns else screen


def _compose_value(panel: SegmentPanel, value: ValueText, blinks: bool) -> Screen:
    """Compose a value at the right; of a draft, the current part blinks, or all of the words."""
    for form in _walk_forms(value):
        cells, points = lay_out(form.text)
        if len(cells) > panel.columns:
            continue
        offset = panel.columns - len(cells)
        first = offset + len(cells) - panel.measure(form.text.lstrip())
        start, stop = (first, panel.columns) if value.in_words else (first + value.at_hand[0], first + value.at_hand[1])
        screen = Screen(
            rows=(cells.rjust(panel.columns),),
            points=tuple([offset + point for point in points]),
            replaced=form.replaced,
        )
        return _blink(screen, start, stop) if blinks else screen
    screen = (
        _compose_text(panel, get_bare_form(value)) if value.in_words else _compose_hyphens(panel, value.full.source)
    )
    return _blink(screen, 0, panel.columns) if blinks else screen


def _walk_forms(value: ValueText) -> Iterator[CellText]:
    """Walk the forms of a value in the order in which they are tried.

    The short one needs no field: at the right of the display it stands at the same cells without the blanks before it.
    """
    if len(value.forms) < 2 or not value.full.replaced:
        yield value.full
    yield get_bare_form(value)


def _compose_text(panel: SegmentPanel, text: CellText) -> Screen:
    """Compose words at the left, cut to the display."""
    cells, points = lay_out(text.text)
    return Screen(
        rows=(cells[: panel.columns].ljust(panel.columns),),
        points=tuple([point for point in points if point < panel.columns]),
        replaced=text.replaced,
        cut=(text.source,) if len(cells) > panel.columns else (),
    )


def _compose_hyphens(panel: SegmentPanel, text: str) -> Screen:
    return Screen(rows=("-" * panel.columns,), cut=(text,))


def _strip(text: CellText, start: bool = True, end: bool = True) -> CellText:
    """Take the blanks off the start and the end of a text."""
    shown = text.text.lstrip() if start else text.text
    return text._replace(text=shown.rstrip() if end else shown)


def _add_point(screen: Screen, cell: int) -> Screen:
    return attrs.evolve(screen, points=tuple(sorted({*screen.points, cell})))


def _blink(screen: Screen, start: int, stop: int) -> Screen:
    return attrs.evolve(screen, blinking=(Span(0, start, stop),) if start < stop else ())


def _note_cut(screen: Screen, *texts: CellText) -> Screen:
    """Note texts that are not shown, except for empty ones."""
    cut = merge(screen.cut, tuple([text.source for text in texts if text.source]))
    return attrs.evolve(screen, cut=cut) if cut else screen
