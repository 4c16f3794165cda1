"""A device: its display, and its lamps and sounder in words under it."""

from __future__ import annotations

from functools import lru_cache

from knobmenu.design.hardware import Lamp
from knobmenu.machine.effects import Effect, Flash, Sound
from knobmenu.machine.indicators import lamps_lit
from knobmenu.terminal.drawing.display import Blink, draw
from knobmenu.terminal.drawing.forms import Form, Manner, size_of
from knobmenu.terminal.drawing.runs import Drawing, Row, Run
from knobmenu.terminal.drawing.signals import lamp_row, sounder_row
from knobmenu.terminal.trying import Part
from knobmenu.terminal.views.fitting import fitted


def device_rows(
    part: Part, form: Form, manner: Manner, blink: Blink, label: str = "", differs: bool = False
) -> Drawing:
    """Draw a device.

    Args:
        part: The variant.
        form: How its display is drawn.
        manner: What the look asks for.
        blink: What blinking cells and lamps look like now.
        label: What the variant is called where there are several.
        differs: Whether its display shows something else than the first variant's.
    """
    display = part.design.display
    picture = draw(display, part.screen, form, manner, blink)
    lit = lamps_lit(part.design, part.state)
    columns = size_of(display, form).columns
    has_sounder = part.design.sounder is not None
    return (*picture, _signals(part.design.lamps, lit, has_sounder, part.effects, blink, label, differs, columns))


@lru_cache(maxsize=512)
def _signals(
    lamps: tuple[Lamp, ...],
    lit: tuple[bool, ...],
    has_sounder: bool,
    effects: tuple[Effect, ...],
    blink: Blink,
    label: str,
    differs: bool,
    columns: int,
) -> Row:
    """Say what lamps and sounder do; the lamps that shine come first where there is not room for all."""
    runs: list[Run] = []
    if label:
        runs.append(Run(f"{label} ", "strong"))
        runs.append(Run("≠ differs  " if differs else "= same  ", "caution" if differs else "dim"))
    flashing = {effect.lamp for effect in effects if isinstance(effect, Flash)}
    rows = [
        lamp_row(lamp, shines, lamp.key in flashing, blink == "other") for lamp, shines in zip(lamps, lit, strict=True)
    ]
    if has_sounder:
        rows.append(sounder_row(next((effect for effect in effects if isinstance(effect, Sound)), None)))
    for row in rows:
        runs += [*row, Run("   ", "dim")]
    return fitted(runs, columns)
