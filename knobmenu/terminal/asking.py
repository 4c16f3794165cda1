"""Screens over the desk: a line to write, and the keys."""

from __future__ import annotations

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from knobmenu.terminal.keymap import GROUPS

CAUTION = (
    "A menu limit is no protective function: heat, mains, hearing and motion need protection that does not depend on"
    " it, by the applicable standards, local codes and a qualified person."
)


class TypedAhead(Message, bubble=False):
    """A key that was typed for a screen before that was there: on a slow line many keys come at once."""

    def __init__(self, key: str, character: str | None) -> None:
        super().__init__()
        self.key = key
        self.character = character


class Prompt(ModalScreen[str | None]):
    """A question whose answer is one line; Escape gives none."""

    def __init__(self, question: str, answer: str = "", advice: str = "") -> None:
        super().__init__()
        self._question = question
        self._answer = answer
        self._advice = advice

    def compose(self) -> ComposeResult:
        """Lay it out."""
        with Vertical():
            yield Label(self._question, markup=False)
            yield Input(self._answer)
            yield Label(f"{self._advice}  Enter: do it. Esc: leave it.".strip(), classes="advice", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Give the answer."""
        event.stop()
        self.dismiss(event.value)

    def on_key(self, event: events.Key) -> None:
        """Leave without an answer."""
        if event.key == "escape":
            event.stop()
            self.dismiss(None)

    async def on_typed_ahead(self, event: TypedAhead) -> None:
        """Write what was typed before the line was there to take it."""
        line = self.query_one(Input)
        if event.key == "escape":
            self.dismiss(None)
        elif event.key == "enter":
            await line.action_submit()
        elif event.character and event.character.isprintable():
            line.insert_text_at_cursor(event.character)


class Help(ModalScreen[None]):
    """Every key, and how the knob is pressed here."""

    def __init__(self, pressing: str) -> None:
        super().__init__()
        self._pressing = pressing

    def compose(self) -> ComposeResult:
        """Lay it out."""
        with VerticalScroll():
            yield Static(help_text(self._pressing))

    def on_key(self, event: events.Key) -> None:
        """Leave on what opened it; the arrows scroll."""
        if event.key in _LEAVES:
            event.stop()
            self.dismiss(None)

    def on_typed_ahead(self, event: TypedAhead) -> None:
        """Leave on what came before the page was there."""
        if event.key in _LEAVES:
            self.dismiss(None)


_LEAVES = ("escape", "question_mark", "f1", "q", "space", "enter")
"""What leaves the page of keys."""


def help_text(pressing: str) -> Text:
    """Write all keys, group by group.

    Args:
        pressing: How the knob is pressed in this terminal.
    """
    text = Text("Keys (Esc closes this, the arrows scroll)\n", style="bold")
    for title, keys in GROUPS:
        text.append(f"\n{title}\n", style="bold")
        for key in keys:
            text.append(f"  {key.shown:<7}")
            text.append(f"{key.words}\n")
    text.append("\nThe mouse\n", style="bold")
    text.append("  wheel  Turn, over the knob or the device.\n")
    text.append("  middle of the knob   Press; hold the button to hold.\n")
    text.append("  rim of the knob      Drag around it to turn.\n")
    text.append("\nPressing in this terminal\n", style="bold")
    text.append(f"  {pressing}\n\n{CAUTION}\n")
    return text
