"""Effects: what the machine asks the device to do, in this order."""

from __future__ import annotations

from functools import lru_cache
from typing import ClassVar, Literal

import attrs

from knobmenu.machine.state import Mode
from knobmenu.machine.values import Value
from knobmenu.structure import Structure


@attrs.frozen(repr=False)
class Effect(Structure):
    """Something for the device to do; only subclasses are instantiated.

    Kinds with the same fields are plain subclasses of `KeyEffect` or `ValueEffect`: the methods that attrs makes for
    these compare classes, too.
    """

    word: ClassVar[str] = "effect"
    """Its name in traces and logs."""


@attrs.frozen(repr=False)
class KeyEffect(Effect):
    """An effect about a part of the design."""

    key: str
    """The key of the part."""


@attrs.frozen(repr=False)
class ValueEffect(Effect):
    """An effect about a value."""

    key: str
    """Whose value it is."""
    value: Value


class ValueChanged(ValueEffect):
    """A value changed and is to take effect: because of the knob, a push or a revert."""

    __slots__ = ()
    word: ClassVar[str] = "changed"


class Committed(ValueEffect):
    """An edit of a setting ended and its value is kept."""

    __slots__ = ()
    word: ClassVar[str] = "committed"


class Reverted(ValueEffect):
    """An edit of a setting ended and was undone; the value is what it was before."""

    __slots__ = ()
    word: ClassVar[str] = "reverted"


@attrs.frozen(repr=False)
class AtLimit(Effect):
    """The knob was turned beyond an end of a setting or a list."""

    key: str
    """The setting, or the menu."""
    end: Literal["low", "high"]

    word: ClassVar[str] = "limit"


class Refused(KeyEffect):
    """An entry that is not enabled was pressed; the key is that of its target."""

    __slots__ = ()
    word: ClassVar[str] = "refused"


class ActionRun(KeyEffect):
    """An action is to run now; its confirmation, if any, has been given."""

    __slots__ = ()
    word: ClassVar[str] = "action"


class SaveDue(ValueEffect):
    """The value of a saved setting is to be written to non-volatile memory."""

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


# Equal effects can share one object. These are the frequent ones, and looking one up takes a quarter of the time of
# making it.

MOST_KEPT = 4096
"""How many of each are cached."""

make_at_limit = lru_cache(MOST_KEPT)(AtLimit)
"""Make an `AtLimit`."""

make_value_changed = lru_cache(MOST_KEPT)(ValueChanged)
"""Make a `ValueChanged`."""

make_committed = lru_cache(MOST_KEPT)(Committed)
"""Make a `Committed`."""

make_screen_entered = lru_cache(MOST_KEPT)(ScreenEntered)
"""Make a `ScreenEntered`."""
