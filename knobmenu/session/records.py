"""What is recorded of a session: a header, and a record of each thing that happens.

`knobmenu.session.recorder` makes them as it happens, `knobmenu.session.recording` writes and reads them as lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

import attrs

from knobmenu.codec.identity import compute_identity
from knobmenu.design.whole import Design
from knobmenu.events import Event
from knobmenu.machine.effects import Effect
from knobmenu.screen.cells import Screen


@attrs.frozen
class Recorded:
    """A design of a recording, and the identity that it had when it was recorded."""

    design: Design
    identity: str


@attrs.frozen
class Header:
    """How a recording begins."""

    designs: tuple[Recorded, ...]
    """The variants."""
    started: str = ""
    """The date and time at which the session began, as ISO 8601 writes it; empty where nobody said."""
    files: tuple[str, ...] = ()
    """For each variant the file that it was read from, in full, or empty; nothing where that is not recorded."""


@attrs.frozen
class _Timed:
    """Something that happened in a session."""

    real_ms: int
    """When. [ms of real time since the header]"""

    kind: ClassVar[str]
    """What a line of a recording calls it."""


@attrs.frozen
class PoweredOn(_Timed):
    """All variants were switched on, at the begin of the session or to play events from there."""

    number: int
    """The number of the moment."""
    remark: str
    screens: tuple[Screen | None, ...]

    kind: ClassVar[str] = "power-on"


@attrs.frozen
class Happened(_Timed):
    """A moment: what happened to each variant, and what came of it."""

    number: int
    """The number of the moment."""
    events: tuple[Event | None, ...]
    """For each variant; None where something happened to another variant alone."""
    effects: tuple[tuple[Effect, ...], ...]
    """For each variant, in order."""
    screens: tuple[Screen | None, ...]
    """For each variant what it shows now; None where that did not change."""

    kind: ClassVar[str] = "event"


@attrs.frozen
class HandMoved(_Timed):
    """The hand turned, pressed or released the knob, whatever was counted."""

    turned: int
    """How far the knob is turned since the begin, clockwise positive. [detents]"""
    down: bool
    """Whether it is held down."""

    kind: ClassVar[str] = "hand"


@attrs.frozen
class Went(_Timed):
    """The user went to another moment, back, forward or on another branch."""

    number: int
    screens: tuple[Screen | None, ...]

    kind: ClassVar[str] = "go"


@attrs.frozen
class DesignChanged(_Timed):
    """A variant took a changed design."""

    variant: int
    """Which, counted from 0."""
    design: Recorded
    number: int | None
    """The number of the moment that follows from it; None where the present moment was in the past."""
    screens: tuple[Screen | None, ...]

    kind: ClassVar[str] = "design"


@attrs.frozen
class Noted(_Timed):
    """The user wrote a remark about a moment."""

    number: int
    """The number of the moment that it is about."""
    at_ms: int
    """When that moment was. [ms since power-on]"""
    text: str

    kind: ClassVar[str] = "note"


@attrs.frozen
class Marked(_Timed):
    """Somebody set a mark, such as the begin of a task."""

    number: int
    """The number of the moment that was present."""
    name: str

    kind: ClassVar[str] = "mark"


@attrs.frozen
class Saved(_Timed):
    """The user saved what was done so far as a trace or a test."""

    file: str

    kind: ClassVar[str] = "saved"


Record = PoweredOn | Happened | HandMoved | Went | DesignChanged | Noted | Marked | Saved
"""Something that happened in a session."""


def head(designs: Sequence[Design], started: str = "", files: Sequence[str] = ()) -> Header:
    """Return the header of a recording that begins now.

    Args:
        designs: The variants.
        started: The date and time, as ISO 8601 writes it.
        files: For each variant the file that it was read from, in full, or empty; nothing: not recorded.
    """
    return Header(tuple(map(identify, designs)), started, tuple(files))


def identify(design: Design) -> Recorded:
    """Return a design with its identity."""
    return Recorded(design, compute_identity(design))
