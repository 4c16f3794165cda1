"""The keys of the bench's screen, all of them, on a page in front of it."""

from __future__ import annotations

from rich.text import Text

from knobmenu.terminal.bench.keys import BENCH_GROUPS
from knobmenu.terminal.prompts.help import add_keys, add_section

_MOUSE = (("wheel", "Turn the chosen knob, wherever it is."), ("click", "Choose a knob of the chain."))

_READING = (
    ("turned", "The detents that the hand reaches, numbered."),
    ("contact", "The bouncing contacts; up is open."),
    ("volts", "The voltage at the pins; dotted: the thresholds."),
    ("pin", "What the pins read; up is high."),
    ("samples", "When the firmware samples something new."),
    ("counted", "▲ a detent up, ▼ down, with the net count."),
    ("table", "For each speed all runs together; ✗ more errors than are tolerated, … not known yet."),
)
"""How to read the screen."""


def make_bench_help() -> Text:
    """Write all keys of the bench, and how what it shows is to be read."""
    text = Text()
    add_keys(text, BENCH_GROUPS)
    add_section(text, "The mouse", _MOUSE)
    add_section(text, "How it is read", _READING)
    return text
