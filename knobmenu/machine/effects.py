"""What the machine asks the device to do, in the order in which it is to be done."""

from __future__ import annotations

from functools import lru_cache
from typing import ClassVar, Literal

import attrs

from knobmenu.machine.state import Mode
from knobmenu.machine.values import Value
from knobmenu.structure import Structure


@attrs.frozen(repr=False)
class Effect(Structure):
    """Something for the device to do; only its kinds are asked for.

    Kinds with the same fields are plain subclasses of `KeyEffect` or `ValueEffect`: the methods that attrs makes for
    these compare classes, too.
    """

    word: ClassVar[str] = "effect"
    """What a trace and a log call it."""


@attrs.frozen(repr=False)
class KeyEffect(Effect):
    """Something about a part of the design."""

    key: str
    """The part."""


@attrs.frozen(repr=False)
class ValueEffect(Effect):
    """Something about a value."""

    key: str
    """Whose value it is."""
    value: Value


class ValueChanged(ValueEffect):
    """A value is another now and is to take effect: by the knob, by a limit that pushed it, or by reverting."""

    __slots__ = ()
    word: ClassVar[str] = "changed"


class Committed(ValueEffect):
    """An edit of a setting ended and is kept."""

    __slots__ = ()
    word: ClassVar[str] = "committed"


class Reverted(ValueEffect):
    """An edit of a setting ended and was undone; the value is what it was before."""

    __slots__ = ()
    word: ClassVar[str] = "reverted"


@attrs.frozen(repr=False)
class AtLimit(Effect):
    """The knob was turned further than a setting or a list goes."""

    key: str
    """The setting, or the menu."""
    end: Literal["low", "high"]

    word: ClassVar[str] = "limit"


class Refused(KeyEffect):
    """An entry was pressed that is not enabled; the key is that of what it stands for."""

    __slots__ = ()
    word: ClassVar[str] = "refused"


class ActionRun(KeyEffect):
    """An action is to be done now, after whatever confirmation it asks for."""

    __slots__ = ()
    word: ClassVar[str] = "action"


class SaveDue(ValueEffect):
    """A kept value is to be written to memory that lasts."""

    __slots__ = ()
    word: ClassVar[str] = "save"


@attrs.frozen(repr=False)
class ScreenEntered(Effect):
    """Another screen is shown."""

    mode: Mode
    key: str
    """The menu, setting or action it is about; empty at home."""

    word: ClassVar[str] = "screen"


@attrs.frozen(repr=False)
class Sound(Effect):
    """The sounder is to sound."""

    answers: str
    """What it answers; one of `knobmenu.design.hardware.ANSWERED`."""
    length_ms: int
    pitch_hz: int

    word: ClassVar[str] = "sound"


@attrs.frozen(repr=False)
class Flash(Effect):
    """A lamp is to flash once."""

    lamp: str
    length_ms: int

    word: ClassVar[str] = "flash"


# Equal effects may be one object. These come with every walk through a menu and every edit, and finding one takes a
# quarter of the time that making it takes.

MOST_KEPT = 4096
"""How many of each are kept."""

make_at_limit = lru_cache(MOST_KEPT)(AtLimit)
"""Make an `AtLimit`."""

make_value_changed = lru_cache(MOST_KEPT)(ValueChanged)
"""Make a `ValueChanged`."""

make_committed = lru_cache(MOST_KEPT)(Committed)
"""Make a `Committed`."""

make_screen_entered = lru_cache(MOST_KEPT)(ScreenEntered)
"""Make a `ScreenEntered`."""
