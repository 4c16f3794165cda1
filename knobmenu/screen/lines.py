"""One row of cells, composed: what gives way where there is no room, and how.

The one way in which a text is cut: its end goes, and the last cell that is left to it says so with the display's
ellipsis or a full stop. A number is never cut, since what is left would be another number: it loses its unit, and
then becomes hyphens. A label gives way to a value, first for its short form; but it keeps a third of the row
against words.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from knobmenu.screen.cells import Screen, Span
from knobmenu.screen.characters import Fitted
from knobmenu.screen.glass import Glass
from knobmenu.screen.values import NO_VALUE, ValueText

SHORTEST_BAR = 4
"""A bar of fewer cells says nothing and is left out. [cells]"""


SHORTEST_LABEL = 3
"""A label of fewer cells says nothing; a number keeps its unit rather than leave it so few. [cells]"""


class Line(NamedTuple):
    """One row, and what became of its texts."""

    text: str
    blinking: tuple[int, int] = (0, 0)
    """The first blinking cell, and one beyond the last."""
    replaced: tuple[str, ...] = ()
    cut: tuple[str, ...] = ()


@lru_cache(maxsize=4096)
def screen_of(lines: tuple[Line, ...], columns: int, rows: int) -> Screen:
    """Put lines on a display, from the top; rows that are left stay blank.

    Args:
        lines: At most as many as the display has rows, each as long as it is wide.
        columns: Cells in a row.
        rows: Rows.
    """
    return Screen(
        rows=(*[line.text for line in lines], *[" " * columns] * (rows - len(lines))),
        blinking=tuple([Span(row, *line.blinking) for row, line in enumerate(lines) if _blinks(line)]),
        replaced=_together(*[line.replaced for line in lines]),
        cut=_together(*[line.cut for line in lines]),
    )


def _blinks(line: Line) -> bool:
    return line.blinking[0] < line.blinking[1]


def without(line: Line, text: str) -> Line:
    """Note on a line that a text, if there is one, is not shown."""
    return line._replace(cut=(*line.cut, text)) if text else line


def abridged(text: str, cells: int, mark: str) -> str:
    """Cut a text to a number of cells, in the one way in which texts are cut."""
    if len(text) <= cells:
        return text
    if cells < 3:
        return text[: max(cells, 0)]
    return text[: cells - 1].rstrip(" .,:;-") + mark


@lru_cache(maxsize=8192)
def labelled(glass: Glass, mark: str, label: str, short: str, value: ValueText = NO_VALUE, around: str = "") -> Line:
    """Compose a label at the left and a value at the right, with a blank between them at least.

    Args:
        glass: The display.
        mark: What stands in the first cells.
        label: The label.
        short: Its short form, or nothing.
        value: The value, or `NO_VALUE`.
        around: Two brackets around the label, or nothing.
    """
    room = glass.columns - len(mark) - len(around)
    names, forms = _forms(glass, label, short), _forms(glass, value.full, value.short)
    pair = _whole_pair(names, forms if value.in_words else forms[:1], room)
    cut: tuple[str, ...] = ()
    if pair is None:
        name, shown = names[-1], _beside_a_cut_label(glass, value, names[-1], forms, room)
        cells = _cells_beside(shown, room)
        whole = any(shown.text.strip() == form.text.strip() for form in forms)
        cut = (*((label,) if len(name.text) > cells else ()), *(() if whole else (value.full.strip(),)))
        pair = name._replace(text=abridged(name.text, cells, glass.cut)), shown
    name, shown = pair
    left = f"{mark}{around[:1]}{name.text}{around[1:]}"
    replaced = _together(name.replaced, shown.replaced)
    return Line(f"{left}{shown.text.rjust(glass.columns - len(left))}", (0, 0), replaced, cut)


def _forms(glass: Glass, long: str, short: str) -> list[Fitted]:
    return [glass.fitted(long), *([glass.fitted(short)] if short else [])]


def _cells_beside(shown: Fitted, room: int) -> int:
    """Count the cells that a value leaves to its label; a value of no characters leaves all."""
    return room - len(shown.text) - 1 if shown.text else room


def _whole_pair(names: list[Fitted], forms: list[Fitted], room: int) -> tuple[Fitted, Fitted] | None:
    """Choose the longest forms of a label and a value that fit beside each other uncut; the value's counts first."""
    for shown in forms:
        for name in names:
            if len(name.text) <= _cells_beside(shown, room):
                return name, shown
    return None


def _beside_a_cut_label(glass: Glass, value: ValueText, name: Fitted, forms: list[Fitted], room: int) -> Fitted:
    """Choose the form of a value whose label has to be cut, or what stands for a value that has none short enough."""
    least = min(room // 3, len(name.text))
    for shown in forms:
        if _cells_beside(shown, room) >= least:
            return shown
    if value.in_words:
        return forms[-1]._replace(text=abridged(forms[-1].text.strip(), max(room - least - 1, 1), glass.cut))
    tight = [form._replace(text=form.text.strip()) for form in forms if 0 < len(form.text.strip()) <= room]
    if not tight:
        return Fitted("-" * (room // 2), ())
    return next((form for form in tight if _cells_beside(form, room) >= min(SHORTEST_LABEL, least)), tight[0])


def _together(*told: tuple[str, ...]) -> tuple[str, ...]:
    """Put what several texts tell into one, each once and in order."""
    return tuple(dict.fromkeys(one for each in told for one in each)) if any(told) else ()


@lru_cache(maxsize=4096)
def framed(glass: Glass, value: ValueText, start: int, stop: int, bar: tuple[int, int] | None) -> Line:
    """Compose the draft between edit marks at the ends of the row, with a bar where there is room for one.

    Where the draft fits only without the marks, it stands without them.

    Args:
        glass: The display.
        value: The draft.
        start: The first character of it that blinks.
        stop: One beyond the last.
        bar: How far the value is, as a part and its whole; or None where no bar is drawn.
    """
    forms = [glass.fitted(text) for text in (value.full, value.short) if text] or [glass.fitted("")]

    def within(cells: int) -> Fitted | None:
        return next((form for form in forms if len(form.text) <= cells), None)

    edges = ("[", "]")
    cut: tuple[str, ...] = ()
    form = within(glass.columns - 2)
    if form is None:
        edges, form = ("", ""), within(glass.columns)
    if form is None:
        edges, form, cut = ("[", "]"), _too_long(glass, value, forms[-1], glass.columns - 2), (value.full.strip(),)
        start, stop = 0, len(form.text)
    inner = glass.columns - 2 * len(edges[0])
    room = inner - len(form.text) - 1
    left = bar_cells(glass, room, *bar) if bar is not None and room >= SHORTEST_BAR else ""
    blinking = _part(value, form.text, glass.columns - len(edges[1]) - len(form.text), start, stop)
    return Line(f"{edges[0]}{left}{form.text.rjust(inner - len(left))}{edges[1]}", blinking, form.replaced, cut)


def _too_long(glass: Glass, value: ValueText, form: Fitted, cells: int) -> Fitted:
    """Give what stands for a value that has no form short enough."""
    text = abridged(form.text.strip(), cells, glass.cut) if value.in_words else "-" * cells
    return Fitted(text, form.replaced if value.in_words else ())


def _part(value: ValueText, shown: str, offset: int, start: int, stop: int) -> tuple[int, int]:
    """Say which cells of a draft blink, where it begins at `offset`; words blink whole."""
    if value.in_words:
        start, stop = len(shown) - len(shown.lstrip()), len(shown)
    return offset + start, offset + min(stop, len(shown))


@lru_cache(maxsize=1024)
def labelled_draft(glass: Glass, label: str, short: str, value: ValueText, start: int, stop: int) -> Line:
    """Compose a label and a draft in one row; the draft is kept, whatever is left of the label.

    Args:
        glass: The display.
        label: The label.
        short: Its short form, or nothing.
        value: The draft.
        start: The first character of it that blinks.
        stop: One beyond the last.
    """
    whole, spare = glass.fitted(value.full).text, glass.fitted(value.short).text
    if len(whole) > glass.columns - 2:
        if not spare or len(spare) > glass.columns - 2:
            return framed(glass, value, start, stop, None)
        value, whole = value._replace(full=value.short, short=""), spare
    bare = f"[{value.short}]" if value.short and not value.in_words else ""
    line = labelled(glass, "", label, short, ValueText(f"[{value.full}]", bare, False))
    shown = whole if line.text.endswith(f"[{whole}]") else spare
    offset = glass.columns - 1 - len(shown)
    return line._replace(blinking=_part(value, shown, offset, start, stop))


@lru_cache(maxsize=4096)
def written(glass: Glass, draft: str, pick: str, own: bool) -> Line:
    """Compose a text that is being written, with what is picked blinking at its end.

    Args:
        glass: The display.
        draft: What is written so far.
        pick: The character that is picked, or the mark for delete or done.
        own: Whether the pick is a mark of the editor's own, which stands apart from the text.
    """
    return _written(glass, draft, pick, own, glass.columns - 2)


def _written(glass: Glass, draft: str, pick: str, own: bool, cells: int) -> Line:
    before, lost = glass.fitted_in_place(draft)
    picked, also_lost = glass.fitted_in_place(pick)
    if own:
        before += " "
    kept = before[max(len(before) + len(picked) - cells, 0) :]
    start = 1 + len(kept)
    return Line(
        f"[{(kept + picked).ljust(cells)}]",
        (start, start + len(picked)),
        _together(lost, also_lost),
        () if kept == before else (draft,),
    )


@lru_cache(maxsize=1024)
def labelled_text(glass: Glass, label: str, short: str, draft: str, pick: str, own: bool, longest: int) -> Line:
    """Compose a label and a text that is being written in one row; the text has room for its longest.

    Args:
        glass: The display.
        label: The label.
        short: Its short form, or nothing.
        draft: What is written so far.
        pick: The character that is picked, or the mark for delete or done.
        own: Whether the pick is a mark of the editor's own.
        longest: The longest text. [characters]
    """
    text = _written(glass, draft, pick, own, min(longest + 3, glass.columns - 2))
    room = max(glass.columns - len(text.text) - 1, 0)
    long, lost = glass.fitted(label)
    if len(long) > room and short:
        long, lost = glass.fitted(short)
    offset = glass.columns - len(text.text)
    return Line(
        abridged(long, room, glass.cut).ljust(offset) + text.text,
        (offset + text.blinking[0], offset + text.blinking[1]),
        _together(lost, text.replaced),
        (*((label,) if len(long) > room else ()), *text.cut),
    )


@lru_cache(maxsize=4096)
def plain(glass: Glass, text: str) -> Line:
    """Compose a text at the left of a row."""
    shown, lost = glass.fitted(text)
    return Line(
        abridged(shown, glass.columns, glass.cut).ljust(glass.columns),
        (0, 0),
        lost,
        (text,) if len(shown) > glass.columns else (),
    )


@lru_cache(maxsize=1024)
def wrapped(glass: Glass, text: str, most: int) -> tuple[Line, ...]:
    """Compose a text over as many rows as it takes, `most` at most; breaks are at blanks where there are any."""
    shown, lost = glass.fitted(text)
    pieces: list[str] = []
    rest = shown.strip()
    while rest and len(pieces) < most:
        if len(pieces) == most - 1 or len(rest) <= glass.columns:
            pieces.append(rest)
            break
        at = rest.rfind(" ", 0, glass.columns + 1)
        at = at if at > 0 else glass.columns
        pieces.append(rest[:at].rstrip())
        rest = rest[at:].lstrip()
    too_long = bool(pieces) and len(pieces[-1]) > glass.columns
    return tuple(
        Line(
            abridged(piece, glass.columns, glass.cut).ljust(glass.columns),
            (0, 0),
            lost,
            (text,) if too_long or most < 1 else (),
        )
        for piece in pieces
    )


@lru_cache(maxsize=1024)
def ends(glass: Glass, left: str, right: str) -> Line:
    """Compose two texts at the two ends of a row; the left one is cut first."""
    (first, lost), (last, also_lost) = glass.fitted(left), glass.fitted(right)
    kept = abridged(last, glass.columns, glass.cut)
    name = abridged(first, glass.columns - len(kept) - 1 if kept else glass.columns, glass.cut)
    cut = (*((left,) if name != first else ()), *((right,) if kept != last else ()))
    return Line(f"{name}{kept.rjust(glass.columns - len(name))}", (0, 0), _together(lost, also_lost), cut)


def bar_cells(glass: Glass, cells: int, part: int, whole: int) -> str:
    """Draw a bar.

    Args:
        glass: The display.
        cells: How long it is.
        part: How far the value is from the low end, 0 to `whole`.
        whole: How far the high end is; at least 1.
    """
    levels = len(glass.bar) - 1
    filled, rest = divmod((2 * part * cells * levels + whole) // (2 * whole), levels)
    partial = glass.bar[rest] if rest else ""
    return f"{glass.bar[-1] * filled}{partial}".ljust(cells, glass.bar[0])


@lru_cache(maxsize=1024)
def barred(glass: Glass, left: str, right: str, part: int, whole: int) -> Line:
    """Compose two texts at the ends of a row and a bar between them, which is left out where there is no room.

    Args:
        glass: The display.
        left: The text at the left, or nothing.
        right: The text at the right, or nothing.
        part: How far the bar goes, 0 to `whole`.
        whole: How far it could go.
    """
    first, last = glass.fitted(left).text, glass.fitted(right).text
    start = len(first) + 1 if first else 0
    room = glass.columns - start - (len(last) + 1 if last else 0)
    line = ends(glass, left, right)
    if room < SHORTEST_BAR:
        return line
    bar = bar_cells(glass, room, part, whole)
    return line._replace(text=f"{line.text[:start]}{bar}{line.text[start + room :]}")


@lru_cache(maxsize=256)
def answers(glass: Glass, no: str, yes: str, yes_selected: bool) -> Line:
    """Compose the two answers, with the mark before the selected one; each is cut to its half of the row."""
    half = glass.columns // 2 - len(glass.selected)
    (first, lost), (last, also_lost) = glass.fitted(no), glass.fitted(yes)
    if len(first) + len(last) + 1 <= 2 * half:
        kept = (first, last)
    else:
        kept = (abridged(first, half - 1, glass.cut), abridged(last, half, glass.cut))
    marks = (" ", glass.selected) if yes_selected else (glass.selected, " ")
    text = f"{marks[0]}{kept[0]}"
    text += f"{marks[1]}{kept[1]}".rjust(glass.columns - len(text))
    cut = tuple(whole for whole, shown, fit in ((no, kept[0], first), (yes, kept[1], last)) if shown != fit)
    return Line(text, (0, 0), _together(lost, also_lost), cut)
