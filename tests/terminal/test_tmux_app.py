"""The app in tmux, which swallows some of what it asks for."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from knobmenu.design.hardware import CharacterDisplay
from tests.terminal.pty_harness import KNOBMENU, Tmux
from tests.terminal.reading import showing

pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed here; CI installs it")


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (200, 50)])
def test_keys_work_in_tmux_and_the_shell_comes_back(
    design_file: Path, display: CharacterDisplay, columns: int, rows: int
) -> None:
    with Tmux((*KNOBMENU, "try", str(design_file)), columns, rows) as window:
        window.wait_for(showing(display, "60 %"))
        window.type("Up", "Up")
        window.wait_for(showing(display, "70 %"))
        window.type("Space")
        window.wait_for(showing(display, ">Mood"))
        window.type("l")
        window.wait_for(showing(display, "70 %"))
        window.type("q")
        window.wait_for(lambda text: not showing(display, "70 %")(text))


def test_a_resized_window_is_drawn_again(design_file: Path, display: CharacterDisplay) -> None:
    with Tmux((*KNOBMENU, "try", str(design_file)), 80, 24) as window:
        window.wait_for(showing(display, "60 %"))
        window.resize(150, 45)
        window.type("Up")
        window.wait_for(showing(display, "65 %"))
        window.resize(80, 24)
        window.wait_for(showing(display, "65 %"))
