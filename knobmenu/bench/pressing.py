"""How the knob is pressed, and what its push switch is."""

from __future__ import annotations

import attrs

from knobmenu.bench.contact import PRESETS
from knobmenu.bench.errors import BenchError
from knobmenu.bench.rules import Number, Word
from knobmenu.errors import Problem


@attrs.frozen(kw_only=True)
class Pressing:
    """How the knob is pressed, and what its switch is."""

    preset: str = attrs.field(default="tactile-5ms", validator=Word(tuple(PRESETS)))
    """The contact of the switch, one of the presets."""
    presses: int = attrs.field(default=50, validator=Number(1, 10_000, "presses", whole=True))
    """How often it is pressed in one run. [presses]"""
    shortest_ms: float = attrs.field(default=60.0, validator=Number(1, 10_000, "ms"))
    """The shortest press; 60 is assumed for a quick finger. [ms]"""
    longest_ms: float = attrs.field(default=250.0, validator=Number(1, 10_000, "ms"))
    """The longest press; each lasts a random time between the two. [ms]"""
    apart_ms: float = attrs.field(default=150.0, validator=Number(1, 10_000, "ms"))
    """The shortest pause between two presses; each lasts a random time between this and twice as much. [ms]"""
    long_press_ms: int = attrs.field(default=500, validator=Number(50, 10_000, "ms", whole=True))
    """How long a press must last to be long, as in a design. [ms]"""

    def __attrs_post_init__(self) -> None:
        if self.shortest_ms > self.longest_ms:
            expected = f"at most longest_ms, {self.longest_ms:g} ms"
            raise BenchError([Problem("shortest_ms", f"{self.shortest_ms:g} ms", expected)])
