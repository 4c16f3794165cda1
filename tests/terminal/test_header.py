"""The header names the designs and what became of them; a file's name gives way to the message."""

import ast
from pathlib import Path

import pytest

from knobmenu.design.whole import Design
from knobmenu.picture.runs import extract_text
from knobmenu.session.variants import Variant
from knobmenu.terminal.desk import commands
from knobmenu.terminal.desk.views.header import draw_header
from tests.terminal.desk import at_desk
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


def test_what_a_command_answers_fits_beside_a_name_in_the_smallest_recommended_terminal() -> None:
    """The name of a design may take 14 cells at 80 columns, and `press: clicks` stands at the right."""
    source = Path(commands.__file__).read_text(encoding="utf-8")
    answers = [
        node.args[0].value
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "say"
        if isinstance(node.args[0], ast.Constant)
    ]

    assert answers
    assert [
        answer for answer in answers if len(str(answer)) > 80 - len(" press: clicks ") - len(" 14 cells name   ")
    ] == []


async def test_reading_a_file_again_that_did_not_change_is_answered(kiln_file: Path) -> None:
    async with at_desk([kiln_file]) as hand:
        await hand.key("r")
        await hand.until(lambda: "read again" in hand.shows("header"))
