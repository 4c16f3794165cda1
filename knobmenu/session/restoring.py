"""Replay of a recording: restored to its timeline, or compared with what a design does now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import assert_never

import attrs

from knobmenu.design.whole import Design
from knobmenu.device.pages import LIVE
from knobmenu.errors import EventError, RecordingError
from knobmenu.events import Event, Turn
from knobmenu.machine.effects import Effect
from knobmenu.screen.cells import Screen
from knobmenu.session.narration import describe_effect
from knobmenu.session.records import (
    DesignRecord,
    EventRecord,
    GoRecord,
    HandRecord,
    Header,
    MarkRecord,
    NoteRecord,
    PowerOnRecord,
    Record,
    SaveRecord,
)
from knobmenu.session.timeline import Timeline


@attrs.frozen
class RestoredRecording:
    """The contents of a recording."""

    timeline: Timeline
    """The variants, and everything that happened to them; without a recorder."""
    turned: int
    """The position of the knob, clockwise positive. [detents]"""
    lasted_ms: int
    """The real time of the last record since the header. [ms]"""


def restore(header: Header, records: Iterable[Record], live_pages: int = LIVE) -> RestoredRecording:
    """Restore a timeline from its recording.

    The events are played as they were recorded. The result equals the recorded timeline, with its branches, changed
    designs, notes and marks, provided that the machine has not changed since.

    Args:
        header: The header of the recording.
        records: The records.
        live_pages: How much of the history stays unpacked; see `knobmenu.device.pages`. [pages]

    Raises:
        RecordingError: A record does not follow from those before it; the message states its real time.
    """
    timeline = Timeline([recorded.design for recorded in header.designs], live_pages=live_pages)
    turned = lasted_ms = 0
    for record in records:
        lasted_ms = max(lasted_ms, record.real_ms)
        try:
            _apply(timeline, record, final=True)
        except (EventError, RecordingError, IndexError, ValueError) as error:
            raise RecordingError(f"{record.kind} at {record.real_ms} ms: {error}") from None
        if isinstance(record, HandRecord):
            turned = record.turned
    return RestoredRecording(timeline, turned, lasted_ms)


def _apply(timeline: Timeline, record: Record, *, final: bool) -> None:
    match record:
        case PowerOnRecord():
            # Constructing the timeline did the first power-on.
            if record.number:
                timeline.switch_on(record.remark)
            _expect(timeline, record.number)
        case EventRecord():
            timeline.follow(record.events, final=final)
            _expect(timeline, record.number)
        case GoRecord():
            timeline.go_to(record.number)
        case DesignRecord():
            timeline.redesign(record.variant, record.design.design)
            if record.number is not None:
                _expect(timeline, record.number)
        case NoteRecord():
            timeline.note(record.text, number=record.number)
        case MarkRecord():
            timeline.mark(record.name, record.real_ms)
        case HandRecord() | SaveRecord():
            pass
        case _:
            assert_never(record)


def _expect(timeline: Timeline, number: int) -> None:
    if timeline.history.number != number:
        raise RecordingError(f"expected the moment {timeline.history.number}, got {number}: records are missing")


@attrs.frozen
class Divergence:
    """The first difference between a recording and what a design does now."""

    real_ms: int
    """The time of the record. [ms since the header]"""
    number: int
    """The number of the moment."""
    variant: int
    """The index of the variant, from 0."""
    recorded: str
    """The recorded effects, or rows of the screen."""
    now: str
    """The effects or rows now, or why the event is illegal."""


def find_divergence(header: Header, records: Iterable[Record], designs: Sequence[Design]) -> Divergence | None:
    """Play the recorded events on other designs, and return the first difference.

    Turns are accelerated by the knobs of these designs. Changes of the recorded designs are not applied to these.

    Args:
        header: The header of the recording.
        records: The records.
        designs: The variants now, as many as were recorded.

    Returns:
        The first difference in effects or screens; None if there is none.

    Raises:
        RecordingError: A record does not follow from those before it, or the number of variants differs.
    """
    if len(designs) != len(header.designs):
        raise RecordingError(f"expected {len(header.designs)} designs, got {len(designs)}")
    timeline = Timeline(designs)
    then = [recorded.design for recorded in header.designs]
    shown: list[Screen | None] = [None] * len(designs)
    for record in records:
        number = timeline.history.number + 1
        try:
            _apply(timeline, _move_to(designs, record), final=False)
        except (EventError, RecordingError, IndexError, ValueError) as error:
            if isinstance(error, EventError) and isinstance(record, EventRecord):
                variant = next(place for place, event in enumerate(record.events) if event is not None)
                return Divergence(record.real_ms, number, variant, "an event that came", str(error))
            raise RecordingError(f"{record.kind} at {record.real_ms} ms: {error}") from None
        if isinstance(record, DesignRecord):
            then[record.variant] = record.design.design
        if isinstance(record, PowerOnRecord | EventRecord | GoRecord | DesignRecord):
            shown = [new or old for new, old in zip(record.screens, shown, strict=True)]
            found = _compare_moment(timeline, record, then, shown)
            if found is not None:
                return found
    return None


def _move_to(designs: Sequence[Design], record: Record) -> Record:
    """Return a record in the form in which other designs play it."""
    match record:
        case DesignRecord():
            return attrs.evolve(record, design=attrs.evolve(record.design, design=designs[record.variant]))
        case EventRecord():
            return attrs.evolve(record, events=tuple(map(_remove_acceleration, record.events)))
        case _:
            return record


def _remove_acceleration(event: Event | None) -> Event | None:
    return attrs.evolve(event, times=1) if isinstance(event, Turn) else event


def _compare_moment(
    timeline: Timeline,
    record: PowerOnRecord | EventRecord | GoRecord | DesignRecord,
    designs: Sequence[Design],
    shown: Sequence[Screen | None],
) -> Divergence | None:
    """Compare the present moment with a record, made with these designs and showing these screens."""
    number = timeline.history.number
    for variant, part in enumerate(timeline.parts):
        if isinstance(record, EventRecord) and record.effects[variant] != part.effects:
            recorded = _describe_effects(designs[variant], record.effects[variant])
            now = _describe_effects(part.design, part.effects)
            return Divergence(record.real_ms, number, variant, recorded, now)
        screen, then = part.screen, shown[variant]
        if then is not None and _list_visible(screen) != _list_visible(then):
            return Divergence(record.real_ms, number, variant, str(then), str(screen))
    return None


def _list_visible(screen: Screen) -> tuple[object, ...]:
    """List the parts of a screen that are visible, which are those that are recorded."""
    return screen.rows, screen.blinking, screen.points


def _describe_effects(design: Design, effects: Iterable[Effect]) -> str:
    return ", ".join(describe_effect(design, effect) for effect in effects) or "nothing"
