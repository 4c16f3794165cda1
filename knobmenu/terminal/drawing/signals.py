"""Lamps and the sounder: a shape, and the same in words, so that nothing depends on colour."""

from __future__ import annotations

from functools import lru_cache

from knobmenu.design.hardware import Lamp
from knobmenu.machine.effects import Sound
from knobmenu.picture.palettes import LAMP_COLOURS
from knobmenu.picture.runs import Row, Run, merge
from knobmenu.session.narration import describe_lamp, describe_sound


@lru_cache(maxsize=512)
def lamp_row(lamp: Lamp, lit: bool, flashing: bool = False, dark: bool = False) -> Row:
    """Draw a lamp and say what it does.

    Args:
        lamp: Which.
        lit: Whether its condition holds.
        flashing: Whether it flashes once just now.
        dark: Whether a blinking lamp is in the dark half of its period.
    """
    shines = flashing or (lit and not (dark and lamp.blink_ms))
    ink = _ink(lamp) if shines else "lamp-off"
    return merge(
        [
            Run("● " if shines else "○ ", ink),
            Run(f"{lamp.label} ", "text"),
            Run(describe_lamp(lamp, lit, flashing), "strong" if lit or flashing else "dim"),
        ]
    )


@lru_cache(maxsize=64)
def sounder_row(sound: Sound | None) -> Row:
    """Draw the sounder and say what it sounds; silent without a sound."""
    if sound is None:
        return (Run("♪ ", "lamp-off"), Run("silent", "dim"))
    return (Run("♪ ", "accent"), Run(describe_sound(sound), "strong"))


def _ink(lamp: Lamp) -> str:
    named = lamp.colour.lower().split()
    return next((f"lamp-{colour}" for colour in LAMP_COLOURS if colour in named), "lamp-on")
