"""An editor on a display of cells: the label first, the draft last.

One row shows the label, and the draft between edit marks at the end of the row. With two or more rows, the label is in
the first row and the draft in the last, with edit marks at the ends of the row and its bar between them. With three or
more rows, the limits of a number, or the place of a choice among its options, are above the draft; with four or more,
the bar is above those. The caution of a hazardous setting takes the row below the label; a display of more than four
rows shows it below the draft instead.
"""

from __future__ import annotations

from bisect import bisect_left
from typing import assert_never

from knobmenu.design.kinds import Limited, Numeric
from knobmenu.design.settings import Choice, Clock, Digits, Number, Scale, Switch, TextSetting
from knobmenu.machine.state import Editing, NumberDraft, TextDraft
from knobmenu.machine.values import Value
from knobmenu.screen.cells import Screen
from knobmenu.screen.characters import EMPTY, CellText
from knobmenu.screen.face import Face
from knobmenu.screen.lines import (
    Line,
    build_screen,
    compose_ends,
    compose_plain,
    draw_bar_cells,
    frame_draft,
    label_draft,
    label_text,
    label_value,
    note_cut,
    wrap,
    write_text,
)
from knobmenu.screen.panel import CellPanel
from knobmenu.screen.values import format_number, join_texts, write_draft


def compose_editor(face: Face, panel: CellPanel, focus: Editing) -> Screen:
    """Compose the editor of a setting."""
    return build_screen(_compose_lines(face, panel, focus), panel)


def _compose_lines(face: Face, panel: CellPanel, focus: Editing) -> list[Line]:
    index = face.design.index
    setting = index.settings[focus.setting]
    label, short = face.fit_caption(setting.label), face.fit_caption(setting.short)
    caution = face.fit_caption(setting.hazard)
    bar, limits = None, None
    match focus:
        case TextDraft():
            text, longest = join_texts(*panel.fit_each(focus.draft)), index.texts[focus.setting].longest
            pick, apart = _compose_pick(panel, index.texts[focus.setting], focus.pick)
            if panel.rows == 1:
                return [note_cut(label_text(panel, label, short, text, pick, apart, longest), caution.source)]
            draft = write_text(panel, text, pick, apart)
        case NumberDraft():
            value = write_draft(face, focus.setting, focus.draft, focus.place)
            if panel.rows == 1:
                return [note_cut(label_draft(panel, label, short, value), caution.source)]
            if isinstance(setting, Limited) and setting.bar:
                bar = measure_fraction(face, focus.setting, focus.draft)
            if panel.rows > 2:
                limits = _compose_limits(face, panel, index.numeric[focus.setting], focus.draft)
            draft = frame_draft(panel, value, bar if panel.rows < 4 else None)
        case _:
            assert_never(focus)
    title = label_value(panel, "", label, short)
    blank = compose_plain(panel)
    if panel.rows == 2:
        return [title, note_cut(draft, caution.source)]
    if panel.rows == 3:
        return [title, *(wrap(panel, caution, 1) or [limits or blank]), draft]
    drawn = blank if bar is None else Line(draw_bar_cells(panel, panel.columns, *bar))
    if panel.rows == 4:
        return [title, *(wrap(panel, caution, 1) or [drawn]), limits or blank, draft]
    return [title, drawn, limits or blank, draft, *wrap(panel, caution, panel.rows - 4)]


def _compose_pick(panel: CellPanel, setting: TextSetting, pick: int) -> tuple[CellText, bool]:
    """Compose what is picked; return also whether it is a mark, which is separated from the text."""
    if pick < len(setting.characters):
        return panel.fit_each(setting.characters[pick])[0], False
    return CellText(panel.delete if pick == len(setting.characters) else panel.done), True


def measure_fraction(face: Face, key: str, value: Value) -> tuple[int, int]:
    """Measure how far a value is along its range, as a part and its whole; a scale is measured in steps."""
    setting, limits = face.design.index.settings[key], face.design.index.limits[key]
    if isinstance(setting, Scale):
        low = bisect_left(setting.steps, limits.low)
        return bisect_left(setting.steps, int(value)) - low, bisect_left(setting.steps, limits.high) - low
    return int(value) - limits.low, limits.high - limits.low


def _compose_limits(face: Face, panel: CellPanel, setting: Numeric, draft: int) -> Line | None:
    """Compose the limits of a number, or the place of a choice among its options.

    Returns:
        The line; None if the setting has neither, or there is no room.
    """
    match setting:
        case Choice():
            return compose_ends(panel, EMPTY, CellText(f"{draft + 1}/{len(setting.options)}"))
        case Number() | Scale():
            limits = face.design.index.limits[setting.key]
            low, high = limits.low, limits.high
        case Digits():
            low, high = setting.low, setting.high
        case Switch() | Clock():
            return None
        case _:
            assert_never(setting)
    first, last = (CellText(format_number(value, setting.decimals)) for value in (low, high))
    for suffix in (face.fit_suffix(setting.unit), EMPTY):
        left, right = join_texts(first, suffix), join_texts(last, suffix)
        if len(left.text) + len(right.text) < panel.columns:
            return compose_ends(panel, left, right)
    return None
