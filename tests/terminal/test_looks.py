"""Each look holds what it promises, for everything that is really shown."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from rich.color import ColorType

from knobmenu.design.whole import Design
from knobmenu.picture.disc import Shading
from knobmenu.picture.knob import KNOB_WORDS
from knobmenu.picture.palettes import NO_COLOUR, PALETTES, SIXTEEN, Palette, contrast
from knobmenu.picture.runs import Run
from knobmenu.picture.svg import resolve_colours
from knobmenu.terminal.backend.styles import style
from tests import pictures
from tests.terminal.desk import at_desk
from tests.terminal.pty_harness import KNOBMENU, Terminal, environment

SCENES = pictures.scenes()
SIZES = ((80, 24), (120, 40), (250, 70))
HEX = [palette for palette in PALETTES if palette.colours["text"].startswith("#")]

DECORATION = {"line", "lcd-unlit", "segment-unlit", "bezel"}
"""Inks without which nothing is lost: lines between panes, dots that are not lit, the frame around the glass."""

SHAPES = re.compile(r"[█▀▄─━│┌┐└┘●○♪▸▾‹→≠✎✗\u2800-\u28ff]+")


def runs(palette: Palette) -> Iterator[Run]:
    """Give everything that is seen in a look: every scene at three sizes."""
    for stage in SCENES.values():
        for columns, rows in SIZES:
            for _, drawing in stage.pictures(columns, rows, palette).values():
                yield from (run for row in drawing for run in row if run.text.strip())


@pytest.mark.parametrize("palette", HEX, ids=lambda palette: palette.name)
def test_all_that_is_shown_can_be_read(palette: Palette) -> None:
    """Words 4.5 to 1 or better, shapes 3 to 1; in the high contrast look words 7 to 1.

    W3C, Web Content Accessibility Guidelines 2.2, success criteria 1.4.3 and 1.4.6 (contrast of text) and 1.4.11 (of
    graphical objects); contrast as defined there. What is pure decoration is exempt there too.
    """
    least = 7.0 if palette.name == "high contrast" else 4.5
    too_faint = set()
    for run in set(runs(palette)):
        if run.ink in DECORATION or run.ink.startswith("#"):
            continue
        ratio = contrast(*resolve_colours(palette, run))
        if ratio < (3.0 if SHAPES.fullmatch(run.text.strip()) else least):
            too_faint.add((run.ink, run.ground, round(ratio, 2)))
    assert too_faint == set()


@pytest.mark.parametrize("shading", [palette.shading for palette in PALETTES if palette.shading is not None])
def test_the_pointer_and_the_hold_can_be_seen_on_a_shaded_knob(shading: Shading) -> None:
    """The shades are decoration; what they carry is seen 3 to 1 (the same guidelines, 1.4.11)."""
    for body in (shading.dark, shading.light):
        assert contrast(shading.pointer, body) >= 3.0
        assert contrast(shading.hold, body) >= 3.0


def test_sixteen_colours_are_sixteen() -> None:
    for run in set(runs(SIXTEEN)):
        shown = style(SIXTEEN, run.ink, run.ground)
        for colour in (shown.color, shown.bgcolor):
            assert colour is None or (colour.type is ColorType.STANDARD and colour.number is not None)
            assert colour is None or 0 <= (colour.number or 0) < 16


def test_no_dark_ink_is_bold_on_sixteen_colours() -> None:
    """Terminals of sixteen colours brighten bold ink, and bold black is grey there (common practice)."""
    for run in set(runs(SIXTEEN)):
        shown = style(SIXTEEN, run.ink, run.ground)
        assert not (shown.bold and shown.color is not None and shown.color.name == "black")


def test_without_colour_nothing_has_a_colour() -> None:
    for run in set(runs(NO_COLOUR)):
        shown = style(NO_COLOUR, run.ink, run.ground)
        assert shown.color is None
        assert shown.bgcolor is None


@pytest.mark.parametrize("name", SCENES)
def test_every_look_says_the_same_in_words(name: str) -> None:
    """Nothing is said by colour alone: what is read is the same in each look, frames, unlit dots and the knob aside."""

    def words(palette: Palette) -> list[str]:
        shown = SCENES[name].pictures(120, 40, palette)
        return [
            "".join(run.text for row in drawing for run in row if not SHAPES.search(run.text) or run.ink == "text")
            for part, (_, whole) in shown.items()
            if not part.startswith("device")
            for drawing in [whole[-KNOB_WORDS:] if part == "knob" else whole]
        ]

    assert all(words(palette) == words(PALETTES[0]) for palette in PALETTES)


@pytest.mark.parametrize("palette", PALETTES, ids=lambda palette: palette.name)
async def test_questions_and_keys_over_the_desk_are_in_its_look(kiln: Design, palette: Palette) -> None:
    async with at_desk([kiln], look=palette) as hand:
        for key in ("n", "question_mark", "colon", "w"):
            await hand.key(key)
            if key == "w":
                await hand.write("wrong words")
            await hand.pilot.pause(0.05)
            inks = {
                colour
                for strip in hand.app.screen._compositor.render_strips()
                for segment in strip
                if segment.style is not None
                for colour in (segment.style.color, segment.style.bgcolor)
                if colour is not None
            }
            kinds = {colour.type for colour in inks}
            if palette is NO_COLOUR:
                assert kinds <= {ColorType.DEFAULT}, (key, kinds)
            elif palette is SIXTEEN:
                assert kinds <= {ColorType.DEFAULT, ColorType.STANDARD}, (key, kinds)
            else:
                assert ColorType.TRUECOLOR in kinds
            await hand.pilot.press("escape")
            await hand.settle()


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"NO_COLOR": "1"}, rb"(?:^|;)(?:3[0-8]|4[0-8]|9\d|10[0-7])(?:;|$)"),
        ({"TERM": "xterm", "COLORTERM": None}, rb"[34]8;"),
    ],
    ids=["no colour", "16 colours"],
)
def test_questions_and_keys_send_no_colour_that_the_terminal_lacks(
    design_file: Path, changes: dict[str, str | None], wrong: bytes
) -> None:
    """NO_COLOR, set and not empty, asks for no added colour (https://no-color.org)."""
    with Terminal((*KNOBMENU, "try", str(design_file)), 80, 24, env=environment(**changes)) as terminal:
        terminal.wait_for("detent")
        for key, shown in (("?", "Esc closes this"), ("n", "A note on this event"), (":", "Search")):
            terminal.type_and_wait(key, shown)
            terminal.settle()
            terminal.type("\x1b")
            terminal.settle(0.2)
        sent = [code[2:-1] for code in re.findall(rb"\x1b\[[0-9;]*m", bytes(terminal.output))]
        assert [code for code in sent if re.search(wrong, code)] == []
