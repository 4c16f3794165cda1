"""The screen as text, scene by scene, kept in small files that a person can read.

Run with KNOBMENU_UPDATE=1 to write them down again; then read what changed before it is kept.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from knobmenu.design.whole import Design
from knobmenu.errors import Problem
from knobmenu.picture.palettes import HIGH_CONTRAST
from knobmenu.session.variants import Variant
from knobmenu.terminal.notice import Notice
from tests.terminal.stage import Stage, text_on_screen

FOLDER = Path(__file__).parent / "snapshots"
SIZES = ((80, 24), (120, 40), (250, 70))

Scene = Callable[[Design, Design], Stage]


def _stage(*designs: Design) -> Stage:
    return Stage([Variant(design, None) for design in designs])


def _broken(kiln: Design, _: Design) -> Stage:
    stage = _stage(kiln).do("up press")
    stage.notice = Notice("broken at line 12; the last good design stays", "wrong")
    stage.variants[0].problems = (
        Problem("settings.warm.high", "-1", "a whole number from 0 to 100", file="kiln.toml", line=12),
        Problem("menus.main.entries", "'bep'", "the key of a part", "Did you mean 'beep'?", "kiln.toml", 31),
    )
    return stage


SCENES: dict[str, Scene] = {
    "home": lambda kiln, _: _stage(kiln),
    "turned": lambda kiln, _: _stage(kiln).do("up up spin down"),
    "browsing": lambda kiln, _: _stage(kiln).do("press up note:one_too_far up"),
    "editing": lambda kiln, _: _stage(kiln).do("press press up up"),
    "held": lambda kiln, _: _stage(kiln).do("up hold"),
    "past": lambda kiln, _: _stage(kiln).do("up press up back back press back"),
    "variants": lambda kiln, other: _stage(kiln, other).do("up press up wait"),
    "broken": _broken,
}


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize(("columns", "rows"), SIZES, ids=lambda size: str(size))
def test_a_scene_looks_as_it_was_agreed(kiln: Design, other_kiln: Design, name: str, columns: int, rows: int) -> None:
    file = FOLDER / f"{name}-{columns}x{rows}.txt"
    # In this look the knob is a ring: the shades of a disc are no text that one could read a change of.
    shown = text_on_screen(SCENES[name](kiln, other_kiln).pictures(columns, rows, HIGH_CONTRAST), columns, rows)
    if os.environ.get("KNOBMENU_UPDATE") == "1":
        file.parent.mkdir(exist_ok=True)
        file.write_text(shown, encoding="utf-8")
    assert shown == file.read_text(encoding="utf-8"), f"if this is meant: KNOBMENU_UPDATE=1, then read {file.name}"


def test_no_file_is_of_a_scene_that_is_gone() -> None:
    known = {f"{name}-{columns}x{rows}.txt" for name in SCENES for columns, rows in SIZES}
    assert {file.name for file in FOLDER.iterdir()} == known


@pytest.mark.parametrize(("columns", "rows"), [(59, 24), (80, 17), (20, 5), (1, 1)])
def test_a_terminal_that_is_too_small_is_told_what_is_needed(kiln: Design, columns: int, rows: int) -> None:
    shown = _stage(kiln).pictures(columns, rows)
    assert list(shown) == ["small"]
    words = " ".join("".join(run.text for run in row) for row in shown["small"][1])
    assert f"{columns} by {rows}" in words
    assert "60 by 18" in words
    assert "--plain" in words
