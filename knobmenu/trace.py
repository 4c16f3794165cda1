"""Traces: events of a knob, written as words.

======================  ================================================================
``3``, ``-2``           turn by 3 detents up or 2 down
``press``               press
``hold``                long press
``double``              double press
``held 3``, ``held -3`` turn while held
``wait 500``            let 500 ms pass
``report KEY VALUE``    the device reports a readout's value
``at 12480``            the next word happens at 12480 ms
``# …``                 a comment, to the end of the line
======================  ================================================================

Events are 100 ms apart unless a time is given.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from knobmenu.errors import EventError, TraceError, mismatch, nearest, one_of, quote_value
from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Report, Turn, Wait

GAP_MS = 100
"""The default time from one event to the next. [ms]"""

WORDS = ("press", "hold", "double", "held", "wait", "report", "at")
"""The words of a trace, other than numbers."""

_PRESSES: dict[str, type[Event]] = {"press": Press, "hold": LongPress, "double": DoublePress}
_WORD = re.compile(r"#[^\n]*|\S+")
_WHOLE = re.compile(r"[+-]?[0-9]{1,16}\Z")
_LONG = re.compile(r"[+-]?[0-9]+\Z")


class _Word(NamedTuple):
    text: str
    line: int
    column: int


def parse_trace(text: str) -> tuple[Event, ...]:
    """Parse a trace.

    Raises:
        TraceError: A word cannot be read; the message states the line and column of the first.
    """
    words = _split_words(text)
    events: list[Event] = []
    now_ms, next_ms = 0, GAP_MS
    for word in words:
        try:
            if word.text == "at":
                next_ms = _parse_number(words, word)
                continue
            event = _parse_event(word, words, now_ms, next_ms)
        except EventError as error:
            raise _make_error(word, str(error)) from None
        if event.at_ms < now_ms:
            raise _make_error(word, f"event at {event.at_ms} ms is earlier than the last one ({now_ms} ms)")
        events.append(event)
        now_ms, next_ms = event.at_ms, event.at_ms + GAP_MS
    return tuple(events)


def format_trace(events: Iterable[Event]) -> str:
    """Format events as a trace that `parse_trace` parses to the same events, one on a line.

    Acceleration is omitted, since it follows from the times.
    """
    lines = []
    now_ms = 0
    for event in events:
        usual_ms = now_ms + GAP_MS
        at = f"at {event.at_ms} " if event.at_ms != usual_ms and not isinstance(event, Wait) else ""
        lines.append(at + _format_event(event, now_ms))
        now_ms = event.at_ms
    return "".join(line + "\n" for line in lines)


def _split_words(text: str) -> Iterator[_Word]:
    for number, line in enumerate(text.split("\n"), 1):
        for match in _WORD.finditer(line):
            if not match.group().startswith("#"):
                yield _Word(match.group(), number, match.start() + 1)


def _parse_event(word: _Word, words: Iterator[_Word], now_ms: int, next_ms: int) -> Event:
    if _WHOLE.match(word.text):
        return Turn(next_ms, int(word.text))
    if word.text in _PRESSES:
        return _PRESSES[word.text](next_ms)
    if word.text == "held":
        return HeldTurn(next_ms, _parse_number(words, word))
    if word.text == "wait":
        return Wait(now_ms + _parse_number(words, word))
    if word.text == "report":
        key = next(words, None)
        if key is None:
            raise _make_error(word, mismatch("a readout's key and a whole number after report", "nothing"))
        return Report(next_ms, key.text, _parse_number(words, word))
    if _LONG.match(word.text):
        raise _make_error(word, mismatch("a whole number of at most 16 digits", quote_value(word.text)))
    expected = f"a whole number of detents, or {one_of(WORDS)}"
    raise _make_error(word, mismatch(expected, quote_value(word.text), nearest(word.text, WORDS)))


def _parse_number(words: Iterator[_Word], before: _Word) -> int:
    word = next(words, None)
    if word is None:
        raise _make_error(before, mismatch(f"a whole number after {before.text}", "nothing"))
    if not _WHOLE.match(word.text):
        most = " of at most 16 digits" if _LONG.match(word.text) else ""
        raise _make_error(word, mismatch(f"a whole number{most} after {before.text}", quote_value(word.text)))
    return int(word.text)


def _make_error(word: _Word, what: str) -> TraceError:
    return TraceError(f"trace, line {word.line}, column {word.column}: {what}")


def _format_event(event: Event, now_ms: int) -> str:
    if isinstance(event, Turn):
        return f"{event.detents:+d}"
    if isinstance(event, HeldTurn):
        return f"held {event.detents:+d}"
    if isinstance(event, Wait):
        return f"wait {event.at_ms - now_ms}"
    if isinstance(event, Report):
        return f"report {event.key} {event.value}"
    return next(word for word, kind in _PRESSES.items() if type(event) is kind)
