"""A device: its display, and under it in words its lamps, its sounder and the caution that the display cannot show."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from knobmenu.design.hardware import Lamp
from knobmenu.design.whole import Design
from knobmenu.machine.effects import Effect, Flash, Sound
from knobmenu.machine.indicators import find_lit_lamps
from knobmenu.picture.display import Blink, draw, find_row_middles
from knobmenu.picture.fitting import cut, fit, measure_width, wrap
from knobmenu.picture.forms import Form, Manner, measure_size
from knobmenu.picture.runs import Drawing, Row, Run, count_cells, merge
from knobmenu.session.facts import list_unseen_cautions
from knobmenu.session.part import Part
from knobmenu.terminal.drawing.signals import draw_lamp_row, draw_short_lamp_row, draw_sounder_row


def draw_device(
    part: Part, form: Form, manner: Manner, blink: Blink, height: int, label: str = "", differing: tuple[int, ...] = ()
) -> Drawing:
    """Draw a device.

    Args:
        part: The variant.
        form: How its display is drawn.
        manner: What the look asks for.
        blink: What blinking cells and lamps look like now.
        height: Height of its place; below the signals, it is for a caution. [terminal cells]
        label: What the variant is called where there are several.
        differing: The rows of its display that show something else than the other variant's, from 0 at the top.
    """
    display = part.design.display
    picture = _mark(draw(display, part.screen, form, manner, blink), find_row_middles(display, form), differing, manner)
    lit = find_lit_lamps(part.design, part.state)
    columns = measure_size(display, form).columns
    has_sounder = part.design.sounder is not None
    remark = _format_remark(len(differing), display.rows) if label else ""
    signals = _draw_signals(part.design.lamps, lit, has_sounder, part.effects, blink, label, remark, columns)
    room = height - len(picture) - 1
    return (
        *picture,
        signals,
        *_draw_caution(list_unseen_cautions(part.design, part.state, part.screen), columns, room),
    )


def find_longest_caution(design: Design) -> int:
    """Return how long the longest caution of a design is, in any language; 0 where it has none. [terminal cells]"""
    cautions = {thing.hazard for thing in design.index.hazards.values()}
    cautions |= {words[caution] for words in design.index.translations for caution in cautions & words.keys()}
    return max((count_cells(f"⚠ {caution}") for caution in cautions), default=0)


@lru_cache(maxsize=64)
def _draw_caution(cautions: tuple[str, ...], columns: int, rows: int) -> Drawing:
    if not cautions or rows <= 0:
        return ()
    lines = wrap("⚠ " + " ".join(cautions), columns)
    if len(lines) > rows:
        lines[rows - 1] = cut(" ".join(lines[rows - 1 :]), columns)
    return tuple((Run(line, "caution"),) for line in lines[:rows])


def _format_remark(differing: int, rows: int) -> str:
    if not differing:
        return "= same"
    return "≠ differs" if differing >= rows else f"≠ {differing} of {rows} rows"


def _mark(picture: Drawing, places: tuple[int, ...], differing: tuple[int, ...], manner: Manner) -> Drawing:
    """Put a mark into the frame beside each row that differs."""
    rows = list(picture)
    for number in differing:
        if number < len(places):
            *row, side = rows[places[number]]
            mark = Run("≠", "differs", "bezel" if manner.solid else "panel")
            rows[places[number]] = merge([*row, Run(side.text[:-1], side.ink, side.ground), mark])
    return tuple(rows)


@lru_cache(maxsize=512)
def _draw_signals(
    lamps: tuple[Lamp, ...],
    lit: tuple[bool, ...],
    has_sounder: bool,
    effects: tuple[Effect, ...],
    blink: Blink,
    label: str,
    remark: str,
    columns: int,
) -> Row:
    """Draw the state of lamps and the sounder.

    Where there is not room for all, a silent sounder is left out; then the lamps have only their labels; then what
    shines or sounds comes first.
    """
    head: list[Run] = []
    if label:
        head.append(Run(f"{label} ", "strong"))
        head.append(Run(f"{remark}  ", "dim" if remark.startswith("=") else "caution"))
    flashing = {effect.lamp for effect in effects if isinstance(effect, Flash)}
    states = [(lamp, shines, lamp.key in flashing) for lamp, shines in zip(lamps, lit, strict=True)]
    sound = next((effect for effect in effects if isinstance(effect, Sound)), None)
    sounder = (draw_sounder_row(sound),) if has_sounder else ()
    dark = blink == "other"
    sounding = sounder if sound else ()
    for draw_lamp, gap in ((draw_lamp_row, 3), (draw_short_lamp_row, 2)):
        shown = [draw_lamp(*state, dark) for state in states]
        for rows in ([*shown, *sounder], [*shown, *sounding]):
            runs = [*head, *_join(rows, gap)]
            if measure_width(runs) <= columns:
                return tuple(runs)
    states.sort(key=lambda state: not (state[1] or state[2]))
    return fit([*head, *_join([*sounding, *(draw_short_lamp_row(*state, dark) for state in states)], 2)], columns)


def _join(rows: Sequence[Row], gap: int) -> list[Run]:
    """Put rows into one, so many blanks apart. [terminal cells]"""
    runs: list[Run] = []
    for number, row in enumerate(rows):
        runs += [Run(" " * gap, "dim")] if number else []
        runs += row
    return runs
