"""Compose one row of cells: what gives way if there is not enough room, and how.

There is one way to cut a text: its end is dropped, and its last remaining cell shows the display's ellipsis or a full
stop. A number is never cut, since the rest would be another number: it loses its unit, and then becomes hyphens. A
label gives way to a value, first by its short form; but it keeps a third of the row against words.

Section 11 of docs/reference/spec.md describes each of these functions in a numbered clause.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from knobmenu.screen.cells import Screen, Span
from knobmenu.screen.characters import EMPTY, CellText
from knobmenu.screen.panel import CellPanel
from knobmenu.screen.values import NO_VALUE, ValueText

SHORTEST_BAR = 4
"""A shorter bar is useless and is omitted. [cells]"""

SHORTEST_LABEL = 3
"""A shorter label is useless; a number gives up its unit to leave this many. [cells]"""


class Line(NamedTuple):
    """One row, with the characters that were replaced and the texts that were cut."""

    text: str
    blinking: tuple[int, int] = (0, 0)
    """The first blinking cell, and one beyond the last."""
    replaced: tuple[str, ...] = ()
    cut: tuple[str, ...] = ()


def build_screen(lines: Sequence[Line], panel: CellPanel) -> Screen:
    """Build a screen from lines, from the top; the remaining rows stay blank.

    Args:
        lines: At most as many as the display has rows, each as long as it is wide.
        panel: The display.
    """
    return Screen(
        rows=(*[line.text for line in lines], *[" " * panel.columns] * (panel.rows - len(lines))),
        blinking=tuple(
            [Span(row, *line.blinking) for row, line in enumerate(lines) if line.blinking[0] < line.blinking[1]]
        ),
        replaced=merge(*[line.replaced for line in lines]),
        cut=merge(*[line.cut for line in lines]),
    )


def merge(*reports: tuple[str, ...]) -> tuple[str, ...]:
    """Merge the reports of several texts, each item once and in order."""
    return tuple(dict.fromkeys([one for report in reports for one in report]))


def note_cut(line: Line, *texts: str) -> Line:
    """Note, on a line, texts that are not shown, except for empty ones."""
    return line._replace(cut=(*line.cut, *filter(None, texts)))


def abridge(text: str, cells: int, mark: str) -> str:
    """Cut a text to a number of cells."""
    if len(text) <= cells:
        return text
    if cells < 3:
        return text[: max(cells, 0)]
    return text[: cells - 1].rstrip(" .,:;-") + mark


def label_value(
    panel: CellPanel, mark: str, label: CellText, short: CellText, value: ValueText = NO_VALUE, around: str = ""
) -> Line:
    """Compose a label at the left and a value at the right, with at least one blank between them.

    Args:
        panel: The display.
        mark: The text of the first cells.
        label: The label.
        short: Its short form, or no text.
        value: The value, or `NO_VALUE`.
        around: Two brackets for the label, or nothing.
    """
    room = panel.columns - len(mark) - len(around)
    names = (label, short) if short.text else (label,)
    pair = _choose_whole_pair(names, value.forms if value.in_words else value.forms[:1], room)
    cut: tuple[str, ...] = ()
    if pair is None:
        name, shown = names[-1], _choose_beside_cut_label(panel, value, names[-1], room)
        cells = _count_cells_beside(shown, room)
        whole = any(shown.text.strip() == form.text.strip() for form in value.forms)
        cut = (*((label.source,) if len(name.text) > cells else ()), *(() if whole else (value.full.source,)))
        pair = name._replace(text=abridge(name.text, cells, panel.cut)), shown
    name, shown = pair
    left = f"{mark}{around[:1]}{name.text}{around[1:]}"
    text = f"{left}{shown.text.rjust(panel.columns - len(left))}"
    return Line(text, replaced=merge(name.replaced, shown.replaced), cut=cut)


def _count_cells_beside(shown: CellText, room: int) -> int:
    """Count the cells that a value leaves to its label; an empty value leaves all."""
    return room - len(shown.text) - 1 if shown.text else room


def _choose_whole_pair(
    names: Sequence[CellText], forms: Sequence[CellText], room: int
) -> tuple[CellText, CellText] | None:
    """Choose the longest forms of a label and a value that fit together uncut; the value has priority."""
    for shown in forms:
        for name in names:
            if len(name.text) <= _count_cells_beside(shown, room):
                return name, shown
    return None


def _choose_beside_cut_label(panel: CellPanel, value: ValueText, name: CellText, room: int) -> CellText:
    """Choose the form of a value whose label has to be cut, or a replacement if no form is short enough."""
    least = min(room // 3, len(name.text))
    for shown in value.forms:
        if _count_cells_beside(shown, room) >= least:
            return shown
    last = value.forms[-1]
    if value.in_words:
        return last._replace(text=abridge(last.text.strip(), max(room - least - 1, 1), panel.cut))
    tight = [form._replace(text=form.text.strip()) for form in value.forms]
    tight = [form for form in tight if len(form.text) <= room]
    if not tight:
        return CellText("-" * (room // 2))
    return next((form for form in tight if _count_cells_beside(form, room) >= min(SHORTEST_LABEL, least)), tight[0])


def frame_draft(panel: CellPanel, value: ValueText, bar: tuple[int, int] | None) -> Line:
    """Compose a draft between edit marks at the ends of the row, with a bar if there is room for one.

    A draft that fits only without the marks is shown without them.

    Args:
        panel: The display.
        value: The draft.
        bar: How far the value is along its range, as a part and its whole; None: no bar.
    """
    fitting = [form for form in value.forms if len(form.text) <= panel.columns]
    inside = [form for form in fitting if len(form.text) <= panel.columns - 2]
    edges = ("[", "]") if inside or not fitting else ("", "")
    form = (inside or fitting or [_shorten(panel, value, panel.columns - 2)])[0]
    inner = panel.columns - 2 * len(edges[0])
    room = inner - len(form.text) - 1
    left = draw_bar_cells(panel, room, *bar) if bar is not None and room >= SHORTEST_BAR else ""
    return Line(
        f"{edges[0]}{left}{form.text.rjust(inner - len(left))}{edges[1]}",
        _find_current_cells(value, form, panel.columns - len(edges[1]), bool(fitting)),
        form.replaced,
        () if fitting else (value.full.source,),
    )


def _shorten(panel: CellPanel, value: ValueText, cells: int) -> CellText:
    """Return the replacement for a value without a form that is short enough."""
    last = value.forms[-1]
    return last._replace(text=abridge(last.text.strip(), cells, panel.cut)) if value.in_words else CellText("-" * cells)


def _find_current_cells(value: ValueText, form: CellText, end: int, fits: bool) -> tuple[int, int]:
    """Return the blinking cells of a draft that ends before the cell `end`; words and hyphens blink as a whole."""
    start = end - len(form.text.lstrip())
    if value.in_words or not fits:
        return start, end
    return start + value.at_hand[0], start + value.at_hand[1]


def label_draft(panel: CellPanel, label: CellText, short: CellText, value: ValueText) -> Line:
    """Compose a label and a draft in one row; the draft has priority.

    Args:
        panel: The display.
        label: The label.
        short: Its short form, or no text.
        value: The draft.
    """
    inside = [form for form in value.forms if len(form.text) <= panel.columns - 2]
    if not inside:
        return note_cut(frame_draft(panel, value, None), label.source)
    if value.in_words:
        inside = inside[:1]
    bracketed = ValueText(tuple([form._replace(text=f"[{form.text}]") for form in inside]), False)
    line = label_value(panel, "", label, short, bracketed)
    shown = next(form for form in inside if line.text.endswith(f"[{form.text}]"))
    return line._replace(blinking=_find_current_cells(value, shown, panel.columns - 1, True))


def write_text(panel: CellPanel, draft: CellText, pick: CellText, apart: bool) -> Line:
    """Compose a text that is being edited, with what is picked blinking at its end.

    Args:
        panel: The display.
        draft: The text so far.
        pick: The character that is picked, or the mark for delete or done.
        apart: Whether a blank separates the pick from the text, as for a mark.
    """
    return _write_line(draft, pick, apart, panel.columns - 2)


def _write_line(draft: CellText, pick: CellText, apart: bool, cells: int) -> Line:
    before = draft.text + (" " if apart else "")
    kept = before[max(len(before) + len(pick.text) - cells, 0) :]
    start = 1 + len(kept)
    return Line(
        f"[{(kept + pick.text).ljust(cells)}]",
        (start, start + len(pick.text)),
        merge(draft.replaced, pick.replaced),
        () if kept == before else (draft.source,),
    )


def label_text(
    panel: CellPanel, label: CellText, short: CellText, draft: CellText, pick: CellText, apart: bool, longest: int
) -> Line:
    """Compose a label and a text that is being edited in one row; the text has room for its greatest length.

    Args:
        panel: The display.
        label: The label.
        short: Its short form, or no text.
        draft: The text so far.
        pick: The character that is picked, or the mark for delete or done.
        apart: Whether a blank separates the pick from the text, as for a mark.
        longest: The greatest length of the text. [characters]
    """
    text = _write_line(draft, pick, apart, min(longest + 3, panel.columns - 2))
    room = max(panel.columns - len(text.text) - 1, 0)
    name = short if len(label.text) > room and short.text else label
    offset = panel.columns - len(text.text)
    return Line(
        abridge(name.text, room, panel.cut).ljust(offset) + text.text,
        (offset + text.blinking[0], offset + text.blinking[1]),
        merge(name.replaced, text.replaced),
        (*((label.source,) if len(name.text) > room else ()), *text.cut),
    )


def compose_plain(panel: CellPanel, text: CellText = EMPTY) -> Line:
    """Compose a text at the left of a row."""
    return Line(
        abridge(text.text, panel.columns, panel.cut).ljust(panel.columns),
        replaced=text.replaced,
        cut=(text.source,) if len(text.text) > panel.columns else (),
    )


def wrap(panel: CellPanel, text: CellText, most: int) -> list[Line]:
    """Wrap a text over as many rows as it takes, at most `most`; it breaks at blanks if there are any.

    Args:
        panel: The display.
        text: The text.
        most: The number of rows available.
    """
    pieces: list[str] = []
    rest = text.text
    while rest and len(pieces) < most:
        if len(pieces) == most - 1 or len(rest) <= panel.columns:
            pieces.append(rest)
            break
        at = rest.rfind(" ", 0, panel.columns + 1)
        at = at if at > 0 else panel.columns
        pieces.append(rest[:at].rstrip())
        rest = rest[at:].lstrip()
    return [compose_plain(panel, CellText(piece, text.replaced, text.source)) for piece in pieces]


def compose_ends(panel: CellPanel, left: CellText, right: CellText) -> Line:
    """Compose two texts at the two ends of a row; the left one is cut first."""
    kept = abridge(right.text, panel.columns, panel.cut)
    name = abridge(left.text, panel.columns - len(kept) - 1 if kept else panel.columns, panel.cut)
    cut = (*((left.source,) if name != left.text else ()), *((right.source,) if kept != right.text else ()))
    text = f"{name}{kept.rjust(panel.columns - len(name))}"
    return Line(text, replaced=merge(left.replaced, right.replaced), cut=cut)


def draw_bar_cells(panel: CellPanel, cells: int, part: int, whole: int) -> str:
    """Draw a bar.

    Args:
        panel: The display.
        cells: Its length.
        part: How far the value is from the low end, 0 to `whole`.
        whole: How far the high end is; at least 1.
    """
    levels = len(panel.bar) - 1
    filled, rest = divmod((2 * part * cells * levels + whole) // (2 * whole), levels)
    partial = panel.bar[rest] if rest else ""
    return f"{panel.bar[-1] * filled}{partial}".ljust(cells, panel.bar[0])


def draw_bar(panel: CellPanel, left: CellText, right: CellText, part: int, whole: int) -> Line:
    """Compose two texts at the ends of a row, and a bar between them if there is room.

    Args:
        panel: The display.
        left: The text at the left, or no text.
        right: The text at the right, or no text.
        part: How far the value is from the low end, 0 to `whole`.
        whole: How far the high end is; at least 1.
    """
    start = len(left.text) + 1 if left.text else 0
    room = panel.columns - start - (len(right.text) + 1 if right.text else 0)
    line = compose_ends(panel, left, right)
    if room < SHORTEST_BAR:
        return line
    bar = draw_bar_cells(panel, room, part, whole)
    return line._replace(text=f"{line.text[:start]}{bar}{line.text[start + room :]}")


def compose_answers(panel: CellPanel, no: CellText, yes: CellText, yes_selected: bool) -> Line:
    """Compose the two answers, with the mark before the selected one; each is cut to its half of the row."""
    half = panel.columns // 2 - len(panel.selected)
    kept = (no.text, yes.text)
    if len(no.text) + len(yes.text) + 1 > 2 * half:
        kept = (abridge(no.text, half - 1, panel.cut), abridge(yes.text, half, panel.cut))
    marks = (" ", panel.selected) if yes_selected else (panel.selected, " ")
    text = f"{marks[0]}{kept[0]}"
    text += f"{marks[1]}{kept[1]}".rjust(panel.columns - len(text))
    cut = tuple([one.source for one, shown in zip((no, yes), kept, strict=True) if shown != one.text])
    return Line(text, replaced=merge(no.replaced, yes.replaced), cut=cut)
