"""A question over the screen, answered with one line of text."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label

from knobmenu.terminal.backend.queue import queue_of

LOOK = Path(__file__).with_name("look.tcss")
"""The style sheet of all screens that stand in front of another; read when the first of them is opened."""


class Line(Input):
    """A line to write; Enter answers with it."""

    async def on_key(self, event: events.Key) -> None:
        """Answer before the next key is given away, which is for what is in front then."""
        if event.key == "enter" and isinstance(self.screen, Prompt):
            event.stop()
            event.prevent_default()
            self.screen.submit(self.value)


class Prompt(ModalScreen[str | None]):
    """A question whose answer is one line; Escape gives none."""

    CSS_PATH = LOOK

    def __init__(
        self, question: str, answer: str = "", advice: str = "", wrong: Callable[[str], str] = lambda _: ""
    ) -> None:
        """Ask.

        Args:
            question: What is asked.
            answer: What is suggested.
            advice: What may be written.
            wrong: Returns what is wrong in an answer, nothing if it is right; a wrong one can be corrected.
        """
        super().__init__()
        self._question = question
        self._answer = answer
        self._advice = advice
        self._wrong = wrong

    def compose(self) -> ComposeResult:
        """Lay it out."""
        with Vertical():
            yield Label(self._question, markup=False)
            yield Line(self._answer)
            yield Label("", classes="wrong", markup=False)
            yield Label(f"{self._advice}  Enter: accept. Esc: cancel.".strip(), classes="advice", markup=False)

    def submit(self, answer: str) -> None:
        """Give an answer, or say what is wrong in it."""
        wrong = self._wrong(answer) if answer.strip() else ""
        self.query_one(".wrong", Label).update(wrong)
        self.query_one(".wrong").display = bool(wrong)
        if not wrong:
            self.dismiss(answer)

    def on_key(self, event: events.Key) -> None:
        """Leave without an answer; write also where the line lost the focus with the terminal."""
        line = self.query_one(Line)
        if event.key == "escape":
            event.stop()
            self.dismiss(None)
        elif not line.has_focus:
            event.stop()
            line.focus()
            queue_of(self).put_back(event)
