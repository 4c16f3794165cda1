"""The contents of a recording: a header, and a record of each thing that happens in a session.

`knobmenu.session.recorder` makes the records, and `knobmenu.session.recording` converts them to and from lines.
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
class RecordedDesign:
    """A design in a recording, and its identity at the time of recording."""

    design: Design
    identity: str


@attrs.frozen
class Header:
    """The first line of a recording."""

    designs: tuple[RecordedDesign, ...]
    """The variants."""
    started: str = ""
    """The date and time at which the session began, in ISO 8601; empty if unknown."""
    files: tuple[str, ...] = ()
    """For each variant the absolute path of its file, or an empty string; an empty tuple if not recorded."""


@attrs.frozen
class _Timed:
    """A record with its time."""

    real_ms: int
    """The time of the record. [ms of real time since the header]"""

    kind: ClassVar[str]
    """The `kind` of the line in a recording."""


@attrs.frozen
class PowerOnRecord(_Timed):
    """All variants were switched on, at the start of the session or to play events from power-on."""

    number: int
    """The number of the moment."""
    remark: str
    screens: tuple[Screen | None, ...]

    kind: ClassVar[str] = "power-on"


@attrs.frozen
class EventRecord(_Timed):
    """A moment: the event of each variant, its effects, and the new screen."""

    number: int
    """The number of the moment."""
    events: tuple[Event | None, ...]
    """The event of each variant; None when only another variant got an event."""
    effects: tuple[tuple[Effect, ...], ...]
    """The effects of each variant, in order."""
    screens: tuple[Screen | None, ...]
    """The screen of each variant; None if it did not change."""

    kind: ClassVar[str] = "event"


@attrs.frozen
class HandRecord(_Timed):
    """The hand turned, pressed or released the knob, regardless of what was counted."""

    turned: int
    """The position of the knob, 0 at the start of the recording, clockwise positive. [detents]"""
    down: bool
    """Whether the knob is held down."""

    kind: ClassVar[str] = "hand"


@attrs.frozen
class GoRecord(_Timed):
    """The user went to another moment, back, forward or on another branch."""

    number: int
    screens: tuple[Screen | None, ...]

    kind: ClassVar[str] = "go"


@attrs.frozen
class DesignRecord(_Timed):
    """The design of a variant changed."""

    variant: int
    """The index of the variant, from 0."""
    design: RecordedDesign
    number: int | None
    """The number of the moment that the change added; None if the user was in the past."""
    screens: tuple[Screen | None, ...]

    kind: ClassVar[str] = "design"


@attrs.frozen
class NoteRecord(_Timed):
    """The user wrote a note on a moment."""

    number: int
    """The number of the moment that the note is on."""
    at_ms: int
    """The time of that moment. [ms since power-on]"""
    text: str

    kind: ClassVar[str] = "note"


@attrs.frozen
class MarkRecord(_Timed):
    """A mark was set, such as at the start of a task."""

    number: int
    """The number of the present moment."""
    name: str

    kind: ClassVar[str] = "mark"


@attrs.frozen
class SaveRecord(_Timed):
    """The user saved the session so far as a trace or a test."""

    file: str

    kind: ClassVar[str] = "saved"


Record = PowerOnRecord | EventRecord | HandRecord | GoRecord | DesignRecord | NoteRecord | MarkRecord | SaveRecord
"""A record of something that happened in a session."""


def make_header(designs: Sequence[Design], started: str = "", files: Sequence[str] = ()) -> Header:
    """Make the header of a recording that begins now.

    Args:
        designs: The variants.
        started: The date and time, in ISO 8601.
        files: For each variant the absolute path of its file, or an empty string; empty: not recorded.
    """
    return Header(tuple(map(identify, designs)), started, tuple(files))


def identify(design: Design) -> RecordedDesign:
    """Add its identity to a design."""
    return RecordedDesign(design, compute_identity(design))
