"""Pictures of what is shown: whole SVG documents, row for row what the terminal shows, in the look's own colours."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import attrs
import pytest
from rich.cells import cell_len

from knobmenu.design.whole import Design
from knobmenu.picture.dots import QUADRANTS
from knobmenu.picture.palettes import HIGH_CONTRAST, PALETTES, Palette
from knobmenu.picture.svg import EDGE, HIGH, PLAIN_GROUND, PLAIN_INK, SIXTEEN, WIDE
from knobmenu.session.variants import Variant
from knobmenu.terminal.knob_screen import CLICK_SHOWN_S
from knobmenu.terminal.notice import Notice
from tests import pictures
from tests.terminal.clock import Clock
from tests.terminal.desk import at_desk
from tests.terminal.stage import STEP_MS, Stage, text_on_screen

SVG = "{http://www.w3.org/2000/svg}"
SCENES = pictures.scenes()

looks = pytest.mark.parametrize("look", PALETTES, ids=lambda look: look.name)


def colours_of(text: str) -> set[str]:
    return set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]{6})"', text))


def is_shade(colour: str, look: Palette) -> bool:
    """Return whether a colour lies between those of a look's shaded knob; it is rounded a little."""
    if look.shading is None:
        return False
    channels = [[int(name[start : start + 2], 16) for name in attrs.astuple(look.shading)] for start in (1, 3, 5)]
    parts = [int(colour[start : start + 2], 16) for start in (1, 3, 5)]
    return all(min(channel) - 4 <= part <= max(channel) for part, channel in zip(parts, channels, strict=True))


@looks
@pytest.mark.parametrize("name", SCENES)
def test_a_picture_is_a_document_of_the_right_size_in_the_colours_of_its_look(name: str, look: Palette) -> None:
    for columns, rows in pictures.SIZES:
        text = SCENES[name].svg(columns, rows, look)
        root = ET.fromstring(text)
        assert root.tag == f"{SVG}svg"
        assert (root.get("width"), root.get("height")) == (
            str(columns * WIDE + 2 * EDGE),
            str(rows * HIGH + 2 * EDGE),
        )
        allowed = {SIXTEEN.get(colour, colour) for colour in look.colours.values()} | {PLAIN_INK, PLAIN_GROUND}
        assert {colour for colour in colours_of(text) - allowed if not is_shade(colour, look)} == set()
        assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)|url\(|@font-face|<script", text)


@pytest.mark.parametrize("name", SCENES)
def test_a_renderer_that_heeds_only_the_first_place_of_a_text_and_joins_its_blanks_shows_the_same(name: str) -> None:
    """As librsvg 2.54 does; joining blanks is the default of SVG 1.1 (10.15, White space handling)."""
    for word in ET.fromstring(SCENES[name].svg(120, 40)).iter(f"{SVG}text"):
        text = word.text or ""
        first, *rest = map(int, word.get("x", "").split())
        assert rest == [first + WIDE * place for place in range(1, len(text))]
        assert len(text) == 1 or cell_len(text) == len(text)
        assert " ".join(text.split()) == text


@pytest.mark.parametrize("name", SCENES)
def test_the_words_of_a_picture_stand_where_they_stand_in_the_terminal(name: str) -> None:
    columns, rows = 120, 40
    stage = SCENES[name]
    seen = [line.ljust(columns) for line in stage.text(columns, rows).splitlines()]
    drawn = [[" "] * columns for _ in range(rows)]
    for word in ET.fromstring(stage.svg(columns, rows)).iter(f"{SVG}text"):
        row, rest = divmod(int(word.get("y", "")) - 15, HIGH)
        assert rest == 0
        for place, sign in zip(word.get("x", "").split(), word.text or "", strict=True):
            drawn[row][int(place) // WIDE] = sign
    # What is drawn as a shape is no text in the picture; everything else is, in its own cell.
    for line, cells in zip(seen, drawn, strict=True):
        words = "".join(" " if sign in QUADRANTS + "─━│┌┐└┘●○▸▾♪←→↑↓" or "⠀" <= sign <= "⣿" else sign for sign in line)
        assert "".join(cells) == words


def test_the_same_is_drawn_the_same() -> None:
    for name, stage in pictures.scenes().items():
        assert stage.svg(120, 40) == SCENES[name].svg(120, 40)


async def test_the_app_draws_what_it_shows(kiln: Design) -> None:
    async with at_desk([kiln], (120, 40)) as hand:
        await hand.key("right", "space", "c")
        drawn = hand.desk.picture()
        title = next(ET.fromstring(drawn).iter(f"{SVG}title")).text
        assert title == "Kiln"
        assert hand.desk.palette.colours["panel"] in colours_of(drawn)
        words = {"".join(word.text or "") for word in ET.fromstring(drawn).iter(f"{SVG}text")}
        assert "browsing" in "".join(words)


def test_every_picture_is_made(tmp_path: Path) -> None:
    made = pictures.all_pictures(tmp_path)
    files = sorted(tmp_path.glob("*.svg"))
    assert made == len(files) == len(SCENES) * len(PALETTES) * len(pictures.SIZES)
    for demo in (pictures.ROOT / "demos").glob("*.toml"):
        assert (tmp_path / f"{demo.stem}-dark-80x24.svg") in files


def test_the_picture_in_the_readme_shows_the_app_as_it_is() -> None:
    """If this fails after a change of the look, run: python -m tests.pictures --readme; and look at the picture."""
    assert (pictures.ROOT / "docs" / "images" / "app.svg").read_text(encoding="utf-8") == pictures.for_readme()


async def test_a_stage_shows_what_the_app_shows(kiln: Design, other_kiln: Design, clock: Clock) -> None:
    """So what is held of stages is held of the app: cell for cell, through the terminal library."""
    look = HIGH_CONTRAST  # In any terminal, its knob is a ring.
    stage = Stage([Variant(kiln, None), Variant(other_kiln, None)])
    stage.notice = Notice("a demo; ? shows the keys", "dim")
    async with at_desk([kiln, other_kiln], (120, 40), look) as hand:
        for word, key in (("up", "up"), ("press", "space"), ("up", "right"), ("back", "comma")):
            stage.do(word)
            clock.later(STEP_MS)
            await hand.key(key)
        await hand.pilot.pause(CLICK_SHOWN_S + 0.1)
        rows = [strip.text.rstrip() for strip in hand.app.screen._compositor.render_strips()]
        assert rows == text_on_screen(stage.pictures(120, 40, look), 120, 40).splitlines()
