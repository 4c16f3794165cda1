"""Descriptions of events, effects, lamps and sounds, and screens drawn as text."""

from __future__ import annotations

from unicodedata import category, combining, east_asian_width

from knobmenu.design.hardware import Lamp
from knobmenu.design.whole import Design
from knobmenu.events import Event, HeldTurn, LongPress, Press, Report, Turn
from knobmenu.machine import effects
from knobmenu.machine.effects import Effect, Sound
from knobmenu.screen.cells import Screen
from knobmenu.screen.values import describe_value


def describe_event(design: Design, event: Event | None) -> str:
    """Describe an event; None is power-on."""
    match event:
        case None:
            return "power-on"
        case Turn(detents=detents, times=times):
            return f"turn {detents:+d}" + (", fast" if times > 1 else "")
        case HeldTurn(detents=detents):
            return f"turn {detents:+d} while held"
        case Report(key=key, value=value):
            return f"report {key} {describe_value(design, key, value)}"
        case Press():
            return "press"
        case LongPress():
            return "long press"
        case _:
            return {"double": "double press"}.get(event.word, event.word)


def describe_effect(design: Design, effect: Effect) -> str:
    """Describe an effect."""
    match effect:
        case effects.ValueChanged(key, value):
            return f"{key} is {describe_value(design, key, value)}"
        case effects.Committed(key, value):
            return f"{key} kept at {describe_value(design, key, value)}"
        case effects.Reverted(key, value):
            return f"{key} back at {describe_value(design, key, value)}"
        case effects.SaveDue(key, value):
            return f"save {key} {describe_value(design, key, value)}"
        case effects.AtLimit(key, end):
            return (
                f"{key} is at its {'last' if end == 'high' else 'first'}"
                if key in design.index.menus
                else (f"{key} is at its {'highest' if end == 'high' else 'lowest'}")
            )
        case effects.Refused(key):
            return f"{key} is disabled"
        case effects.ActionRun(key):
            return f"do {key}"
        case effects.ScreenEntered(mode, key):
            return f"screen {mode.value} {key}".rstrip()
        case Sound(answers, length_ms, pitch_hz):
            return f"sound for {answers}, {length_ms} ms at {pitch_hz} Hz"
        case effects.Flash(lamp, length_ms):
            return f"flash {lamp}, {length_ms} ms"
        case _:
            return effect.word


def describe_lamp(lamp: Lamp, lit: bool, flashing: bool = False) -> str:
    """Describe what a lamp does, such as ``on, green, 1 Hz``."""
    parts = ["flash"] if flashing else ["on" if lit else "off"]
    if lamp.colour and (lit or flashing):
        parts.append(lamp.colour)
    if lamp.blink_ms and lit:
        parts.append(f"blinks every {lamp.blink_ms} ms")
    return ", ".join(parts)


def describe_sound(sound: Sound) -> str:
    """Describe a sound, such as ``limit, 2000 Hz for 40 ms``."""
    return f"{sound.answers.replace('_', ' ')}, {sound.pitch_hz} Hz for {sound.length_ms} ms"


def _count_columns(text: str) -> int:
    """Count the columns of a text in a terminal, where East Asian wide characters take two. [columns]"""
    if text.isascii():
        return len(text)
    return sum(
        2 if east_asian_width(one) in "WF" else 0 if combining(one) or category(one) in ("Cf", "Me") else 1
        for one in text
    )


def draw_box(screen: Screen) -> tuple[str, ...]:
    """Draw a screen in a frame; a row with blinking cells has them marked with ``^`` below it."""
    width = max(map(_count_columns, screen.rows))
    lines = ["┌" + "─" * width + "┐"]
    for number, row in enumerate(screen.rows):
        lines.append("│" + row + " " * (width - _count_columns(row)) + "│")
        marks = [" "] * len(row)
        for span in screen.blinking:
            if span.row == number:
                marks[span.start : span.stop] = "^" * (span.stop - span.start)
        for cell in screen.points if number == 0 else ():
            marks[cell] = "."
        if "".join(marks).strip():
            # A mark is as wide in a terminal as the character above it.
            wide = "".join(mark * _count_columns(character) for mark, character in zip(marks, row, strict=True))
            lines.append("┊" + wide + " " * (width - len(wide)) + "┊")
    return (*lines, "└" + "─" * width + "┘")
