"""The page of keys, over the screen."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from knobmenu.terminal.input.keymap import GROUPS, Key
from knobmenu.terminal.prompts.prompt import LOOK

CAUTION = (
    "A menu limit is not a protective function: heat, mains, hearing and motion need protection that does not depend on"
    " it, by the applicable standards, local codes and a qualified person."
)


class Help(ModalScreen[None]):
    """Every key, and how the knob is pressed here."""

    CSS_PATH = LOOK

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


_LEAVES = ("escape", "question_mark", "f1", "q", "space", "enter")
"""What leaves the page of keys."""


def help_text(pressing: str) -> Text:
    """Write all keys, group by group, in lines that are short enough for the smallest terminal.

    Args:
        pressing: How the knob is pressed in this terminal.
    """
    text = Text()
    add_keys(text, GROUPS)
    text.append("\nThe mouse\n", "bold")
    add_line(text, "wheel", "Turn, wherever it is.")
    add_line(text, "middle", "Press the knob; hold the button to hold.")
    add_line(text, "rim", "Drag around the knob to turn it.")
    add_line(text, "bar", "Click in the bar of events to go there.")
    text.append("\nPressing in this terminal\n", "bold")
    add_line(text, "", pressing)
    text.append("\nWith care\n", "bold")
    add_line(text, "", CAUTION)
    return text


def add_keys(text: Text, groups: Sequence[tuple[str, Sequence[Key]]]) -> None:
    """Write keys, group by group."""
    text.append("Keys", "bold")
    text.append("   Esc closes this, the arrows scroll\n")
    for title, keys in groups:
        text.append(f"\n{title}\n", "bold")
        for key in keys:
            add_line(text, key.shown, key.words)


def add_line(text: Text, name: str, words: str) -> None:
    """Write what something does, its lines below each other."""
    for number, line in enumerate(wrap(words, _WORDS)):
        text.append(f"  {name if number == 0 else '':<8}", "bold")
        text.append(f"{line}\n")


_WORDS = 45
"""Width of the words in the page of keys. [terminal cells]"""
