"""Presentation in a real terminal: the shipped box lives, is recorded, and cannot be left by accident."""

from __future__ import annotations

import re
from pathlib import Path

from tests.terminal.pty_harness import KNOBMENU, Terminal

F10, RIGHT = "\x1b[21~", "\x1b[C"
SLIPS = ("q", "\x03", "\x1a", "\x11", "?", ":", "\x1b", "n", "s", ",")
"""What a participant may touch: q, Ctrl-C, Ctrl-Z, Ctrl-Q, keys of the designer, Escape."""


def test_a_participant_cannot_leave_and_the_moderator_can(tmp_path: Path) -> None:
    path = tmp_path / "session.jsonl"
    command = (*KNOBMENU, "try", "--present", "--no-blink", "--record", str(path))
    with Terminal(command, columns=120, rows=40, directory=tmp_path) as terminal:
        terminal.wait_for(lambda text: bool(text.strip()), timeout=30)
        before = terminal.settle(0.5, timeout=30)
        for slip in SLIPS:
            terminal.type(slip)
            terminal.settle()
            assert terminal.process.poll() is None, f"{slip!r} left"
            assert terminal.text == before, f"{slip!r} showed something else"
        terminal.type_and_wait(RIGHT, lambda text: text != before)
        terminal.type_and_wait(F10, "Wheat")
        terminal.type_and_wait(
            "q", lambda text: terminal.process.poll() is not None or bool(re.search("[Qq]uit|[Ll]eave", text))
        )

    assert "turn" in path.read_text(encoding="utf-8")
