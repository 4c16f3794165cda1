"""What goes where, for any size of terminal: pure arithmetic.

From the top: the head, the devices with the knob, the panes, the timeline, the keys. The display is drawn in the
largest form that leaves the panes enough room, and the knob goes beside it or, if that is larger, below it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

import attrs

from knobmenu.design.hardware import Display
from knobmenu.terminal.drawing.forms import Form, Kind, forms, size_of
from knobmenu.terminal.drawing.knob import KNOB_WORDS
from knobmenu.terminal.drawing.runs import Box, Size

PANES = ("steps", "place", "cost", "tree", "notes")
"""The panes, in the order in which they stand."""

LEAST = Size(60, 18)
"""The smallest terminal that it works in. [terminal cells]"""

PANE_COLUMNS = 36
"""Least width of a pane. [terminal cells]"""

COST_ROWS = 3
"""Rows of the pane of costs: its title and two of costs. [terminal cells]"""

_KNOBS = (Size(28, 14), Size(18, 9), Size(12, 6))
_SIGNALS = 1
"""Rows for lamps and sounder under a display."""
_LEAST_PANES = 6
_STACKED = 8
"""Least rows of a pane that stands above or below another."""
_MARGIN = 1
_BETWEEN = 2
"""Empty columns at the terminal's sides, and between panes."""


@attrs.frozen
class Plan:
    """What goes where."""

    form: Form
    """The form in which displays are drawn."""
    boxes: Mapping[str, Box]
    """Where each thing is, by name: ``head``, ``device-0``, ``device-1``, ``knob``, ``timeline``, ``keys`` and panes;
    what is missing is not shown."""


@lru_cache(maxsize=64)
def plan(
    columns: int, rows: int, displays: tuple[Display, ...], panes: tuple[str, ...], least: Kind = "half"
) -> Plan | None:
    """Lay everything out.

    Args:
        columns: Width of the terminal. [terminal cells]
        rows: Height of it. [terminal cells]
        displays: The display of each variant.
        panes: The panes that are wanted, the most wanted last.
        least: Forms that take more room than this one are not chosen.

    Returns:
        The plan; None where the terminal is too small.
    """
    if columns < LEAST.columns or rows < LEAST.rows:
        return None
    kept = {
        "head": Box(0, 0, columns, 1),
        "timeline": Box(0, rows - 2, columns, 1),
        "keys": Box(0, rows - 1, columns, 1),
    }
    middle = Box(_MARGIN, 1, columns - 2 * _MARGIN, rows - 3)
    least_panes = _LEAST_PANES if panes else 0
    first = None
    for form in _forms(displays, least):
        for stacked in (False, True) if len(displays) > 1 else (False,):
            sizes = [_device(display, form) for display in displays]
            block = _block(sizes, stacked)
            for knob, beside in _placed(middle, block, least_panes, bool(panes)):
                found = _plan(form, kept, middle, sizes, block, stacked, knob, beside, panes)
                # Two panes, those that are wanted most, are worth a smaller display or knob.
                if all(pane in found.boxes for pane in panes[-2:]):
                    return found
                first = first or found
    return first


def _forms(displays: Sequence[Display], least: Kind) -> tuple[Form, ...]:
    """Return the forms that all displays can be drawn in, the one that takes most room first."""
    kinds = ("half", "braille", "spaced", "text")
    common = [form for form in forms(displays[0]) if all(form in forms(display) for display in displays)]
    return tuple(form for form in common if kinds.index(form.kind) >= kinds.index(least))


def _device(display: Display, form: Form) -> Size:
    size = size_of(display, form)
    return Size(size.columns, size.rows + _SIGNALS)


def _block(sizes: Sequence[Size], stacked: bool) -> Size:
    if stacked:
        return Size(max(size.columns for size in sizes), sum(size.rows for size in sizes))
    return Size(sum(size.columns for size in sizes) + 2 * (len(sizes) - 1), max(size.rows for size in sizes))


def _placed(middle: Box, block: Size, least_panes: int, panes: bool) -> Iterator[tuple[Size, bool]]:
    """Give the sizes of knob that fit, the largest first, and whether each stands beside the displays or below."""
    if block.columns > middle.columns or block.rows + least_panes > middle.rows:
        return
    for knob in _KNOBS:
        taken = knob.rows + KNOB_WORDS
        beside = (
            block.columns + 2 + knob.columns <= middle.columns and max(block.rows, taken) + least_panes <= middle.rows
        )
        if beside:
            yield knob, True
        below = max(taken + _gap(middle.rows - block.rows), least_panes) <= middle.rows - block.rows
        if below and (not panes or knob.columns + 2 + PANE_COLUMNS <= middle.columns):
            yield knob, False


def _gap(rows: int) -> int:
    """Return how many rows stay empty between the displays and a knob below them, of those that are left."""
    return 1 if rows > 2 * _LEAST_PANES else 0


def _plan(
    form: Form,
    kept: dict[str, Box],
    middle: Box,
    sizes: Sequence[Size],
    block: Size,
    stacked: bool,
    knob: Size,
    beside: bool,
    panes: tuple[str, ...],
) -> Plan:
    boxes = dict(kept)
    words = max(knob.columns, 26)
    together = block.columns + 2 + words
    if beside and together > middle.columns:
        words = middle.columns - block.columns - 2
        together = middle.columns
    left = middle.x + (middle.columns - (together if beside else block.columns)) // 2
    top = max(block.rows, knob.rows + KNOB_WORDS) if beside else block.rows
    x, y = left, middle.y + ((top - block.rows) // 2 if beside else 0)
    for number, size in enumerate(sizes):
        boxes[f"device-{number}"] = Box(x, y, size.columns, size.rows)
        x, y = (x, y + size.rows) if stacked else (x + size.columns + 2, y)
    if not beside:
        top += _gap(middle.rows - top)
    rest = Box(middle.x, middle.y + top, middle.columns, middle.rows - top)
    if beside:
        boxes["knob"] = Box(left + block.columns + 2, middle.y, words, knob.rows + KNOB_WORDS)
    else:
        knob_columns = words if panes else middle.columns
        boxes["knob"] = Box(rest.x, rest.y, knob_columns, knob.rows + KNOB_WORDS)
        taken = knob_columns + _BETWEEN
        rest = Box(rest.x + taken, rest.y, rest.columns - taken, rest.rows)
    boxes.update(_panes(rest, panes))
    return Plan(form, boxes)


def _panes(room: Box, panes: tuple[str, ...]) -> dict[str, Box]:
    """Put the panes beside each other, and below each other what is left; the least wanted may find no room."""
    if not panes or room.rows < 3:
        return {}
    across = max(1, (room.columns + _BETWEEN) // (PANE_COLUMNS + _BETWEEN))
    down = max(1, room.rows // _STACKED)
    groups = _groups(panes, room.rows)[: across * down]
    columns = [groups[start::across] for start in range(min(across, len(groups)))]
    columns.sort(key=lambda column: min(PANES.index(pane) for group in column for pane in group))
    widths = _shares(
        room.columns - _BETWEEN * (len(columns) - 1), [1.7 if ["steps"] in column else 1 for column in columns]
    )
    boxes: dict[str, Box] = {}
    x = room.x
    for column, width in zip(columns, widths, strict=True):
        y = room.y
        for group, rows in zip(column, _shares(room.rows, [1] * len(column)), strict=True):
            boxes.update(_grouped(group, Box(x, y, width, rows)))
            y += rows
        x += width + _BETWEEN
    return boxes


def _groups(panes: tuple[str, ...], rows: int) -> list[list[str]]:
    """Give the panes, the most wanted first; the costs share a place with where we are, if there are rows for both."""
    groups: list[list[str]] = []
    for pane in reversed(panes):
        partner = {"cost": "place", "place": "cost"}.get(pane)
        together = next((group for group in groups if partner in group), None)
        if together is not None and rows >= COST_ROWS + 4:
            together.append(pane)
        else:
            groups.append([pane])
    return groups


def _grouped(group: list[str], box: Box) -> dict[str, Box]:
    if len(group) == 1:
        return {group[0]: box}
    return {
        "cost": box._replace(rows=COST_ROWS),
        "place": box._replace(y=box.y + COST_ROWS, rows=box.rows - COST_ROWS),
    }


def _shares(columns: int, weights: Sequence[float]) -> list[int]:
    """Share a width out by weights, all of it."""
    total = sum(weights)
    shares = [int(columns * weight / total) for weight in weights]
    shares[0] += columns - sum(shares)
    return shares
