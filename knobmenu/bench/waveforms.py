"""Waveforms of a run in braille: what the hand, the contacts, the pins and the firmware did, one below another.

In all traces, up is an open contact or a high pin. Time in which the loop is blocked, or interrupts are masked, has
another ground and a row of its own, so that it is also seen without colour.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobmenu.bench import scope
from knobmenu.bench.excerpt import Slip
from knobmenu.bench.figures import format_number
from knobmenu.bench.filter import Filter
from knobmenu.bench.run import Run
from knobmenu.bench.schedule import find_held_up_s
from knobmenu.bench.scope import Span, View, Window
from knobmenu.bench.signal import Signal
from knobmenu.picture.dots import DOWN, DotField
from knobmenu.picture.fitting import draw_pane, fit
from knobmenu.picture.runs import Drawing, Row, merge
from knobmenu.picture.runs import Run as Text

LABELS = 10
"""Width of the labels. [terminal cells]"""

_LINES = 5
"""Rows that are not a trace: title, turned, samples, counted, time. [terminal cells]"""
_TALLEST_V = 8
"""Most rows of one voltage. [terminal cells]"""
_PHASES = (("A", "turn"), ("B", "press"))
"""Each phase and the ink of its traces."""


def draw_waveform_rows(
    done: Run, slips: tuple[Slip, ...], view: View, title: str, columns: int, height: int
) -> Drawing:
    """Draw a run.

    Args:
        done: The run.
        slips: Its errors.
        view: What part of it.
        title: The title.
        columns: Width of the pane. [terminal cells]
        height: Height of it, title and all. [terminal cells]
    """
    across = max(columns - LABELS, 1)
    dots = Window(view.begin_s, view.begin_s + view.length_s, across * 2)
    cells = attrs.evolve(dots, columns=across)
    reader = done.chain.reader
    stretches_s = find_held_up_s(reader, done.seed, view.begin_s, view.end_s)
    disturbed = scope.mark_stretches(stretches_s, cells)
    level_rows, volt_rows = _share_heights(
        height - _LINES - bool(reader.held_up[0]), bool(done.chain.filter.capacitor_f)
    )
    rows: list[Row] = [_add_label("turned", "dim", _mark_reached(done, slips, cells, across))]
    for (phase, ink), contact in zip(_PHASES, done.contacts, strict=True):
        rows += _draw_logic(f"contact {phase}", ink, contact, dots, across, level_rows)
    if volt_rows:
        filters = (done.corner.a, done.corner.b)
        for (phase, ink), parts, contact in zip(_PHASES, filters, done.contacts, strict=True):
            rows += _draw_volts(f"volts {phase}", ink, parts, contact, dots, across, volt_rows)
    for (phase, ink), pin in zip(_PHASES, done.pins, strict=True):
        rows += _draw_logic(f"pin {phase}", ink, pin, dots, across, level_rows)
    rows.append(_add_label("samples", "dim", _draw_samples(done, dots, across)))
    rows.append(_add_label("counted", "dim", _mark_counted(done, slips, cells, across)))
    rows = [_shade(row, disturbed) for row in rows]
    if reader.held_up[0]:
        label, character = ("blocked", "░") if reader.kind == "polled" else ("masked", "▒")
        cells_of_row = [Text(character if one else " ", "dim") for one in disturbed]
        rows.insert(len(rows) - 1, _add_label(label, "dim", merge(cells_of_row)))
    rows.append(_add_label("ms", "dim", _write_time(cells, across)))
    return draw_pane(title, rows, columns, height)


def _share_heights(room: int, filtered: bool) -> tuple[int, int]:
    """Distribute rows among four logic traces and two voltages."""
    if not filtered:
        return min(max(room // 4, 1), 3), 0
    levels = 2 if room >= 4 * 2 + 2 * 4 else 1
    return levels, min(max((room - 4 * levels) // 2, 0), _TALLEST_V)


def _add_label(label: str, ink: str, row: Row) -> Row:
    return merge([Text(f"{label:<{LABELS}}", ink), *row])


def _draw_logic(label: str, ink: str, signal: Signal, window: Window, across: int, rows: int) -> list[Row]:
    # A closed contact is 1 and pulls the pin low.
    spans = [(1 - high, 1 - low) for low, high in scope.find_levels(signal, window)]
    canvas = DotField(across, rows)
    _draw_trace(canvas, spans, 1, canvas.height - 1, ink)
    return _label_rows(label, ink, canvas.draw("panel"), rows - 1)


def _draw_volts(
    label: str, ink: str, parts: Filter, contact: Signal, window: Window, across: int, rows: int
) -> list[Row]:
    canvas = DotField(across, rows)
    bottom = canvas.height - 1
    for threshold in dict.fromkeys((parts.rising_v, parts.falling_v)):
        # Dots far enough apart not to look like a trace, farther where there are few rows.
        for x in range(0, canvas.width, 3 if rows >= 4 else 6):
            canvas.set_dot(x, round((1 - threshold / parts.supply_v) * bottom), "dim")
    spans = [(low / parts.supply_v, high / parts.supply_v) for low, high in scope.find_volts(parts, contact, window)]
    _draw_trace(canvas, spans, 0, bottom, ink)
    drawn = _label_rows(label, ink, canvas.draw("panel"), rows // 2)
    if rows >= 4:
        drawn[0] = _relabel(drawn[0], f"{format_number(parts.supply_v)} V")
        drawn[-1] = _relabel(drawn[-1], "0 V")
    return drawn


def _draw_trace(canvas: DotField, spans: Sequence[Span], top: int, bottom: int, ink: str) -> None:
    """Draw spans between 0, at the bottom, and 1, at the top, each joined to the one before."""
    before: tuple[int, int] | None = None
    for x, (low, high) in enumerate(spans):
        first, last = (round(bottom - share * (bottom - top)) for share in (high, low))
        begin, end = first, last
        if before is not None:
            begin, end = min(first, before[1]), max(last, before[0])
        for y in range(begin, end + 1):
            canvas.set_dot(x, y, ink)
        before = first, last


def _label_rows(label: str, ink: str, drawing: Drawing, at: int) -> list[Row]:
    return [_add_label(label if number == at else "", ink, row) for number, row in enumerate(drawing)]


def _relabel(row: Row, label: str) -> Row:
    return merge([Text(f"{label:>{LABELS - 1}} ", "dim"), *_drop_columns(row, LABELS)])


def _drop_columns(row: Row, columns: int) -> list[Text]:
    """Return the rest of a row after its first columns."""
    left: list[Text] = []
    for run in row:
        left.append(run._replace(text=run.text[columns:]))
        columns = max(columns - len(run.text), 0)
    return left


def _draw_samples(done: Run, window: Window, across: int) -> Row:
    canvas = DotField(across, 1)
    for x, looked in enumerate(scope.mark_columns(done.counting.samples_s, window)):
        if looked:
            for y in range(1, DOWN):
                canvas.set_dot(x, y, "dim")
    return canvas.draw("panel")[0]


def _mark_reached(done: Run, slips: tuple[Slip, ...], window: Window, across: int) -> Row:
    lost = {(slip.at_s, slip.detent) for slip in slips if slip.kind == "lost"}
    marks = [
        (at_s, f"○{number}", "wrong") if (at_s, number) in lost else (at_s, f"•{number}", "text")
        for at_s, number in scope.reach_detents(done.motion)
    ]
    return _write_marks(marks, window, across)


def _mark_counted(done: Run, slips: tuple[Slip, ...], window: Window, across: int) -> Row:
    wrong_s = {slip.at_s for slip in slips if slip.kind != "lost"}
    marks, net = [], 0
    for at_s, detents in zip(done.counting.counted_s.tolist(), done.counting.counted.tolist(), strict=True):
        net += detents
        filled, hollow = ("▲", "△") if detents > 0 else ("▼", "▽")
        mark, ink = (hollow, "wrong") if at_s in wrong_s else (filled, "good")
        marks.append((at_s, f"{mark}{net}", ink))
    return _write_marks(marks, window, across)


def _shade(row: Row, disturbed: Sequence[bool]) -> Row:
    """Give the cells of disturbed time another background."""
    cells = [run._replace(text=character) for run in row for character in run.text]
    return (
        merge(
            cell._replace(ground="raised") if place >= LABELS and disturbed[place - LABELS] else cell
            for place, cell in enumerate(cells)
        )
        if any(disturbed)
        else row
    )


def _write_marks(marks: Sequence[tuple[float, str, str]], window: Window, across: int) -> Row:
    """Write marks at their moments; where they are too close, the character of each and the last number only."""
    cells = [Text(" ", "text")] * across
    placed = [(column, text, ink) for at_s, text, ink in marks if (column := window.find_column(at_s)) is not None]
    for place, (column, text, ink) in enumerate(placed):
        next_column = placed[place + 1][0] if place + 1 < len(placed) else across
        shown = text if column + len(text) < next_column or next_column == across else text[:1]
        for offset, character in enumerate(shown[: across - column]):
            cells[column + offset] = Text(character, ink)
    return merge(cells)


def _write_time(window: Window, across: int) -> Row:
    """Write moments below their places. [ms]"""
    length_ms = (window.end_s - window.begin_s) * 1000
    step_ms = choose_step(length_ms, across // 9)
    number = int(window.begin_s * 1000 / step_ms)
    line = [" "] * across
    while number * step_ms < window.end_s * 1000:
        column = window.find_column(number * step_ms / 1000)
        label = f"╵{number * step_ms:.7g}"
        if column is not None and column + len(label) <= across:
            line[column : column + len(label)] = label
        number += 1
    return fit([Text("".join(line), "dim")], across)


def choose_step(length: float, most: int) -> float:
    """Return a step, 1, 2 or 5 times a power of ten, that fits a length at most so often."""
    step = 1e-6
    while length / step > max(most, 1):
        step *= 2.5 if f"{step:e}"[0] == "2" else 2.0
    return step
