"""The header names the designs and what became of them; a file's name gives way to the message."""

from pathlib import Path

import pytest

from knobmenu.design.whole import Design
from knobmenu.picture.runs import extract_text
from knobmenu.session.variants import Variant
from knobmenu.terminal.desk.views.header import draw_header
from tests.terminal.stage import Stage

BROKEN = "broken at line 58; the last good design stays"


@pytest.mark.parametrize(
    ("columns", "shown"), [(80, f" Kitchen radio   {BROKEN}"), (100, f" Kitchen radio (radio.toml)   {BROKEN}")]
)
def test_the_files_name_gives_way_to_the_message(columns: int, shown: str) -> None:
    names = (("Kitchen radio (radio.toml)", "Kitchen radio"),)

    drawn = extract_text(draw_header(names, BROKEN, "wrong", "press: clicks", columns))

    assert drawn.startswith(shown)
    assert drawn.endswith(" press: clicks ")
    assert len(drawn) == columns


def test_designs_of_one_name_are_told_apart_by_their_files(kiln: Design) -> None:
    stage = Stage([Variant(kiln, Path("before.toml")), Variant(kiln, Path("after.toml"))])

    header = stage.text(80, 24)

    assert header.startswith(" A before.toml   B after.toml   ")
