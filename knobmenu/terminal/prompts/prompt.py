"""A question over the screen, answered with one line of text."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label

from knobmenu.files import prompted
from knobmenu.terminal.backend.canvas import CanvasScreen
from knobmenu.terminal.backend.queue import get_queue

LOOK = Path(__file__).with_name("look.tcss")
"""The style sheet of all screens that stand in front of another; read when the first of them is opened."""


class Line(Input):
    """A line to write; Enter answers with it."""

    async def on_key(self, event: events.Key) -> None:
        """Answer before the next key is delivered, which is for the screen in front then."""
        if event.key == "enter" and isinstance(self.screen, Prompt):
            event.stop()
            event.prevent_default()
            self.screen.submit(self.value)


class Prompt(ModalScreen[None]):
    """A question whose answer is one line; Escape gives none, and so does an empty line."""

    CSS_PATH = LOOK

    def __init__(self, question: str, take: Callable[[str], str], answer: str = "", advice: str = "") -> None:
        """Ask.

        Args:
            question: What is asked.
            take: Does what is asked with an answer. Returns why that cannot be done, and the answer can be corrected or
                tried again; empty where it is done.
            answer: What is suggested.
            advice: What may be written.
        """
        super().__init__()
        self._question = question
        self._take = take
        self._answer = answer
        self._advice = advice

    def compose(self) -> ComposeResult:
        """Lay it out."""
        with Vertical():
            yield Label(self._question, markup=False)
            yield Line(self._answer)
            yield Label("", classes="wrong", markup=False)
            yield Label(f"{self._advice}  Enter: accept. Esc: cancel.".strip(), classes="advice", markup=False)

    def submit(self, answer: str) -> None:
        """Do what is asked, or say why that cannot be done."""
        refusal = self._take(answer) if answer.strip() else ""
        self.query_one(".wrong", Label).update(refusal)
        self.query_one(".wrong").display = bool(refusal)
        if not refusal:
            self.dismiss(None)

    def on_key(self, event: events.Key) -> None:
        """Leave without an answer; write also where the line lost the focus with the terminal."""
        line = self.query_one(Line)
        if event.key == "escape":
            event.stop()
            self.dismiss(None)
        elif not line.has_focus:
            event.stop()
            line.focus()
            get_queue(self).put_back(event)


def ask_where_to_save(screen: CanvasScreen[Any], what: str, stem: str, ending: str, keep: Callable[[str], str]) -> None:
    """Ask for the name of a new file; the screen says what was written.

    Args:
        screen: The screen in front.
        what: What is saved.
        stem: What the suggested name begins with.
        ending: How it ends.
        keep: Writes the file. Returns why it is not written; empty where it is.
    """

    def take(name: str) -> str:
        refusal = keep(name)
        if not refusal:
            screen.say(f"{prompted.shorten_name(name)} is written", "good")
        return refusal

    suggested = str(prompted.find_free_path(stem, ending, Path()))
    screen.app.push_screen(Prompt(f"Save the {what} as", take, suggested, "No file is overwritten."))
