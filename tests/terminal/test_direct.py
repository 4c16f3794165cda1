"""What is written straight to the terminal looks as if the whole screen had been drawn anew."""

import random
from pathlib import Path

import pytest
from textual.app import App
from textual.drivers.linux_driver import LinuxDriver
from textual.screen import Screen

from tests.terminal.pty_harness import KNOBMENU, Terminal

KEYS = ("\x1b[A", "\x1b[B", "\x1b[5~", "\x1b[6~", " ", "l", "d", "h", ",", ".", "n", "o")


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (120, 40)])
@pytest.mark.parametrize("look", ["dark", "16-colours", "no-colour"])
def test_a_walk_leaves_the_screen_as_a_whole_drawing_of_it_does(
    design_file: Path, look: str, columns: int, rows: int
) -> None:
    chance = random.Random(columns)
    with Terminal((*KNOBMENU, "try", "--look", look, "--no-blink", str(design_file)), columns, rows) as terminal:
        terminal.wait_for("? shows the keys")
        # In the past or frozen, nothing changes while the picture is taken.
        terminal.type("f")
        for _ in range(40):
            key = chance.choice(KEYS)
            # A note is asked for on a screen in front: what changes behind it is then Textual's to draw.
            terminal.type("nagain\r" if key == "n" else key)
            if chance.random() < 0.5:
                terminal.settle(0.05)
        terminal.wait_for("event ")
        terminal.settle(0.4)
        after_the_walk = terminal.cells
        terminal.type_and_wait("?", "Esc closes this")
        terminal.type_and_wait("\x1b", lambda text: "Esc closes this" not in text)
        terminal.settle(0.4)
        assert terminal.cells == after_the_walk


def test_a_turn_sends_a_small_part_of_the_screen() -> None:
    with Terminal((*KNOBMENU, "try"), 120, 40) as terminal:
        terminal.wait_for("? shows the keys")
        terminal.settle(0.4)
        whole = len(terminal.output)
        for _ in range(10):
            before = len(terminal.output)
            terminal.type("\x1b[A")
            terminal.settle(0.1)
            assert 0 < len(terminal.output) - before < whole / 4


def test_the_private_names_are_there() -> None:
    assert {"_driver", "_sync_available"} <= vars(App()).keys()
    assert callable(LinuxDriver.write)
    assert "_disable_notifications" in vars(App())
    assert {"_layout_required", "_repaint_required", "_dirty_widgets"} <= vars(Screen()).keys()
