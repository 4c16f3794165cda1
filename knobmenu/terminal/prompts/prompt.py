"""A question over the screen, answered with one line of text."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import Input, Label

LOOK = Path(__file__).with_name("look.tcss")
"""The style sheet of all screens that stand in front of another; read when the first of them is opened."""


class TypedAhead(Message, bubble=False):
    """A key that was typed for a screen before that was there: on a slow line many keys come at once."""

    def __init__(self, key: str, character: str | None) -> None:
        super().__init__()
        self.key = key
        self.character = character


class Line(Input):
    """A line to write, whose keys do what they do in the order in which they came.

    The library runs the binding of a key such as Backspace only when the key has come back to the app; of keys that
    come at once, those that write would be done before it.
    """

    async def on_key(self, event: events.Key) -> None:
        """Edit the line at once, or answer with it; a key behind the answer is for what is in front then."""
        prompt = self.screen
        if self.app.screen is not prompt or (event.key == "enter" and isinstance(prompt, Prompt)):
            event.stop()
            event.prevent_default()
            if self.app.screen is not prompt:
                self.app.screen.post_message(events.Key(event.key, event.character))
            elif isinstance(prompt, Prompt):
                prompt.submit(self.value)
            return
        action = _EDITS.get(event.key)
        if action is not None:
            event.stop()
            event.prevent_default()
            await self.run_action(action)


_EDITS = {binding.key: binding.action for binding in Binding.make_bindings(Input.BINDINGS)}
"""What the library's own keys do in a line."""


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

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Give the answer, or say what is wrong in it."""
        event.stop()
        self.submit(event.value)

    def submit(self, answer: str) -> None:
        """Give an answer, or say what is wrong in it; nothing where one was given."""
        if self.app.screen is not self:
            return
        wrong = self._wrong(answer) if answer.strip() else ""
        self.query_one(".wrong", Label).update(wrong)
        self.query_one(".wrong").display = bool(wrong)
        if not wrong:
            self._leave(answer)

    async def on_key(self, event: events.Key) -> None:
        """Leave without an answer; write what comes before the line has the focus."""
        written = self.app.screen is self and self.query_one(Input).has_focus
        if event.key == "escape" or not written:
            event.stop()
            await self.on_typed_ahead(TypedAhead(event.key, event.character))

    async def on_typed_ahead(self, event: TypedAhead) -> None:
        """Write what was typed before the line was there to take it."""
        if self.app.screen is not self:
            # The question is answered, and its line is gone: the key is for what is in front now.
            self.app.screen.post_message(events.Key(event.key, event.character))
            return
        line = self.query_one(Input)
        if event.key == "escape":
            self._leave(None)
        elif event.key == "enter":
            self.submit(line.value)
        elif event.key in _EDITS:
            if "delete" in _EDITS[event.key]:
                self._write_over(line)
            await line.run_action(_EDITS[event.key])
        elif event.character and event.character.isprintable():
            self._write_over(line)
            line.insert_text_at_cursor(event.character)

    @staticmethod
    def _write_over(line: Input) -> None:
        """Clear what is suggested: it would be selected, and so written over, had the line the focus already."""
        if line.select_on_focus:
            line.select_on_focus = False
            line.clear()

    def _leave(self, answer: str | None) -> None:
        """Leave with an answer, once: a second Enter may come before the first has closed the question."""
        if self.app.screen is self:
            self.dismiss(answer)
