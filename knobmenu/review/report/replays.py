"""Replays of a problem: the part of a recording in which a person met it, as an animation and as a command."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator, Sequence

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import Event, Turn, Wait
from knobmenu.review.attempts import Attempt
from knobmenu.review.report.problems import Occurrence, UsabilityProblem
from knobmenu.review.walk import format_begin_mark, format_end_mark
from knobmenu.session.animation import Cel, animate_cels
from knobmenu.session.narration import describe_event
from knobmenu.session.playback import Frame, draw_frame, format_clock, walk_frames
from knobmenu.session.recording import VisibleRecord
from knobmenu.session.records import EventRecord, Header

BEFORE_MS, AFTER_MS, LONGEST_MS = 3000, 2000, 30_000
"""Lead before the departure, lag after its end, and longest duration of a replay. [ms]

A replay shows only the attempt: after the end of the attempt, the last picture stays.
"""


@attrs.frozen
class Replay:
    """A replay of a person who meets a problem."""

    occurrence: Occurrence
    command: str
    """The command that plays the whole attempt in a terminal."""
    picture: str
    """An animated SVG document that loops."""
    events: tuple[str, ...]
    """Descriptions of the events, each with its time since the start of the task."""


def choose_occurrence(problem: UsabilityProblem) -> Occurrence:
    """Choose the occurrence whose cost is nearest the median; the first by code if there are several."""
    return min(problem.occurrences, key=lambda one: (abs(one.seconds - problem.seconds), one.person.code))


def format_replay_command(occurrence: Occurrence) -> str:
    """Format the command that plays an attempt from its start to its end."""
    attempt = occurrence.attempt
    begin, end = shlex.quote(format_begin_mark(attempt.trial)), shlex.quote(format_end_mark(attempt.outcome))
    return f"knobmenu replay {shlex.quote(occurrence.person.file)} --from {begin} --until {end}"


def make_replay(occurrence: Occurrence, design: Design, header: Header, shown: Iterable[VisibleRecord]) -> Replay:
    """Make the replay of one occurrence.

    Args:
        occurrence: The person who met the problem, and where.
        design: The design of their device.
        header: The header of their recording.
        shown: The records of their recording.

    Raises:
        RecordingError: The recording cannot be read.
    """
    departure, attempt = occurrence.departure, occurrence.attempt
    begin_ms = max(departure.begun_ms - BEFORE_MS, attempt.begun_ms)
    attempt_ended_ms = attempt.begun_ms + attempt.lasted_ms
    end_ms = max(min(departure.ended_ms, attempt_ended_ms), departure.begun_ms)
    end_ms = min(end_ms + AFTER_MS, begin_ms + LONGEST_MS)
    cels: list[Cel] = []
    events: list[tuple[int, Event]] = []
    played = _walk_until_end(walk_frames(header, shown), attempt)
    for cel, event in _walk_cels(attempt.begun_ms, design, played, min(end_ms, attempt_ended_ms)):
        if cel[0] <= begin_ms:
            cels = [(0, cel[1])]  # the picture at the start of the replay
        else:
            cels.append((cel[0] - begin_ms, cel[1]))
        if event is not None and cel[0] >= begin_ms:
            events.append((cel[0] - attempt.begun_ms, event))
    title = f"{occurrence.person.code}, {attempt.trial.task}"
    picture = animate_cels(title, cels, end_ms - begin_ms + 1)
    return Replay(occurrence, format_replay_command(occurrence), picture, tuple(_format_events(design, events)))


def _walk_until_end(played: Iterable[Frame], attempt: Attempt) -> Iterator[Frame]:
    """Walk frames up to the mark at the end of an attempt, since later records may have the same time."""
    end = format_end_mark(attempt.outcome)
    for frame in played:
        shown = frame.shown
        if frame.real_ms >= attempt.begun_ms and shown.kind == "mark" and shown.plain.get("name") == end:
            return
        yield frame


def _walk_cels(
    begun_ms: int, design: Design, played: Iterable[Frame], end_ms: int
) -> Iterator[tuple[Cel, Event | None]]:
    """Walk the pictures from the start of an attempt to a time: the display, and below it the last gesture."""
    said = ""
    for frame in played:
        if frame.real_ms > end_ms:
            return
        if frame.real_ms < begun_ms:
            continue
        events = frame.shown.events if frame.shown.kind == EventRecord.kind else ()
        event = next((one for one in events if one is not None and not isinstance(one, Wait)), None)
        if event is not None:
            said = f"{format_clock(frame.real_ms - begun_ms)} {describe_event(design, event)}"
        yield (frame.real_ms, (*draw_frame([design], frame), said)), event


def _format_events(design: Design, events: Sequence[tuple[int, Event]]) -> Iterator[str]:
    """Describe the events with their times; consecutive turns in one direction are merged."""
    place = 0
    while place < len(events):
        at_ms, event = events[place]
        place += 1
        while isinstance(event, Turn) and place < len(events):
            more = events[place][1]
            if not isinstance(more, Turn) or (more.detents > 0) != (event.detents > 0):
                break
            event = Turn(event.at_ms, event.detents + more.detents)
            place += 1
        yield f"{format_clock(at_ms)} {describe_event(design, event)}"
