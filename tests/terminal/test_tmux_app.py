"""The app in tmux, which swallows some of what it asks for."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from knobmenu.design.hardware import CharacterDisplay
from knobmenu.files.toml import loads
from tests.terminal.pty_harness import KNOBMENU, Tmux
from tests.terminal.reading import shown_on, steady_lamp

pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed here; CI installs it")


@pytest.fixture
def design_file(tmp_path: Path) -> Path:
    """The starter design in a file."""
    path = tmp_path / "lamp.toml"
    path.write_text(steady_lamp(), encoding="utf-8")
    return path


def showing(path: Path, *texts: str) -> Callable[[str], bool]:
    """Ask whether the device's display shows some texts."""
    display = loads(path.read_text(encoding="utf-8")).display
    assert isinstance(display, CharacterDisplay)

    def found(text: str) -> bool:
        try:
            rows = "\n".join(shown_on(text.split("\n"), display))
        except AssertionError:
            return False
        return all(one in rows for one in texts)

    return found


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (200, 50)])
def test_keys_work_in_tmux_and_the_shell_comes_back(design_file: Path, columns: int, rows: int) -> None:
    with Tmux((*KNOBMENU, "try", str(design_file)), columns, rows) as window:
        window.wait_for(showing(design_file, "60 %"))
        window.type("Up", "Up")
        window.wait_for(showing(design_file, "70 %"))
        window.type("Space")
        window.wait_for(showing(design_file, ">Mood"))
        window.type("l")
        window.wait_for(showing(design_file, "70 %"))
        window.type("q")
        window.wait_for(lambda text: not showing(design_file, "70 %")(text))


def test_a_resized_window_is_drawn_anew(design_file: Path) -> None:
    with Tmux((*KNOBMENU, "try", str(design_file)), 80, 24) as window:
        window.wait_for(showing(design_file, "60 %"))
        window.resize(150, 45)
        window.type("Up")
        window.wait_for(showing(design_file, "65 %"))
        window.resize(80, 24)
        window.wait_for(showing(design_file, "65 %"))
