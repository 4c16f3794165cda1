"""The format of recordings: everything that happens in a session, one JSON object a line.

The first line is the header. Each further line is one record: its kind, its real time in milliseconds since the
header, and what happened. `encode` and `decode` convert; `knobmenu.session.restoring` restores a session from the
records. This module does not open files. docs/reference/recording.md describes the format.
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
from knobmenu.session.records import Header, Record, RecordedDesign

FORMAT = 1
"""The version of the format that is written and read."""


class VisibleRecord(NamedTuple):
    """The part of a record that playback shows; the events are decoded on demand."""

    real_ms: int
    """The time of the record. [ms of real time since the header]"""
    kind: str
    """The kind of record."""
    number: int
    """The number of the moment that is present after it."""
    plain: Mapping[str, Any]
    """The record as it was written."""
    screens: tuple[Screen | None, ...]
    """The screen of each variant; None, or an empty tuple, if it did not change."""
    place: str
    """The file and line of the record."""

    @property
    def events(self) -> tuple[Event | None, ...]:
        """The event of each variant, decoded on demand.

        Raises:
            RecordingError: The events cannot be read.
        """
        events: tuple[Event | None, ...] = _read(self.place, partial(_events_from_plain, self.plain))
        return events


# Writing.


def encode(record: Header | Record) -> str:
    """Format a header or a record as one line of JSON, with its line end."""
    return json.dumps(_record_to_plain(record), ensure_ascii=False, separators=(",", ":")) + "\n"


def _record_to_plain(record: Header | Record) -> dict[str, Any]:
    if isinstance(record, Header):
        return {
            "kind": "header",
            "format": FORMAT,
            "started": record.started,
            "designs": [_design_to_plain(one) for one in record.designs],
        } | ({"files": list(record.files)} if record.files else {})
    plain: dict[str, Any] = {"kind": record.kind, "real_ms": record.real_ms}
    match record:
        case records.PowerOnRecord(_, number, remark, screens):
            plain |= {"number": number, "remark": remark, "screens": _screens_to_plain(screens)}
        case records.EventRecord(_, number, events, effects, screens):
            plain |= {
                "number": number,
                "events": [None if event is None else event_to_plain(event) for event in events],
                "effects": [[effect_to_plain(effect) for effect in some] for some in effects],
                "screens": _screens_to_plain(screens),
            }
        case records.GoRecord(_, number, screens):
            plain |= {"number": number, "screens": _screens_to_plain(screens)}
        case records.DesignRecord(_, variant, design, number, screens):
            plain |= {"variant": variant, "number": number, "screens": _screens_to_plain(screens)} | _design_to_plain(
                design
            )
        case records.HandRecord(_, turned, down):
            plain |= {"turned": turned, "down": down}
        case records.NoteRecord(_, number, at_ms, text):
            plain |= {"number": number, "at_ms": at_ms, "text": text}
        case records.MarkRecord(_, number, name):
            plain |= {"number": number, "name": name}
        case records.SaveRecord(_, file):
            plain |= {"file": file}
        case _:
            assert_never(record)
    return plain


def _design_to_plain(one: RecordedDesign) -> dict[str, Any]:
    return {"identity": one.identity, "design": to_plain(one.design)}


def _screens_to_plain(screens: tuple[Screen | None, ...]) -> list[dict[str, Any] | None]:
    return [None if screen is None else screen_to_plain(screen) for screen in screens]


# Reading.


def decode(lines: Iterable[str], file: str = "recording") -> tuple[Header, Iterator[Record]]:
    """Read a recording.

    A last line that is incomplete, because writing was interrupted, is ignored.

    Args:
        lines: The lines, with their line ends.
        file: The name of the file in error messages.

    Returns:
        The header, and an iterator over the records, which decodes on demand and raises what `decode` raises.

    Raises:
        RecordingError: The recording cannot be read, or has a newer format; the message states the line.
    """
    objects = _parse_lines(lines, file)
    return _read_header(objects, file), _walk_records(objects, file)


def decode_events(lines: Iterable[str], file: str = "recording") -> tuple[Header, Iterator[Record]]:
    """Read a recording without the effects and screens of its events, which playing the events computes again.

    Otherwise it equals `decode`, in a fraction of the time.
    """
    objects = _parse_lines(lines, file)
    return _read_header(objects, file), _walk_without_effects(objects, file)


def decode_visible(lines: Iterable[str], file: str = "recording") -> tuple[Header, Iterator[VisibleRecord]]:
    """Read what playback of a recording needs, without what only restoring a session needs; otherwise like `decode`."""
    objects = _parse_lines(lines, file)
    return _read_header(objects, file), _walk_shown(objects, file)


_ADVICE = "Record a session with: knobmenu try DESIGN --record FILE."


def _read_header(objects: Iterator[tuple[int, Mapping[str, Any]]], file: str) -> Header:
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
    header: Header = _read(place, partial(_header_from_plain, first))
    if not header.designs:
        raise RecordingError(f"{place}: designs: expected at least one design, got none")
    if header.files and len(header.files) != len(header.designs):
        expected = f"{len(header.designs)}, one for each design"
        raise RecordingError(f"{place}: files: expected {expected}, got {len(header.files)}")
    return header


def _walk_records(objects: Iterator[tuple[int, Mapping[str, Any]]], file: str) -> Iterator[Record]:
    for line, plain in objects:
        yield _read_record(plain, f"{file}:{line}")


def _walk_without_effects(objects: Iterator[tuple[int, Mapping[str, Any]]], file: str) -> Iterator[Record]:
    for line, plain in objects:
        place = f"{file}:{line}"
        if plain.get("kind") == records.EventRecord.kind:
            yield _read(place, partial(_read_event_alone, plain))
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


def _walk_shown(objects: Iterator[tuple[int, Mapping[str, Any]]], file: str) -> Iterator[VisibleRecord]:
    number = now_ms = 0
    screens: tuple[Screen | None, ...]
    for line, plain in objects:
        place = f"{file}:{line}"
        if plain.get("kind") == records.EventRecord.kind:
            # Most records are these, and most of them change no screen.
            number, real_ms = _read(place, partial(_read_number_and_time, plain))
            screens = () if plain.get("screens") == [None] else _read(place, partial(_screens_from_plain, plain))
            now_ms = max(now_ms, real_ms)
            yield VisibleRecord(now_ms, records.EventRecord.kind, number, plain, screens, place)
        else:
            record = _read_record(plain, place)
            screens = ()
            match record:
                case records.PowerOnRecord() | records.EventRecord() | records.GoRecord():
                    number, screens = record.number, record.screens
                case records.DesignRecord():
                    # One that changes in the past adds no moment.
                    number, screens = number if record.number is None else record.number, record.screens
                case records.NoteRecord() | records.MarkRecord() | records.HandRecord() | records.SaveRecord():
                    # A note is about any moment.
                    pass
                case _:
                    assert_never(record)
            now_ms = max(now_ms, record.real_ms)
            yield VisibleRecord(now_ms, record.kind, number, plain, screens, place)


def _parse_lines(lines: Iterable[str], file: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """Parse the lines as JSON objects, each with its number; stop at an unreadable line without a line end."""
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
    """Call a reader of one line; errors state the place of the line."""
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


def _header_from_plain(plain: Mapping[str, Any]) -> Header:
    files = tuple(map(str, plain.get("files", ())))
    return Header(tuple(map(_recorded_from_plain, plain["designs"])), str(plain.get("started", "")), files)


def _recorded_from_plain(plain: Mapping[str, Any]) -> RecordedDesign:
    return RecordedDesign(_design_from_json(json.dumps(plain["design"])), str(plain["identity"]))


@lru_cache(maxsize=64)
def _design_from_json(text: str) -> Design:
    """Read a design from JSON; cached, since the recordings of a study repeat the same few designs."""
    return from_plain(json.loads(text))


def _screens_from_plain(plain: Mapping[str, Any]) -> tuple[Screen | None, ...]:
    return tuple(None if screen is None else screen_from_plain(screen) for screen in plain["screens"])


def _read_number_and_time(plain: Mapping[str, Any]) -> tuple[int, int]:
    return _read_integer(plain, "number"), _read_integer(plain, "real_ms")


def _events_from_plain(plain: Mapping[str, Any]) -> tuple[Event | None, ...]:
    return tuple(None if event is None else event_from_plain(event) for event in plain["events"])


def _read_integer(plain: Mapping[str, Any], name: str, low: int = 0) -> int:
    value = plain[name]
    if type(value) is not int or not low <= value < 2**63:
        raise RecordingError(f"{name}: expected a whole number from {low}, got {quote_value(value)}")
    return value


def _read_event(plain: Mapping[str, Any]) -> records.EventRecord:
    return records.EventRecord(
        _read_integer(plain, "real_ms"),
        _read_integer(plain, "number"),
        _events_from_plain(plain),
        tuple(tuple(map(effect_from_plain, some)) for some in plain["effects"]),
        _screens_from_plain(plain),
    )


def _read_event_alone(plain: Mapping[str, Any]) -> records.EventRecord:
    return records.EventRecord(
        _read_integer(plain, "real_ms"), _read_integer(plain, "number"), _events_from_plain(plain), (), ()
    )


def _read_design_change(plain: Mapping[str, Any]) -> records.DesignRecord:
    number = None if plain["number"] is None else _read_integer(plain, "number")
    return records.DesignRecord(
        _read_integer(plain, "real_ms"),
        _read_integer(plain, "variant"),
        _recorded_from_plain(plain),
        number,
        _screens_from_plain(plain),
    )


_READERS: Mapping[str, Callable[[Mapping[str, Any]], Record]] = {
    records.PowerOnRecord.kind: lambda plain: records.PowerOnRecord(
        _read_integer(plain, "real_ms"),
        _read_integer(plain, "number"),
        str(plain["remark"]),
        _screens_from_plain(plain),
    ),
    records.EventRecord.kind: _read_event,
    records.HandRecord.kind: lambda plain: records.HandRecord(
        _read_integer(plain, "real_ms"), _read_integer(plain, "turned", -(2**63)), plain["down"] is True
    ),
    records.GoRecord.kind: lambda plain: records.GoRecord(
        _read_integer(plain, "real_ms"), _read_integer(plain, "number"), _screens_from_plain(plain)
    ),
    records.DesignRecord.kind: _read_design_change,
    records.NoteRecord.kind: lambda plain: records.NoteRecord(
        _read_integer(plain, "real_ms"),
        _read_integer(plain, "number"),
        _read_integer(plain, "at_ms"),
        str(plain["text"]),
    ),
    records.MarkRecord.kind: lambda plain: records.MarkRecord(
        _read_integer(plain, "real_ms"), _read_integer(plain, "number"), str(plain["name"])
    ),
    records.SaveRecord.kind: lambda plain: records.SaveRecord(_read_integer(plain, "real_ms"), str(plain["file"])),
}
