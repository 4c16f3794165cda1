"""Lamps and the sounder: a shape, and the same in words, so that nothing depends on colour."""

from __future__ import annotations

from functools import lru_cache

from knobmenu.design.hardware import Lamp
from knobmenu.machine.effects import Sound
from knobmenu.picture.palettes import LAMP_COLOURS
from knobmenu.picture.runs import Row, Run, merge
from knobmenu.session.narration import describe_lamp, describe_sound


@lru_cache(maxsize=512)
def draw_lamp_row(lamp: Lamp, lit: bool, flashing: bool = False, dark: bool = False) -> Row:
    """Draw a lamp and say what it does.

    Args:
        lamp: Which.
        lit: Whether its condition holds.
        flashing: Whether it flashes once just now.
        dark: Whether a blinking lamp is in the dark half of its period.
    """
    ink = "strong" if lit or flashing else "dim"
    said = describe_lamp(lamp, lit, flashing)
    return merge([_mark(lamp, lit, flashing, dark), Run(f"{lamp.label} ", "text"), Run(said, ink)])


@lru_cache(maxsize=512)
def draw_short_lamp_row(lamp: Lamp, lit: bool, flashing: bool = False, dark: bool = False) -> Row:
    """Draw a lamp with its label alone, as `draw_lamp_row` does where there is room."""
    return merge([_mark(lamp, lit, flashing, dark), Run(lamp.label, "strong" if lit or flashing else "dim")])


@lru_cache(maxsize=64)
def draw_sounder_row(sound: Sound | None) -> Row:
    """Draw the sounder and say what it sounds; silent without a sound."""
    if sound is None:
        return (Run("♪ ", "lamp-off"), Run("silent", "dim"))
    return (Run("♪ ", "accent"), Run(describe_sound(sound), "strong"))


def _mark(lamp: Lamp, lit: bool, flashing: bool, dark: bool) -> Run:
    shines = flashing or (lit and not (dark and lamp.blink_ms))
    return Run("● " if shines else "○ ", _choose_ink(lamp) if shines else "lamp-off")


def _choose_ink(lamp: Lamp) -> str:
    named = lamp.colour.lower().split()
    return next((f"lamp-{colour}" for colour in LAMP_COLOURS if colour in named), "lamp-on")
