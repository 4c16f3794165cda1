"""Recordings: everything that happens in a session, one JSON object a line.

The first line is the header. Each further line is one record: its kind, its real time in milliseconds since the
header, and what happened. `encode` and `decode` convert; `knobmenu.session.restoring` makes a session of the records
again. Nothing here opens a file. The format is described in docs/reference/recording.md.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache, partial
from typing import Any, NamedTuple, assert_never

from knobmenu.codec import from_plain, to_plain
from knobmenu.codec.events import event_from_plain, event_to_plain
from knobmenu.design.whole import Design
from knobmenu.errors import DesignError, EventError, RecordingError, nearest, one_of, quote_value
from knobmenu.events import Event
from knobmenu.screen.cells import Screen
from knobmenu.session import records
from knobmenu.session.plain import effect_from_plain, effect_to_plain, screen_from_plain, screen_to_plain
from knobmenu.session.records import Header, Record, Recorded

FORMAT = 1
"""The version of the format that is written and read."""


class Shown(NamedTuple):
    """What somebody who watches sees of a record; the rest is decoded when it is asked for."""

    real_ms: int
    """When. [ms of real time since the header]"""
    kind: str
    """What kind of record it is."""
    number: int
    """The number of the moment that is present after it."""
    plain: Mapping[str, Any]
    """The record as it was written."""
    screens: tuple[Screen | None, ...]
    """For each variant what it shows now; None or nothing where that did not change."""
    place: str
    """Its file and line."""

    @property
    def events(self) -> tuple[Event | None, ...]:
        """What happened to each variant, decoded only when it is asked for.

        Raises:
            RecordingError: It cannot be read.
        """
        events: tuple[Event | None, ...] = _read(self.place, partial(_events_from, self.plain))
        return events


# Writing.


def encode(record: Header | Record) -> str:
    """Write a header or a record as one line of JSON, with its line end."""
    return json.dumps(_plain(record), ensure_ascii=False, separators=(",", ":")) + "\n"


def _plain(record: Header | Record) -> dict[str, Any]:
    if isinstance(record, Header):
        return {
            "kind": "header",
            "format": FORMAT,
            "started": record.started,
            "designs": [_plain_recorded(one) for one in record.designs],
        } | ({"files": list(record.files)} if record.files else {})
    plain: dict[str, Any] = {"kind": record.kind, "real_ms": record.real_ms}
    match record:
        case records.PoweredOn(_, number, remark, screens):
            plain |= {"number": number, "remark": remark, "screens": _screens(screens)}
        case records.Happened(_, number, events, effects, screens):
            plain |= {
                "number": number,
                "events": [None if event is None else event_to_plain(event) for event in events],
                "effects": [[effect_to_plain(effect) for effect in some] for some in effects],
                "screens": _screens(screens),
            }
        case records.Went(_, number, screens):
            plain |= {"number": number, "screens": _screens(screens)}
        case records.DesignChanged(_, variant, design, number, screens):
            plain |= {"variant": variant, "number": number, "screens": _screens(screens)} | _plain_recorded(design)
        case records.HandMoved(_, turned, down):
            plain |= {"turned": turned, "down": down}
        case records.Noted(_, number, at_ms, text):
            plain |= {"number": number, "at_ms": at_ms, "text": text}
        case records.Marked(_, number, name):
            plain |= {"number": number, "name": name}
        case records.Saved(_, file):
            plain |= {"file": file}
        case _:
            assert_never(record)
    return plain


def _plain_recorded(one: Recorded) -> dict[str, Any]:
    return {"identity": one.identity, "design": to_plain(one.design)}


def _screens(screens: tuple[Screen | None, ...]) -> list[dict[str, Any] | None]:
    return [None if screen is None else screen_to_plain(screen) for screen in screens]


# Reading.


def decode(lines: Iterable[str], file: str = "recording") -> tuple[Header, Iterator[Record]]:
    """Read a recording.

    A last line that was cut off while it was written is left out.

    Args:
        lines: Its lines, with their line ends, as a file gives them.
        file: What errors call it.

    Returns:
        The header, and the records in order, each read when it is asked for; reading one raises what `decode` does.

    Raises:
        RecordingError: The recording cannot be read, or is of a newer format; says the line.
    """
    objects = _objects(lines, file)
    return _header(objects, file), _records(objects, file)


def decode_events(lines: Iterable[str], file: str = "recording") -> tuple[Header, Iterator[Record]]:
    """Read a recording without the effects and screens of its events, which playing them works out again.

    Otherwise as `decode` does, in a fraction of the time.
    """
    objects = _objects(lines, file)
    return _header(objects, file), _events(objects, file)


def decode_shown(lines: Iterable[str], file: str = "recording") -> tuple[Header, Iterator[Shown]]:
    """Read what a recording shows, without what only restoring a session needs; otherwise as `decode` does."""
    objects = _objects(lines, file)
    return _header(objects, file), _walk_shown(objects, file)


_ADVICE = "Record a session with: knobmenu try DESIGN --record FILE."


def _header(objects: Iterator[tuple[int, Mapping[str, Any]]], file: str) -> Header:
    _, first = next(objects, (1, {}))
    place = f"{file}:1"
    if first.get("kind") != "header":
        found = quote_value(first.get("kind")) if "kind" in first else "another JSON object" if first else "nothing"
        raise RecordingError(f"{place}: expected the header of a recording, got {found}. {_ADVICE}")
    version = first.get("format")
    if type(version) is not int or version > FORMAT or version < 1:
        newer = type(version) is int and version > FORMAT
        advice = " This recording is from a newer knobmenu." if newer else ""
        raise RecordingError(f"{place}: format: expected {FORMAT}, got {quote_value(version)}.{advice}")
    header: Header = _read(place, partial(_header_from, first))
    if not header.designs:
        raise RecordingError(f"{place}: designs: expected at least one design, got none")
    if header.files and len(header.files) != len(header.designs):
        expected = f"{len(header.designs)}, one for each design"
        raise RecordingError(f"{place}: files: expected {expected}, got {len(header.files)}")
    return header


def _records(objects: Iterator[tuple[int, Mapping[str, Any]]], file: str) -> Iterator[Record]:
    for line, plain in objects:
        yield _read_record(plain, f"{file}:{line}")


def _events(objects: Iterator[tuple[int, Mapping[str, Any]]], file: str) -> Iterator[Record]:
    for line, plain in objects:
        place = f"{file}:{line}"
        if plain.get("kind") == records.Happened.kind:
            yield _read(place, partial(_event_alone, plain))
        else:
            yield _read_record(plain, place)


def _read_record(plain: Mapping[str, Any], place: str) -> Record:
    kind = plain.get("kind")
    read = _READERS.get(kind) if isinstance(kind, str) else None
    if read is None:
        advice = nearest(kind, _READERS) if isinstance(kind, str) else ""
        raise RecordingError(f"{place}: kind: expected {one_of(_READERS)}, got {quote_value(kind)}. {advice}".strip())
    record: Record = _read(place, partial(read, plain))
    return record


def _walk_shown(objects: Iterator[tuple[int, Mapping[str, Any]]], file: str) -> Iterator[Shown]:
    number = now_ms = 0
    screens: tuple[Screen | None, ...]
    for line, plain in objects:
        place = f"{file}:{line}"
        if plain.get("kind") == records.Happened.kind:
            # Most records are these, and most of them change no screen.
            number, real_ms = _read(place, partial(_number_and_time, plain))
            screens = () if plain.get("screens") == [None] else _read(place, partial(_screens_from, plain))
            now_ms = max(now_ms, real_ms)
            yield Shown(now_ms, records.Happened.kind, number, plain, screens, place)
        else:
            record = _read_record(plain, place)
            screens = ()
            match record:
                case records.PoweredOn() | records.Happened() | records.Went():
                    number, screens = record.number, record.screens
                case records.DesignChanged():
                    # One that changes in the past adds no moment.
                    number, screens = number if record.number is None else record.number, record.screens
                case records.Noted() | records.Marked() | records.HandMoved() | records.Saved():
                    # A note is about any moment.
                    pass
                case _:
                    assert_never(record)
            now_ms = max(now_ms, record.real_ms)
            yield Shown(now_ms, record.kind, number, plain, screens, place)


def _objects(lines: Iterable[str], file: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """Read the lines as JSON objects, each with its number; a broken line without its end was cut off and is last."""
    for number, line in enumerate(lines, 1):
        try:
            plain = json.loads(line)
        except (ValueError, RecursionError):
            plain = None
        if isinstance(plain, dict):
            yield number, plain
        elif number == 1 and line:
            found = quote_value(line.strip())
            raise RecordingError(f"{file}:1: expected the header of a recording, got {found}. {_ADVICE}")
        elif line.endswith("\n"):
            raise RecordingError(f"{file}:{number}: expected a JSON object, got {quote_value(line.strip())}")
        else:
            return


def _read(place: str, read: Callable[[], Any]) -> Any:
    """Read one line, and say where it is whatever is wrong in it."""
    try:
        return read()
    except DesignError as error:
        raise RecordingError(f"{place}: the design in this line cannot be used:\n{error}") from None
    except (EventError, RecordingError) as error:
        raise RecordingError(f"{place}: {error}") from None
    except KeyError as error:
        raise RecordingError(f"{place}: expected {error.args[0]}, got a line without it") from None
    except (TypeError, ValueError, AttributeError):
        raise RecordingError(f"{place}: expected the fields of this kind of record, got others") from None


def _header_from(plain: Mapping[str, Any]) -> Header:
    files = tuple(map(str, plain.get("files", ())))
    return Header(tuple(map(_recorded_from, plain["designs"])), str(plain.get("started", "")), files)


def _recorded_from(plain: Mapping[str, Any]) -> Recorded:
    return Recorded(_design_from(json.dumps(plain["design"])), str(plain["identity"]))


@lru_cache(maxsize=64)
def _design_from(text: str) -> Design:
    """Read a design from JSON; the recordings of a study hold the same few designs again and again."""
    return from_plain(json.loads(text))


def _screens_from(plain: Mapping[str, Any]) -> tuple[Screen | None, ...]:
    return tuple(None if screen is None else screen_from_plain(screen) for screen in plain["screens"])


def _number_and_time(plain: Mapping[str, Any]) -> tuple[int, int]:
    return _whole(plain, "number"), _whole(plain, "real_ms")


def _events_from(plain: Mapping[str, Any]) -> tuple[Event | None, ...]:
    return tuple(None if event is None else event_from_plain(event) for event in plain["events"])


def _whole(plain: Mapping[str, Any], name: str, low: int = 0) -> int:
    value = plain[name]
    if type(value) is not int or not low <= value < 2**63:
        raise RecordingError(f"{name}: expected a whole number from {low}, got {quote_value(value)}")
    return value


def _read_happened(plain: Mapping[str, Any]) -> records.Happened:
    return records.Happened(
        _whole(plain, "real_ms"),
        _whole(plain, "number"),
        _events_from(plain),
        tuple(tuple(map(effect_from_plain, some)) for some in plain["effects"]),
        _screens_from(plain),
    )


def _event_alone(plain: Mapping[str, Any]) -> records.Happened:
    return records.Happened(_whole(plain, "real_ms"), _whole(plain, "number"), _events_from(plain), (), ())


def _design_changed(plain: Mapping[str, Any]) -> records.DesignChanged:
    number = None if plain["number"] is None else _whole(plain, "number")
    return records.DesignChanged(
        _whole(plain, "real_ms"), _whole(plain, "variant"), _recorded_from(plain), number, _screens_from(plain)
    )


_READERS: Mapping[str, Callable[[Mapping[str, Any]], Record]] = {
    records.PoweredOn.kind: lambda plain: records.PoweredOn(
        _whole(plain, "real_ms"), _whole(plain, "number"), str(plain["remark"]), _screens_from(plain)
    ),
    records.Happened.kind: _read_happened,
    records.HandMoved.kind: lambda plain: records.HandMoved(
        _whole(plain, "real_ms"), _whole(plain, "turned", -(2**63)), plain["down"] is True
    ),
    records.Went.kind: lambda plain: records.Went(
        _whole(plain, "real_ms"), _whole(plain, "number"), _screens_from(plain)
    ),
    records.DesignChanged.kind: _design_changed,
    records.Noted.kind: lambda plain: records.Noted(
        _whole(plain, "real_ms"), _whole(plain, "number"), _whole(plain, "at_ms"), str(plain["text"])
    ),
    records.Marked.kind: lambda plain: records.Marked(
        _whole(plain, "real_ms"), _whole(plain, "number"), str(plain["name"])
    ),
    records.Saved.kind: lambda plain: records.Saved(_whole(plain, "real_ms"), str(plain["file"])),
}
