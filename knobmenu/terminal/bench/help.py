"""The keys of the bench's screen, all of them, on a page in front of it."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from knobmenu.terminal.bench.keys import BENCH_GROUPS
from knobmenu.terminal.prompts.help import Help, add_keys, add_line

_READING = (
    ("turned", "The detents that the hand reaches, numbered."),
    ("contact", "The bouncing contacts; up is open."),
    ("volts", "The voltage at the pins; dotted: the thresholds."),
    ("pin", "What the pins read; up is high."),
    ("samples", "When the firmware samples something new."),
    ("counted", "▲ a detent up, ▼ down, with the net count."),
    ("table", "For each speed all runs together; ✗ more errors than are tolerated, … not known yet."),
)
"""How to read what is shown."""


class BenchHelp(Help):
    """Every key of the bench, and how it is read."""

    def __init__(self) -> None:
        super().__init__("")

    def compose(self) -> ComposeResult:
        """Lay it out."""
        with VerticalScroll():
            yield Static(bench_help_text())


def bench_help_text() -> Text:
    """Write all keys of the bench, and how what it shows is to be read."""
    text = Text()
    add_keys(text, BENCH_GROUPS)
    text.append("\nThe mouse\n", "bold")
    add_line(text, "wheel", "Turn the chosen knob, wherever it is.")
    add_line(text, "click", "Choose a knob of the chain.")
    text.append("\nHow it is read\n", "bold")
    for name, words in _READING:
        add_line(text, name, words)
    return text
