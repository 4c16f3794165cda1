"""The layout of the desk for any size of terminal: pure arithmetic.

From the top: the header, the devices with the knob, the panes, the bar of the history, the footer. The display is drawn
in the largest form that leaves the panes enough room, and the knob goes beside it or below it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

import attrs

from knobmenu.design.hardware import Display
from knobmenu.picture.forms import KINDS, Form, Kind, list_forms, measure_size
from knobmenu.picture.knob import KNOB_WORDS
from knobmenu.picture.runs import Box, Size
from knobmenu.structure import Structure

PANES = ("events", "place", "cost", "menu", "notes")
"""The panes, in the order in which they stand."""

LEAST = Size(60, 18)
"""The smallest terminal that it works in. [terminal cells]"""

PANE_COLUMNS = 36
"""Least width of a pane. [terminal cells]"""

COST_ROWS = 3
"""Rows of the pane of costs: its title and two of costs. [terminal cells]"""

CAUTION_ROWS = 2
"""Most rows under a display for the caution of what is edited. [terminal cells]"""

_KNOBS = (Size(44, 22), Size(36, 18), Size(28, 14), Size(22, 11), Size(18, 9), Size(12, 6), Size(0, 0))
"""The last one is words alone."""
_WORDS, _NARROW_WORDS = 24, 12
"""Width of the words under the knob, and the least that they can do with. [terminal cells]"""
_SIGNALS = 1
"""Rows for lamps and sounder under a display. [terminal cells]"""
_LEAST_PANES = {"half": 8, "quadrant": 8, "braille": 6, "spaced": 6, "text": 6}
"""Rows that a form leaves the panes at least, if there are any; the large ones leave more. [terminal cells]"""
_STACKED = 8
"""Least rows of a pane that stands above or below another. [terminal cells]"""
_MARGIN = 1
_BETWEEN = 2
"""Empty columns at the terminal's sides, and between panes. [terminal cells]"""


@attrs.frozen(repr=False)
class Plan(Structure):
    """What goes where."""

    form: Form
    """The form in which displays are drawn."""
    boxes: Mapping[str, Box]
    """Where each thing is, by name: ``header``, ``device-0``, ``device-1``, ``knob``, ``bar``, ``footer`` and panes;
    what is missing is not shown."""


@lru_cache(maxsize=64)
def plan(
    columns: int,
    rows: int,
    displays: tuple[Display, ...],
    panes: tuple[str, ...],
    least: Kind = "half",
    cautions: tuple[int, ...] = (),
) -> Plan | None:
    """Lay everything out.

    The display comes before the knob: it takes the largest form that leaves room for the two panes of highest
    priority, and the knob takes what is left.

    Args:
        columns: Width of the terminal. [terminal cells]
        rows: Height of it. [terminal cells]
        displays: The display of each variant.
        panes: The requested panes, in ascending order of priority.
        least: Forms that take more room than this one are not chosen.
        cautions: For each variant the length of its longest caution, 0 where it has none. [terminal cells]

    Returns:
        The plan; None where the terminal is too small.
    """
    if columns < LEAST.columns or rows < LEAST.rows:
        return None
    frame = {
        "header": Box(0, 0, columns, 1),
        "bar": Box(0, rows - 2, columns, 1),
        "footer": Box(0, rows - 1, columns, 1),
    }
    middle = Box(_MARGIN, 1, columns - 2 * _MARGIN, rows - 3)
    found: dict[Form, list[dict[str, Box]]] = {}
    for form in _list_forms(displays, least):
        sizes = [
            _measure_device(display, form, caution)
            for display, caution in zip(displays, cautions or (0,) * len(displays), strict=True)
        ]
        found[form] = [
            {**_place_devices_and_knob(middle, block, knob, beside, panes), **frame}
            for block in _walk_blocks(sizes)
            for knob, beside in _walk_knobs(middle, block.size, _LEAST_PANES[form.kind] if panes else 0, bool(panes))
        ]
    # Dots are worth the pane of second priority: text in place of a display says least of what it looks like.
    for dots in (True, False):
        for required in (panes[-2:], panes[-1:], ()):
            for form, candidates in found.items():
                for boxes in candidates:
                    if form.is_dots is dots and all(pane in boxes for pane in required):
                        return Plan(form, boxes)
    return None


def _list_forms(displays: Sequence[Display], least: Kind) -> tuple[Form, ...]:
    """Return the forms that all displays can be drawn in, the one that takes most room first."""
    common = [form for form in list_forms(displays[0]) if all(form in list_forms(display) for display in displays)]
    return tuple(form for form in common if KINDS.index(form.kind) >= KINDS.index(least))


def _measure_device(display: Display, form: Form, caution: int) -> Size:
    size = measure_size(display, form)
    return Size(size.columns, size.rows + _SIGNALS + min(-(-caution // size.columns), CAUTION_ROWS))


class _Block(NamedTuple):
    """The devices, beside or below each other."""

    size: Size
    boxes: tuple[Box, ...]
    """The place of each inside the block."""


def _walk_blocks(sizes: Sequence[Size]) -> Iterator[_Block]:
    """Walk the arrangements of the devices."""
    lefts = list(accumulate((size.columns + _BETWEEN for size in sizes), initial=0))
    yield _Block(
        Size(lefts[-1] - _BETWEEN, max(size.rows for size in sizes)),
        tuple(Box(x, 0, *size) for x, size in zip(lefts, sizes, strict=False)),
    )
    if len(sizes) > 1:
        tops = list(accumulate((size.rows for size in sizes), initial=0))
        yield _Block(
            Size(max(size.columns for size in sizes), tops[-1]),
            tuple(Box(0, y, *size) for y, size in zip(tops, sizes, strict=False)),
        )


def _walk_knobs(middle: Box, block: Size, least_panes: int, panes: bool) -> Iterator[tuple[Size, bool]]:
    """Walk the sizes of the knob that fit, the largest first, and whether each is beside the displays or below."""
    if block.columns > middle.columns or block.rows + least_panes > middle.rows:
        return
    beside, below = middle.columns - block.columns - _BETWEEN, middle.rows - block.rows
    for knob in _KNOBS:
        taken = knob.rows + KNOB_WORDS
        if panes and knob.columns > middle.columns // 4:
            continue
        if max(knob.columns, _NARROW_WORDS) <= beside and max(block.rows, taken) + least_panes <= middle.rows:
            yield knob, True
        has_panes = max(knob.columns, _WORDS) + _BETWEEN + PANE_COLUMNS <= middle.columns
        if max(taken + _compute_gap(below), least_panes) <= below and (not panes or has_panes):
            yield knob, False


def _compute_gap(rows: int) -> int:
    """Return the number of empty rows between the displays and a knob below them, of those that are left. [rows]"""
    return 1 if rows > 12 else 0


def _place_devices_and_knob(
    middle: Box, block: _Block, knob: Size, beside: bool, panes: tuple[str, ...]
) -> dict[str, Box]:
    """Place devices, knob and panes."""
    room = middle.columns - block.size.columns - _BETWEEN
    words = min(max(knob.columns, _WORDS), room) if beside else max(knob.columns, _WORDS)
    taken = knob.rows + KNOB_WORDS
    used = block.size.columns + (_BETWEEN + words if beside else 0)
    top = max(block.size.rows, taken) if beside else block.size.rows
    top += 0 if beside else _compute_gap(middle.rows - top)
    # Without panes nothing else fills the terminal, so what is there stands in its middle.
    y = middle.y if panes else middle.y + (middle.rows - top - (0 if beside else taken)) // 2
    x = middle.x + (middle.columns - used) // 2
    down = y + ((top - block.size.rows) // 2 if beside else 0)
    boxes = {f"device-{number}": box._replace(x=x + box.x, y=down + box.y) for number, box in enumerate(block.boxes)}
    rest = Box(middle.x, y + top, middle.columns, middle.rows - (y - middle.y) - top)
    if beside:
        boxes["knob"] = Box(x + block.size.columns + _BETWEEN, y, words, taken)
    elif panes:
        boxes["knob"] = Box(rest.x, rest.y, words, taken)
        rest = Box(rest.x + words + _BETWEEN, rest.y, rest.columns - words - _BETWEEN, rest.rows)
    else:
        boxes["knob"] = Box(rest.x, rest.y, rest.columns, taken)
    return {**boxes, **_place_panes(rest, panes)}


def _place_panes(room: Box, panes: tuple[str, ...]) -> dict[str, Box]:
    """Place the panes side by side, and the remaining ones below; the least important may not fit."""
    if not panes or room.rows < 3:
        return {}
    down = max(1, room.rows // _STACKED)
    across = max(1, (room.columns + _BETWEEN) // (PANE_COLUMNS + _BETWEEN))
    groups = _group_panes(panes, room.rows)[: across * down]
    # Where panes can stand below each other, wider ones say more than many narrow ones.
    across = max(min(across, 3), -(-len(groups) // down))
    columns = [[group] for group in groups[:across]]
    for number, group in enumerate(groups[across:]):
        # In the last column, so that the events keep a whole one; of two columns both are needed.
        columns[number % len(columns) if across <= 2 else -1].append(group)
    columns.sort(key=lambda column: min(PANES.index(pane) for group in column for pane in group))
    widths = _divide(
        room.columns - _BETWEEN * (len(columns) - 1), [1.7 if ["events"] in column else 1 for column in columns]
    )
    boxes: dict[str, Box] = {}
    x = room.x
    for column, width in zip(columns, widths, strict=True):
        y = room.y
        for group, rows in zip(column, _divide(room.rows, [1] * len(column)), strict=True):
            boxes.update(_group(group, Box(x, y, width, rows)))
            y += rows
        x += width + _BETWEEN
    return boxes


def _group_panes(panes: tuple[str, ...], rows: int) -> list[list[str]]:
    """Group the panes, the most important first; cost and place share a place if there are rows for both."""
    groups: list[list[str]] = []
    for pane in reversed(panes):
        partner = {"cost": "place", "place": "cost"}.get(pane)
        together = next((group for group in groups if partner in group), None)
        if together is not None and rows >= COST_ROWS + 4:
            together.append(pane)
        else:
            groups.append([pane])
    return groups


def _group(group: list[str], box: Box) -> dict[str, Box]:
    if len(group) == 1:
        return {group[0]: box}
    return {
        "cost": box._replace(rows=COST_ROWS),
        "place": box._replace(y=box.y + COST_ROWS, rows=box.rows - COST_ROWS),
    }


def _divide(columns: int, weights: Sequence[float]) -> list[int]:
    """Divide a width by weights, all of it."""
    total = sum(weights)
    widths = [int(columns * weight / total) for weight in weights]
    widths[0] += columns - sum(widths)
    return widths
