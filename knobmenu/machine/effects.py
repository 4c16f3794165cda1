"""What the machine asks the device to do, in the order in which it is to be done."""

from __future__ import annotations

from functools import lru_cache
from typing import ClassVar, Literal

import attrs

from knobmenu.machine.state import Mode
from knobmenu.machine.values import Value


@attrs.frozen
class Effect:
    """Something for the device to do; only its children are asked for."""

    word: ClassVar[str] = "effect"
    """What a trace and a log call it."""


@attrs.frozen
class ValueChanged(Effect):
    """A value is another now and is to take effect: by the knob, by a limit that pushed it, or by reverting."""

    key: str
    value: Value

    word: ClassVar[str] = "changed"


@attrs.frozen
class Committed(Effect):
    """An edit of a setting ended and is kept."""

    key: str
    value: Value

    word: ClassVar[str] = "committed"


@attrs.frozen
class Reverted(Effect):
    """An edit of a setting ended and was undone; the value is what it was before."""

    key: str
    value: Value

    word: ClassVar[str] = "reverted"


@attrs.frozen
class AtLimit(Effect):
    """The knob was turned further than a setting or a list goes."""

    key: str
    """The setting, or the menu."""
    end: Literal["low", "high"]

    word: ClassVar[str] = "limit"


@attrs.frozen
class Refused(Effect):
    """An entry was pressed that is not enabled."""

    key: str
    """What the entry stands for."""

    word: ClassVar[str] = "refused"


@attrs.frozen
class ActionRun(Effect):
    """An action is to be done now, after whatever confirmation it asks for."""

    key: str

    word: ClassVar[str] = "action"


@attrs.frozen
class SaveDue(Effect):
    """A kept value is to be written to memory that lasts."""

    key: str
    value: Value

    word: ClassVar[str] = "save"


@attrs.frozen
class ScreenEntered(Effect):
    """Another screen is shown."""

    mode: Mode
    key: str
    """The menu, setting or action it is about; empty at home."""

    word: ClassVar[str] = "screen"


@attrs.frozen
class Sound(Effect):
    """The sounder is to sound."""

    answers: str
    """What it answers; one of `knobmenu.design.hardware.ANSWERED`."""
    length_ms: int
    pitch_hz: int

    word: ClassVar[str] = "sound"


@attrs.frozen
class Flash(Effect):
    """A lamp is to flash once."""

    lamp: str
    length_ms: int

    word: ClassVar[str] = "flash"


# Equal effects may be one object. These come with every walk through a menu and every edit, and finding one takes a
# quarter of the time that making it takes.

MOST_KEPT = 4096
"""How many of each are kept."""

limit_met = lru_cache(MOST_KEPT)(AtLimit)
"""Make an `AtLimit`."""

value_changed = lru_cache(MOST_KEPT)(ValueChanged)
"""Make a `ValueChanged`."""

committed = lru_cache(MOST_KEPT)(Committed)
"""Make a `Committed`."""

screen_entered = lru_cache(MOST_KEPT)(ScreenEntered)
"""Make a `ScreenEntered`."""
