"""A device: its display, and its lamps and sounder in words under it."""

from __future__ import annotations

from functools import lru_cache
from itertools import zip_longest

from knobmenu.design.hardware import Lamp
from knobmenu.machine.effects import Effect, Flash, Sound
from knobmenu.machine.indicators import lamps_lit
from knobmenu.screen.cells import Screen, Span
from knobmenu.session.trying import Part
from knobmenu.terminal.drawing.display import Blink, draw, rows_of
from knobmenu.terminal.drawing.fitting import fit
from knobmenu.terminal.drawing.forms import Form, Manner, size_of
from knobmenu.terminal.drawing.runs import Drawing, Row, Run, merge
from knobmenu.terminal.drawing.signals import lamp_row, sounder_row


def draw_device(
    part: Part, form: Form, manner: Manner, blink: Blink, label: str = "", differing: tuple[int, ...] = ()
) -> Drawing:
    """Draw a device.

    Args:
        part: The variant.
        form: How its display is drawn.
        manner: What the look asks for.
        blink: What blinking cells and lamps look like now.
        label: What the variant is called where there are several.
        differing: The rows of its display that show something else than the other variant's, from 0 at the top.
    """
    display = part.design.display
    picture = _marked(draw(display, part.screen, form, manner, blink), rows_of(display, form), differing, manner)
    lit = lamps_lit(part.design, part.state)
    columns = size_of(display, form).columns
    has_sounder = part.design.sounder is not None
    remark = _remark(len(differing), display.rows) if label else ""
    return (*picture, _signals(part.design.lamps, lit, has_sounder, part.effects, blink, label, remark, columns))


def differing_rows(one: Part, other: Part) -> tuple[int, ...]:
    """Return the rows, from 0 at the top, in which two displays differ; a row that only one of them has does.

    Args:
        one: A variant.
        other: Another.
    """
    return tuple(
        row
        for row, (text, beside) in enumerate(zip_longest(_looks(one.screen), _looks(other.screen)))
        if text != beside
    )


def _looks(screen: Screen) -> list[tuple[str, tuple[Span, ...], tuple[int, ...]]]:
    return [
        (text, tuple(span for span in screen.blinking if span.row == row), screen.points)
        for row, text in enumerate(screen.rows)
    ]


def _remark(differing: int, rows: int) -> str:
    if not differing:
        return "= same"
    return "≠ differs" if differing >= rows else f"≠ {differing} of {rows} rows"


def _marked(picture: Drawing, places: tuple[int, ...], differing: tuple[int, ...], manner: Manner) -> Drawing:
    """Put a mark into the frame beside each row that differs."""
    rows = list(picture)
    for number in differing:
        if number < len(places):
            *row, side = rows[places[number]]
            mark = Run("≠", "differs", "bezel" if manner.solid else "panel")
            rows[places[number]] = merge([*row, Run(side.text[:-1], side.ink, side.ground), mark])
    return tuple(rows)


@lru_cache(maxsize=512)
def _signals(
    lamps: tuple[Lamp, ...],
    lit: tuple[bool, ...],
    has_sounder: bool,
    effects: tuple[Effect, ...],
    blink: Blink,
    label: str,
    remark: str,
    columns: int,
) -> Row:
    """Say what lamps and sounder do; the lamps that shine come first where there is not room for all."""
    runs: list[Run] = []
    if label:
        runs.append(Run(f"{label} ", "strong"))
        runs.append(Run(f"{remark}  ", "dim" if remark.startswith("=") else "caution"))
    flashing = {effect.lamp for effect in effects if isinstance(effect, Flash)}
    rows = [
        lamp_row(lamp, shines, lamp.key in flashing, blink == "other") for lamp, shines in zip(lamps, lit, strict=True)
    ]
    if has_sounder:
        rows.append(sounder_row(next((effect for effect in effects if isinstance(effect, Sound)), None)))
    for row in rows:
        runs += [*row, Run("   ", "dim")]
    return fit(runs, columns)
