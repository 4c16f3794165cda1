"""Keys with their releases, in terminals that report them, and reports that no terminal should send.

Terminals that follow the kitty keyboard protocol (https://sw.kovidgoyal.net/kitty/keyboard-protocol/, "Report event
types") report on request when a key repeats and when it is let go. Textual's parser stops at such reports; this one
understands them, and ignores what is malformed. In all other terminals both behave alike.

One private name of Textual is used, `XTermParser._sequence_to_key_events`.
"""

from __future__ import annotations

import re
from typing import Any

from textual import events
from textual._xterm_parser import XTermParser
from textual.keys import Keys
from textual.message import Message

REPORT_RELEASES = 2
"""The protocol's flag for event types."""

_KEY = re.compile(r"\x1b\[(?P<codes>[\d:]*(?:;[\d:]*){0,2})(?P<end>[u~ABCDEFHPQRS])\Z")
_FLAGS = re.compile(r"\x1b\[\?(?P<flags>\d*)u\Z")
_UNKNOWN, _PRESS, _REPEAT, _RELEASE = range(4)
_KINDS = {"": _PRESS, "1": _PRESS, "2": _REPEAT, "3": _RELEASE}
"""The protocol's event types; a press where none is reported."""

LARGEST = (2000, 1000)
"""The largest terminal that a report of its size can make true. [terminal cells]"""


class KeyUp(events.Event, bubble=False):
    """A key was let go."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__()


class ReleasesReported(events.Event, bubble=False):
    """The terminal answered whether it reports releases."""

    def __init__(self, reported: bool) -> None:
        self.key = ""
        self.reported = reported
        super().__init__()


def is_possible(size: tuple[int, int] | None) -> bool:
    """Return whether a terminal can have a size; a report of 99,999 columns would take all memory."""
    return size is not None and 0 < size[0] <= LARGEST[0] and 0 < size[1] <= LARGEST[1]


def is_repeat(event: events.Key) -> bool:
    """Return whether the terminal reported a key as the repeat of one that is held."""
    return bool(getattr(event, "is_repeat", False))


class HoldParser(XTermParser):
    """Textual's parser, and the reports of key releases."""

    def _sequence_to_key_events(self, sequence: str, alt: bool = False) -> list[Any]:
        if len(sequence) < 3:
            return self._make_keys(sequence, alt)
        if match := _FLAGS.match(sequence):
            return [ReleasesReported(bool(int(match["flags"] or 0) & REPORT_RELEASES))]
        if (match := _KEY.match(sequence)) is None or (":" not in sequence and sequence[-1] != "u"):
            return self._make_keys(sequence, alt)
        plain, kind = _split_kind(match["codes"])
        if kind == _UNKNOWN:
            # As a press it would hold the knob down, and no release need follow.
            return [events.Key(Keys.Ignore.value, sequence)]
        keys = self._make_keys(f"\x1b[{plain}{match['end']}", alt)
        if kind == _RELEASE:
            return [KeyUp(key.key) for key in keys]
        if kind == _REPEAT:
            for key in keys:
                key.is_repeat = True
        return keys

    def parse_mouse_code(self, code: str) -> Message | None:
        """Read a report of the mouse, whose pixels mean nothing before the terminal has reported its size in pixels."""
        pixels = self.terminal_pixel_size
        if not is_possible(self.terminal_size) or pixels is None or min(*pixels) <= 0:
            self.terminal_pixel_size = None
        return super().parse_mouse_code(code)

    def _make_keys(self, sequence: str, alt: bool) -> list[Any]:
        try:
            return list(super()._sequence_to_key_events(sequence, alt))
        except (ValueError, OverflowError):
            # A number that is not a character is not a key, and not a reason to stop.
            return [events.Key(Keys.Ignore.value, sequence)]


def _split_kind(codes: str) -> tuple[str, int]:
    """Split the event type off a report's numbers, and drop the alternates of its key.

    Returns:
        The numbers without it, and the event type; `_UNKNOWN` for a type that the protocol does not define.
    """
    code, _, rest = codes.partition(";")
    modifiers, _, text = rest.partition(";")
    modifiers, _, kind = modifiers.partition(":")
    code = code.partition(":")[0]
    parts = [code, modifiers or "1", text] if text else [code, modifiers] if modifiers else [code]
    return ";".join(parts), _KINDS.get(kind, _UNKNOWN)
