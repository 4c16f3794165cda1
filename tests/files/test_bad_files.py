"""A catalogue of design files that are wrong in one way each, and the very messages that they give.

Run with KNOBMENU_UPDATE=1 to write the messages down again; then read what changed before it is kept.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from knobmenu.errors import DesignError
from knobmenu.files import load

HERE = Path(__file__).parent / "bad"
FILES = sorted(path.name for path in HERE.glob("*.toml"))
MESSAGES = HERE / "messages.txt"


def list_messages(name: str) -> str:
    with pytest.raises(DesignError) as refused:
        load(HERE / name)
    return str(refused.value).replace(str(HERE) + os.sep, "") + "\n"


def test_each_bad_file_gives_the_messages_that_are_written_down() -> None:
    said = "\n".join(list_messages(name) for name in FILES)
    if os.environ.get("KNOBMENU_UPDATE") == "1":
        MESSAGES.write_text(said, encoding="utf-8")

    assert said == MESSAGES.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", FILES)
def test_every_problem_of_a_bad_file_names_the_file_what_was_found_and_what_is_allowed(name: str) -> None:
    with pytest.raises(DesignError) as refused:
        load(HERE / name)

    for problem in refused.value.problems:
        assert problem.file == str(HERE / name)
        assert problem.got
        assert problem.expected or problem.got.startswith("renamed to")


def test_the_catalogue_holds_at_least_sixty_mistakes() -> None:
    assert len(FILES) >= 60
