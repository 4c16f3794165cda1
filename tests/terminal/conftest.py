"""What the tests of the terminal share."""

from pathlib import Path

import pytest

from knobmenu.design.hardware import CharacterDisplay
from knobmenu.files.starter import read_starter
from knobmenu.files.toml import loads
from tests.kiln import kiln, kiln_file, other_kiln
from tests.terminal.clock import Clock

__all__ = ["clock", "kiln", "kiln_file", "other_kiln"]


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """The time of keys and mouse, moved by hand."""
    clock = Clock()
    monkeypatch.setattr("textual.message._time", clock)
    return clock


@pytest.fixture
def design_file(tmp_path: Path) -> Path:
    """The starter design in a file, but it neither idles nor accelerates: slow machines see what they wait for."""
    path = tmp_path / "lamp.toml"
    text = read_starter().replace("after_ms = 20000", "after_ms = 0")
    path.write_text(text.replace("accelerates = true", "accelerates = false"), encoding="utf-8")
    return path


@pytest.fixture
def display(design_file: Path) -> CharacterDisplay:
    """The display of that design."""
    found = loads(design_file.read_text(encoding="utf-8")).display
    assert isinstance(found, CharacterDisplay)
    return found
