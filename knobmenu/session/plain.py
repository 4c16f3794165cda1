"""Effects, screens and moments as plain data for other programs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from knobmenu.codec.events import event_to_plain
from knobmenu.design.whole import Design
from knobmenu.device.moment import Moment
from knobmenu.machine import effects
from knobmenu.machine.advance import identify_screen
from knobmenu.machine.effects import Effect
from knobmenu.machine.state import Mode
from knobmenu.screen.cells import Screen, Span

EFFECTS: Mapping[str, type[Effect]] = {
    effect.word: effect
    for effect in (
        effects.ValueChanged,
        effects.Committed,
        effects.Reverted,
        effects.AtLimit,
        effects.Refused,
        effects.ActionRun,
        effects.SaveDue,
        effects.ScreenEntered,
        effects.Sound,
        effects.Flash,
    )
}
"""Every kind of effect, by its `word`."""


def effect_to_plain(effect: Effect) -> dict[str, Any]:
    """Convert an effect to JSON types."""
    fields = attrs.asdict(effect, recurse=False).items()
    plain = {name: value.value if isinstance(value, Mode) else value for name, value in fields}
    return {"effect": effect.word, **plain}


def effect_from_plain(plain: Mapping[str, Any]) -> Effect:
    """Convert JSON types to an effect.

    Raises:
        KeyError: The effect is unknown.
        TypeError: It has other fields.
        ValueError: Its mode is unknown.
    """
    fields = dict(plain)
    kind = EFFECTS[fields.pop("effect")]
    if kind is effects.ScreenEntered:
        fields["mode"] = Mode(fields.get("mode"))
    return kind(**fields)


def screen_to_plain(screen: Screen) -> dict[str, Any]:
    """Convert a screen to JSON types: rows, blinking cells, and lit points if there are any."""
    plain: dict[str, Any] = {"rows": list(screen.rows), "blinking": [list(span) for span in screen.blinking]}
    if screen.points:
        plain["points"] = list(screen.points)
    return plain


def screen_from_plain(plain: Mapping[str, Any]) -> Screen:
    """Convert JSON types to a screen; texts that were cut are not kept.

    Raises:
        KeyError: It has no rows.
        TypeError: It has other fields.
        ValueError: Its rows are not text, or its marked cells are not on it.
    """
    rows = tuple(plain["rows"])
    blinking = tuple(Span(*map(int, span)) for span in plain["blinking"])
    points = tuple(map(int, plain.get("points", ())))
    if not all(isinstance(row, str) for row in rows):
        raise ValueError("a row is not text")
    if not all(0 <= row < len(rows) and 0 <= start <= stop <= len(rows[row]) for row, start, stop in blinking):
        raise ValueError("blinking cells are not on the screen")
    if points and not (rows and all(0 <= cell < len(rows[0]) for cell in points)):
        raise ValueError("points are not on the screen")
    return Screen(rows, blinking, points)


def moment_to_plain(design: Design, moment: Moment, screen: Screen) -> dict[str, Any]:
    """Convert a moment to JSON types: its time, event, effects and screen."""
    mode, key = identify_screen(moment.state)
    event = None if moment.event is None else event_to_plain(moment.event)
    return {
        "at_ms": moment.at_ms,
        "event": event and {name: value for name, value in event.items() if name != "at_ms"},
        "effects": [effect_to_plain(effect) for effect in moment.effects],
        "mode": mode.value,
        "about": key,
        "screen": list(screen.rows),
        "blinking": [list(span) for span in screen.blinking],
        "points": list(screen.points),
    }
