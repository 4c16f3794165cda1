"""On a display of any size, each screen of one device is what the standard says, up to the last cell.

The other display is tests/export/independent_screen.py, made from section 11 of docs/reference/spec.md alone.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import pytest

from knobmenu.design.hardware import Display, PixelDisplay, SegmentDisplay
from knobmenu.design.home import Home, Row
from knobmenu.design.settings import Choice, Option
from knobmenu.design.whole import Design
from knobmenu.events import Event, HeldTurn, LongPress, Press, Turn
from tests.export.test_independent import agree
from tests.screen.drawing import glass, proofer

DISPLAYS: list[Display] = [
    *[glass(columns, rows) for rows in range(1, 5) for columns in (*range(8, 22), 23, 32, 40)],
    *[SegmentDisplay(digits=digits) for digits in range(4, 9)],
    *[PixelDisplay(width=8 * columns, height=8 * rows, cell_height=8) for columns in (8, 21) for rows in (5, 8)],
]


def device(display: Display, rows: bool) -> Design:
    """The proofer with an option whose short label is long, too, and with its home as rows or without any."""
    whole = proofer(display)
    grain = Option(key="grain", label="Grain of many kinds", short="Many grains")
    segments = isinstance(display, SegmentDisplay)
    row = Row("L", right="{light}") if segments else Row("Lit", bar="light", right="{light}")
    return attrs.evolve(
        whole,
        settings=[
            attrs.evolve(setting, options=(*setting.options, grain)) if isinstance(setting, Choice) else setting
            for setting in whole.settings
        ],
        home=Home(turn="light", press="main", rows=[row] if rows else []),
    )


def walk(design: Design) -> Iterator[Event]:
    """Turn at home; then open each entry of the menu, turn to both of its ends, and leave it by long presses."""
    for detents in (1, -200, 43, 7, 200):
        yield Turn(0, detents)
    for entry, _ in enumerate(design.menus[0].entries):
        yield from (Press(0), Turn(0, -100), *([Turn(0, entry)] if entry else []), Press(0))
        for detents in (1, -100, 1, 1, 3, 100):
            yield Turn(0, detents)
        yield from (HeldTurn(0, 1), Press(0), Turn(0, 1), Turn(0, 1), Press(0), Turn(0, -1))
        yield from (LongPress(0), LongPress(0), LongPress(0))


@pytest.mark.parametrize("rows", [True, False], ids=["rows", "no rows"])
@pytest.mark.parametrize("display", DISPLAYS, ids=lambda one: f"{type(one).__name__} {one.columns}x{one.rows}")
def test_each_screen_is_what_the_standard_says(display: Display, rows: bool) -> None:
    design = device(display, rows)
    agree(design, walk(design))


BLANKS = [
    Row("L ", right=" {light} "),
    Row(" L", right="{light}"),
    Row("{owner} ", right="{now}"),
    Row(" {beep} ", right="{dough} "),
    Row("{beep} ", right=" On "),
    Row("", right=" {count}"),
    Row("{rest} "),
    Row("L  {light}"),
]


@pytest.mark.parametrize("row", BLANKS)
@pytest.mark.parametrize("digits", range(4, 9))
def test_two_sides_of_seven_segments_stand_as_the_standard_says_whatever_blanks_they_have(
    digits: int, row: Row
) -> None:
    design = attrs.evolve(proofer(SegmentDisplay(digits=digits)), home=Home(turn="light", press="main", rows=[row]))
    agree(design, [Turn(0, 1), Turn(0, -200), Turn(0, 9), Turn(0, 200)])
