"""Playback of a recording: its frames, a player that steps through them, and their descriptions."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import NamedTuple

import attrs

from knobmenu.design.whole import Design
from knobmenu.errors import RecordingError, nearest, quote_value
from knobmenu.screen.cells import Screen
from knobmenu.session.narration import describe_event, draw_box
from knobmenu.session.recording import VisibleRecord
from knobmenu.session.records import Header

SPEEDS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 60.0)
"""Playback speeds, as multiples of real time."""


class Frame(NamedTuple):
    """What is visible from one record to the next."""

    real_ms: int
    """The time at which it appears. [ms of real time since the header]"""
    screens: tuple[Screen, ...]
    """What each variant shows."""
    shown: VisibleRecord
    """The record."""


def walk_frames(header: Header, records: Iterable[VisibleRecord]) -> Iterator[Frame]:
    """Walk the frames of a recording: one for each record."""
    screens: list[Screen] = [Screen(())] * len(header.designs)
    for record in records:
        for variant, screen in enumerate(record.screens):
            if screen is not None and variant < len(screens):
                screens[variant] = screen
        yield Frame(record.real_ms, tuple(screens), record)


def select_frames_from(every: Sequence[Frame], mark: str) -> tuple[Frame, ...]:
    """Return the frames from the last mark of a name on; their times count from there.

    Raises:
        RecordingError: No mark has that name.
    """
    places = _locate_marks(every)
    if not places:
        raise RecordingError(
            f"expected a recording with marks, got one without. Leave out the mark {quote_value(mark)}."
        )
    if mark not in places:
        raise _make_mark_error("a mark", mark, places)
    begin = places[mark][-1]
    begun_ms = every[begin].real_ms
    return tuple(frame._replace(real_ms=frame.real_ms - begun_ms) for frame in every[begin:])


def select_frames_until(every: Sequence[Frame], mark: str) -> tuple[Frame, ...]:
    """Return the frames up to and including the first mark of a name after the first frame.

    Raises:
        RecordingError: No mark after the first frame has that name.
    """
    places = _locate_marks(every[1:])
    if not places:
        raise RecordingError(f"expected a mark to end at, got none. Leave the mark {quote_value(mark)} out.")
    if mark not in places:
        raise _make_mark_error("a mark to end at", mark, places)
    return tuple(every[: places[mark][0] + 2])


def _locate_marks(every: Sequence[Frame]) -> dict[str, list[int]]:
    """Return the indices of the marks, by name."""
    places: dict[str, list[int]] = {}
    for place, frame in enumerate(every):
        if frame.shown.kind == "mark":
            places.setdefault(str(frame.shown.plain.get("name")), []).append(place)
    return places


def _make_mark_error(expected: str, mark: str, marks: Collection[str]) -> RecordingError:
    few = ", ".join(map(quote_value, list(marks)[:5])) + (", …" if len(marks) > 5 else "")
    return RecordingError(
        f"expected {expected}, such as {few}; got {quote_value(mark)}. {nearest(mark, marks)}".rstrip()
    )


def describe_frame(designs: Sequence[Design], frame: Frame) -> str:
    """Describe a record; empty for a movement of the hand."""
    plain = frame.shown.plain
    match frame.shown.kind:
        case "event":
            pairs = [(design, event) for design, event in zip(designs, frame.shown.events, strict=False) if event]
            return ", ".join(dict.fromkeys(describe_event(design, event) for design, event in pairs))
        case "note" | "mark" as kind:
            return f"{kind}: {plain.get('text', plain.get('name', ''))}"
        case "go":
            return f"goes to event {frame.shown.number}"
        case "design":
            return "the design changed"
        case "saved":
            return f"saved as {plain.get('file', '')}"
        case "power-on":
            return "power-on"
        case _:
            return ""


def format_line(designs: Sequence[Design], frame: Frame) -> str:
    """Describe a record in words behind its time; empty for a movement of the hand."""
    description = describe_frame(designs, frame)
    return f"{format_clock(frame.real_ms):>9}  {description}" if description else ""


def format_clock(real_ms: int) -> str:
    """Return a time as minutes and seconds, such as ``2:05.1``."""
    minutes, rest_ms = divmod(real_ms, 60_000)
    return f"{minutes}:{rest_ms // 1000:02}.{rest_ms % 1000 // 100}"


def draw_frame(designs: Sequence[Design], frame: Frame) -> tuple[str, ...]:
    """Draw what the variants show, one below the other, in boxes."""
    lines: list[str] = []
    for design, screen in zip(designs, frame.screens, strict=True):
        lines += [design.name, *(draw_box(screen) if screen.rows else ())]
    return tuple(lines)


@attrs.frozen
class Player:
    """A place in a recording, and the state of playback."""

    frames: Sequence[Frame]
    """At least one."""
    place: int = 0
    speed: float = 1.0
    plays: bool = True
    at_ms: float = 0.0
    """The time in the recording. [ms]"""

    @property
    def frame(self) -> Frame:
        """The frame that is visible now."""
        return self.frames[self.place]

    @property
    def ended(self) -> bool:
        """Whether the last frame is visible."""
        return self.place == len(self.frames) - 1


def run_player(player: Player, for_ms: float) -> Player:
    """Advance a player that plays. [ms of real time]"""
    if not player.plays or player.ended:
        return player
    at_ms, place = player.at_ms + for_ms * player.speed, player.place
    while place + 1 < len(player.frames) and player.frames[place + 1].real_ms <= at_ms:
        place += 1
    return attrs.evolve(player, at_ms=at_ms, place=place)


def change_speed(player: Player, by: int) -> Player:
    """Play faster by a number of speeds, or slower if it is negative."""
    place = min(max(SPEEDS.index(player.speed) + by, 0), len(SPEEDS) - 1)
    return attrs.evolve(player, speed=SPEEDS[place])


def go_to_place(player: Player, place: int) -> Player:
    """Go to a frame and pause there; beyond an end, go to that end."""
    place = min(max(place, 0), len(player.frames) - 1)
    return attrs.evolve(player, place=place, at_ms=float(player.frames[place].real_ms), plays=False)


def go_to_mark(player: Player, forward: bool) -> Player:
    """Go to the next or previous mark or note; if there is none, to the end or the start."""
    after, before = range(player.place + 1, len(player.frames)), range(player.place - 1, -1, -1)
    places = after if forward else before
    end = len(player.frames) - 1 if forward else 0
    marked = (place for place in places if player.frames[place].shown.kind in ("mark", "note"))
    return go_to_place(player, next(marked, end))


def draw_player(designs: Sequence[Design], player: Player) -> tuple[str, ...]:
    """Draw what a player shows: the clock and how it is played, the device, and what happened last."""
    state = "ended" if player.ended else "playing" if player.plays else "stopped"
    happened = player.frames[max(player.place - 8, 0) : player.place + 1]
    return (
        f"{format_clock(int(player.at_ms))} of {format_clock(player.frames[-1].real_ms)}   {state},"
        f" speed {player.speed:g}",
        "",
        *draw_frame(designs, player.frame),
        "",
        *(said for frame in happened if (said := format_line(designs, frame))),
    )


# Watching.


@attrs.frozen
class WatchState:
    """What a moderator sees while watching."""

    frame: Frame | None = None
    task: str = ""
    """The name of the last mark that is not an answer."""
    task_ms: int = 0
    """The time of that mark. [ms]"""
    said: tuple[str, ...] = ()
    """Lines about what happened, the newest last."""
    turned: int = 0
    """The position of the knob, clockwise positive. [detents]"""
    down: bool = False


def watch(watched: WatchState, designs: Sequence[Design], frame: Frame) -> tuple[WatchState, str]:
    """Take a frame that came just now; return the words for it, too."""
    said = format_line(designs, frame)
    plain = frame.shown.plain
    changes: dict[str, object] = {"frame": frame}
    if said:
        changes["said"] = (*watched.said[-200:], said)
    if frame.shown.kind == "mark" and not str(plain.get("name", "")).startswith("answer "):
        changes |= {"task": str(plain.get("name", "")), "task_ms": frame.real_ms}
    if frame.shown.kind == "hand":
        changes |= {"turned": plain.get("turned", 0), "down": plain.get("down") is True}
    return attrs.evolve(watched, **changes), said  # type: ignore[arg-type]


def draw_watched(designs: Sequence[Design], watched: WatchState, last: int, later_ms: int = 0) -> tuple[str, ...]:
    """Draw the moderator's view: the task and the clock, the device, the knob, and what happened last.

    Args:
        designs: The variants.
        watched: The state to draw.
        last: How many of the latest lines to draw.
        later_ms: Time since the last record. [ms]
    """
    if watched.frame is None:
        return ("Nothing has happened yet.",)
    now_ms = watched.frame.real_ms + later_ms
    task = f"task: {watched.task}, for {format_clock(now_ms - watched.task_ms)}" if watched.task else "no mark yet"
    knob = f"knob: {watched.turned:+d} detents, {'pressed' if watched.down else 'released'}"
    return (
        f"{format_clock(now_ms)}  {task}",
        *draw_frame(designs, watched.frame),
        knob,
        "",
        *watched.said[-last:],
    )


# Exports.


def format_asciicast(header: Header, frames: Iterable[Frame]) -> Iterator[str]:
    """Format a recording as lines of an asciicast, version 2.

    The format is that of docs.asciinema.org, "asciicast v2": a header object, then one list for each event: time [s],
    ``o``, and the output to the terminal.
    """
    designs = [recorded.design for recorded in header.designs]
    columns, rows = 0, 0
    for design in designs:
        columns = max(columns, design.display.columns + 4, len(design.name))
        rows += design.display.rows + 4
    head = {"version": 2, "width": columns, "height": rows, "title": " and ".join(design.name for design in designs)}
    yield json.dumps(head, ensure_ascii=False) + "\n"
    before: tuple[str, ...] = ()
    for frame in frames:
        lines = draw_frame(designs, frame)
        if lines != before:
            before = lines
            text = "\x1b[H\x1b[2J" + "\r\n".join(lines)
            yield json.dumps([frame.real_ms / 1000, "o", text], ensure_ascii=False) + "\n"
