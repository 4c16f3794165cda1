"""A recording played again: restored to the timeline that it was, or compared with what a design does now."""

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
from knobmenu.session.narration import effect_words
from knobmenu.session.records import (
    DesignChanged,
    HandMoved,
    Happened,
    Header,
    Marked,
    Noted,
    PoweredOn,
    Record,
    Saved,
    Went,
)
from knobmenu.session.timeline import Timeline


@attrs.frozen
class Restored:
    """What a recording holds."""

    timeline: Timeline
    """The variants, and everything that happened to them; nobody records it."""
    turned: int
    """How far the knob was turned, clockwise. [detents]"""
    lasted_ms: int
    """The real time of the last record since the header. [ms]"""


def restore(header: Header, records: Iterable[Record], live_pages: int = LIVE) -> Restored:
    """Restore a timeline from its recording.

    Its events are played as they were recorded; so it equals the one that was recorded, with its branches, its changed
    designs, its notes and its marks, as long as the machine does what it did then.

    Args:
        header: How the recording begins.
        records: What follows.
        live_pages: How much of the history stays unpacked; see `knobmenu.device.pages`. [pages]

    Raises:
        RecordingError: A record does not follow from those before it; says its real time.
    """
    timeline = Timeline([recorded.design for recorded in header.designs], live_pages=live_pages)
    turned = lasted_ms = 0
    for record in records:
        lasted_ms = max(lasted_ms, record.real_ms)
        try:
            _apply(timeline, record, final=True)
        except (EventError, RecordingError, IndexError, ValueError) as error:
            raise RecordingError(f"{record.kind} at {record.real_ms} ms: {error}") from None
        if isinstance(record, HandMoved):
            turned = record.turned
    return Restored(timeline, turned, lasted_ms)


def _apply(timeline: Timeline, record: Record, *, final: bool) -> None:
    match record:
        case PoweredOn():
            # The first one made the timeline.
            if record.number:
                timeline.switch_on(record.remark)
            _expect(timeline, record.number)
        case Happened():
            timeline.follow(record.events, final=final)
            _expect(timeline, record.number)
        case Went():
            timeline.go_to(record.number)
        case DesignChanged():
            timeline.redesign(record.variant, record.design.design)
            if record.number is not None:
                _expect(timeline, record.number)
        case Noted():
            timeline.note(record.text, number=record.number)
        case Marked():
            timeline.mark(record.name, record.real_ms)
        case HandMoved() | Saved():
            pass
        case _:
            assert_never(record)


def _expect(timeline: Timeline, number: int) -> None:
    if timeline.history.number != number:
        raise RecordingError(f"expected the moment {timeline.history.number}, got {number}: records are missing")


@attrs.frozen
class Divergence:
    """Where a design does something else than was recorded."""

    real_ms: int
    """When it was recorded. [ms since the header]"""
    number: int
    """The number of the moment."""
    variant: int
    """Which variant, counted from 0."""
    recorded: str
    """What was recorded: effects, or rows of a screen."""
    now: str
    """The same now, or why the event cannot come."""


def first_divergence(header: Header, records: Iterable[Record], designs: Sequence[Design]) -> Divergence | None:
    """Play what was recorded on other designs, and return where they first do something else.

    Turns are accelerated by the knobs of these designs. Where the recorded designs changed, these stay.

    Args:
        header: How the recording begins.
        records: What follows.
        designs: The variants now, as many as were recorded.

    Returns:
        The first difference in effects or screens; None where there is none.

    Raises:
        RecordingError: A record does not follow from those before it, or the number of variants is another one.
    """
    if len(designs) != len(header.designs):
        raise RecordingError(f"expected {len(header.designs)} designs, got {len(designs)}")
    timeline = Timeline(designs)
    then = [recorded.design for recorded in header.designs]
    shown: list[Screen | None] = [None] * len(designs)
    for record in records:
        number = timeline.history.number + 1
        try:
            _apply(timeline, _on(designs, record), final=False)
        except (EventError, RecordingError, IndexError, ValueError) as error:
            if isinstance(error, EventError) and isinstance(record, Happened):
                variant = next(place for place, event in enumerate(record.events) if event is not None)
                return Divergence(record.real_ms, number, variant, "an event that came", str(error))
            raise RecordingError(f"{record.kind} at {record.real_ms} ms: {error}") from None
        if isinstance(record, DesignChanged):
            then[record.variant] = record.design.design
        if isinstance(record, PoweredOn | Happened | Went | DesignChanged):
            shown = [new or old for new, old in zip(record.screens, shown, strict=True)]
            found = _difference(timeline, record, then, shown)
            if found is not None:
                return found
    return None


def _on(designs: Sequence[Design], record: Record) -> Record:
    """Return a record as it is played on other designs."""
    match record:
        case DesignChanged():
            return attrs.evolve(record, design=attrs.evolve(record.design, design=designs[record.variant]))
        case Happened():
            return attrs.evolve(record, events=tuple(map(_without_acceleration, record.events)))
        case _:
            return record


def _without_acceleration(event: Event | None) -> Event | None:
    return attrs.evolve(event, times=1) if isinstance(event, Turn) else event


def _difference(
    timeline: Timeline,
    record: PoweredOn | Happened | Went | DesignChanged,
    designs: Sequence[Design],
    shown: Sequence[Screen | None],
) -> Divergence | None:
    """Compare the present moment with a record, of these designs and these screens."""
    number = timeline.history.number
    for variant, part in enumerate(timeline.parts):
        if isinstance(record, Happened) and record.effects[variant] != part.effects:
            recorded = _effects_in_words(designs[variant], record.effects[variant])
            now = _effects_in_words(part.design, part.effects)
            return Divergence(record.real_ms, number, variant, recorded, now)
        screen, then = part.screen, shown[variant]
        if then is not None and _visible_part(screen) != _visible_part(then):
            return Divergence(record.real_ms, number, variant, str(then), str(screen))
    return None


def _visible_part(screen: Screen) -> tuple[object, ...]:
    """Return what can be seen on a screen; that is what is recorded of it."""
    return screen.rows, screen.blinking, screen.points


def _effects_in_words(design: Design, effects: Iterable[Effect]) -> str:
    return ", ".join(effect_words(design, effect) for effect in effects) or "nothing"
