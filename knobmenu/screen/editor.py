"""An editor on a display of cells: the label first, the draft last.

One row shows the label, and the draft between edit marks at its end. From two rows on the label has the first row
and the draft the last, its edit marks at the ends of the row and its bar between them. From three rows on a number's
limits stand above the draft, or which of its options a choice is at, and from four on the bar above those. The caution
of a hazardous setting takes the row below the label from whatever else would be there; a display of more than four
rows has the rows below the draft for it.
"""

from __future__ import annotations

from bisect import bisect_left
from typing import TYPE_CHECKING

from knobmenu.design.settings import Choice, Digits, Number, Scale, TextSetting
from knobmenu.machine.state import Editing, State
from knobmenu.machine.values import Value
from knobmenu.screen.glass import Glass
from knobmenu.screen.lines import (
    Line,
    bar_cells,
    ends,
    framed,
    labelled,
    labelled_draft,
    labelled_text,
    plain,
    without,
    wrapped,
    written,
)
from knobmenu.screen.values import Words, draft_text, number_text, part_at_hand, with_unit

if TYPE_CHECKING:
    from knobmenu.design.whole import Design


def editor_lines(design: Design, state: State, glass: Glass, words: Words) -> list[Line]:
    """Compose the editor of the setting that has a draft."""
    focus = state.focus
    assert isinstance(focus, Editing)
    setting = design.index.settings[focus.setting]
    label, short = words.get(setting.label, setting.label), words.get(setting.short, setting.short)
    caution = words.get(setting.hazard, setting.hazard)
    if isinstance(setting, TextSetting):
        pick, own = _pick(glass, setting, focus.pick)
        if glass.rows == 1:
            line = labelled_text(glass, label, short, str(focus.draft), pick, own, setting.longest)
            return [without(line, caution)]
        draft = written(glass, str(focus.draft), pick, own)
        limits = bar = None
    else:
        text = draft_text(design, focus.setting, focus.draft, words)
        start, stop = part_at_hand(setting, text, focus.place)
        if glass.rows == 1:
            return [without(labelled_draft(glass, label, short, text, start, stop), caution)]
        bar = fraction(design, focus.setting, focus.draft) if getattr(setting, "bar", False) else None
        limits = _limits_line(design, glass, words, focus.setting, focus.draft) if glass.rows > 2 else None
        draft = framed(glass, text, start, stop, bar if glass.rows < 4 else None)
    title = labelled(glass, "", label, short)
    if glass.rows == 2:
        return [title, without(draft, caution)]
    blank = plain(glass, "")
    if glass.rows == 3:
        return [title, *(wrapped(glass, caution, 1) or [limits or blank]), draft]
    drawn = blank if bar is None else Line(bar_cells(glass, glass.columns, *bar))
    if glass.rows == 4:
        return [title, *(wrapped(glass, caution, 1) or [drawn]), limits or blank, draft]
    return [title, drawn, limits or blank, draft, *wrapped(glass, caution, glass.rows - 4)]


def _pick(glass: Glass, setting: TextSetting, pick: int) -> tuple[str, bool]:
    if pick < len(setting.characters):
        return setting.characters[pick], False
    return (glass.delete if pick == len(setting.characters) else glass.done), True


def fraction(design: Design, key: str, value: object) -> tuple[int, int]:
    """Return how far a number or scale is along its values, as a part and its whole; a scale counts its steps."""
    setting, limits = design.index.settings[key], design.index.limits[key]
    assert isinstance(value, int)
    if isinstance(setting, Scale):
        low = bisect_left(setting.steps, limits.low)
        return bisect_left(setting.steps, value) - low, bisect_left(setting.steps, limits.high) - low
    return value - limits.low, limits.high - limits.low


def _limits_line(design: Design, glass: Glass, words: Words, key: str, draft: Value) -> Line | None:
    """Compose the least and the most that a number may ever be, or which of its options a choice is at.

    Returns:
        The line; None where there is no such thing, or no room for it.
    """
    setting = design.index.settings[key]
    if isinstance(setting, Choice):
        assert isinstance(draft, int)
        return ends(glass, "", f"{draft + 1}/{len(setting.options)}")
    if isinstance(setting, Number | Scale):
        limits = design.index.limits[key]
        low, high = limits.low, limits.high
    elif isinstance(setting, Digits):
        low, high = setting.low, setting.high
    else:
        return None
    unit = words.get(setting.unit, setting.unit)
    for behind in (unit, ""):
        first, last = (with_unit(number_text(value, setting.decimals), behind) for value in (low, high))
        if len(glass.fitted(first).text) + len(glass.fitted(last).text) < glass.columns:
            return ends(glass, first, last)
    return None
