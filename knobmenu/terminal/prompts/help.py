"""The page of keys, over the screen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
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
    """Every key, and what else is to be known of a screen."""

    CSS_PATH = LOOK

    def __init__(self, text: Text) -> None:
        super().__init__()
        self._text = text

    def compose(self) -> ComposeResult:
        """Lay it out."""
        with VerticalScroll():
            yield Static(self._text)

    def on_key(self, event: events.Key) -> None:
        """Leave on what opened it; the arrows scroll."""
        if event.key in _LEAVES:
            event.stop()
            self.dismiss(None)


_LEAVES = ("escape", "question_mark", "f1", "q", "space", "enter")
"""The keys that close the page of keys."""


def make_help(pressing: str) -> Text:
    """Write all keys, group by group, in lines that are short enough for the smallest terminal.

    Args:
        pressing: How the knob is pressed in this terminal.
    """
    text = Text()
    add_keys(text, GROUPS)
    add_section(
        text,
        "The mouse",
        [
            ("wheel", "Turn, wherever it is."),
            ("middle", "Press the knob; hold the button to hold."),
            ("rim", "Drag around the knob to turn it."),
            ("bar", "Click in the bar of events to go there."),
        ],
    )
    add_section(text, "Pressing in this terminal", [("", pressing)])
    add_section(text, "With care", [("", CAUTION)])
    return text


def add_keys(text: Text, groups: Mapping[str, Sequence[Key]]) -> None:
    """Write keys, group by group."""
    text.append("Keys", "bold")
    text.append("   Esc closes this, the arrows scroll\n")
    for title, keys in groups.items():
        add_section(text, title, [(key.shown, key.words) for key in keys])


def add_section(text: Text, title: str, things: Iterable[tuple[str, str]]) -> None:
    """Write what things do under a title, the lines of each below each other."""
    text.append(f"\n{title}\n", "bold")
    for name, words in things:
        for number, line in enumerate(wrap(words, _WORDS)):
            text.append(f"  {name if number == 0 else '':<8}", "bold")
            text.append(f"{line}\n")


_WORDS = 45
"""Width of the words in the page of keys. [terminal cells]"""
