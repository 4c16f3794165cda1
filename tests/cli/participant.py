"""What a participant does in a sitting of the demo study, up to the first task."""

from __future__ import annotations

from tests.terminal.pty_harness import Terminal

ESCAPE = "\x1b"


def read_first_task(terminal: Terminal) -> None:
    """Agree, skip the practice, and go on to the text of the first task."""
    terminal.wait_for("I agree", timeout=30)
    terminal.type_until(" ", "First try the knob")
    terminal.type_until(" ", "end the practice")
    terminal.type_until(ESCAPE, "Keep trying")
    terminal.type("2")
    terminal.type_until(" ", "Task 1 of 8")


def begin_first_task(terminal: Terminal) -> None:
    """Go on to the device, for the first task."""
    read_first_task(terminal)
    terminal.type_until(" ", "give up")
