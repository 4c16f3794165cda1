"""Keys with their releases, in terminals that report them.

Terminals that follow the kitty keyboard protocol (https://sw.kovidgoyal.net/kitty/keyboard-protocol/, "Report event
types") tell on request when a key repeats and when it is let go. Textual does not ask for that, and its parser stops
at such reports; so this driver asks, and this parser understands them, including ones that are wrong. In all other
terminals both behave as Textual's own.

Two private names of Textual are used, `XTermParser` as its Linux driver sees it and `_sequence_to_key_events`; the
major version is pinned, and where a name is missing the stock driver is taken (`driver_for_platform`).
"""

from __future__ import annotations

import codecs
import os
import re
import sys
from collections.abc import Callable
from functools import partial
from typing import Any

from textual import events
from textual._xterm_parser import XTermParser
from textual.driver import Driver
from textual.keys import Keys

REPORT_RELEASES = 2
"""The protocol's flag for event types."""

_KEY = re.compile(r"\x1b\[(?P<codes>[\d:]*(?:;[\d:]*){0,2})(?P<end>[u~ABCDEFHPQRS])\Z")
_FLAGS = re.compile(r"\x1b\[\?(?P<flags>\d*)u\Z")
_UNKNOWN, _PRESS, _REPEAT, _RELEASE = range(4)
_KINDS = {"": _PRESS, "1": _PRESS, "2": _REPEAT, "3": _RELEASE}
"""The protocol's event types; a press where none is told."""


class KeyUp(events.Event, bubble=False):
    """A key was let go."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__()


class ReleasesReported(events.Event, bubble=False):
    """The terminal said whether it reports releases."""

    def __init__(self, reported: bool) -> None:
        self.key = ""
        self.reported = reported
        super().__init__()


def is_repeat(event: events.Key) -> bool:
    """Tell whether the terminal said that a key is a repeat of one that is held."""
    return bool(getattr(event, "is_repeat", False))


class HoldParser(XTermParser):
    """Textual's parser, and the reports of key releases."""

    def _sequence_to_key_events(self, sequence: str, alt: bool = False) -> list[Any]:
        if len(sequence) < 3:
            return self._keys(sequence, alt)
        if match := _FLAGS.match(sequence):
            return [ReleasesReported(bool(int(match["flags"] or 0) & REPORT_RELEASES))]
        if (match := _KEY.match(sequence)) is None or (":" not in sequence and sequence[-1] != "u"):
            return self._keys(sequence, alt)
        plain, kind = _without_kind(match["codes"])
        if kind == _UNKNOWN:
            # Taken for a press it would hold the knob down: no release is sure to follow what is no press.
            return [events.Key(Keys.Ignore.value, sequence)]
        keys = self._keys(f"\x1b[{plain}{match['end']}", alt)
        if kind == _RELEASE:
            return [KeyUp(key.key) for key in keys]
        if kind == _REPEAT:
            for key in keys:
                key.is_repeat = True
        return keys

    def _keys(self, sequence: str, alt: bool) -> list[Any]:
        try:
            return list(super()._sequence_to_key_events(sequence, alt))
        except (ValueError, OverflowError):
            # A number that is no character is no key, and no reason to stop.
            return [events.Key(Keys.Ignore.value, sequence)]


def _without_kind(codes: str) -> tuple[str, int]:
    """Take the event type out of a report's numbers, and the alternates of its key that nobody asked for.

    Returns:
        The numbers without it, and the event type; `_UNKNOWN` for one that the protocol does not know.
    """
    code, _, rest = codes.partition(";")
    modifiers, _, text = rest.partition(";")
    modifiers, _, kind = modifiers.partition(":")
    code = code.partition(":")[0]
    parts = [code, modifiers or "1", text] if text else [code, modifiers] if modifiers else [code]
    return ";".join(parts), _KINDS.get(kind, _UNKNOWN)


def _forgiving_decoder(encoding: str) -> Callable[[], codecs.IncrementalDecoder]:
    return partial(codecs.getincrementaldecoder(encoding), errors="replace")


def driver_for_platform(stock: type[Driver]) -> type[Driver]:
    """Return the driver that asks for releases where that can be, else the stock one."""
    if sys.platform == "win32":
        return stock
    from textual.drivers import linux_driver

    if stock is not linux_driver.LinuxDriver or not hasattr(linux_driver, "XTermParser"):
        return stock
    if not hasattr(XTermParser, "_sequence_to_key_events") or os.environ.get("TEXTUAL_DISABLE_KITTY_KEY"):
        return stock

    class HoldDriver(linux_driver.LinuxDriver):
        """Textual's driver, asking for releases."""

        def start_application_mode(self) -> None:
            linux_driver.XTermParser = HoldParser  # type: ignore[attr-defined]
            if hasattr(linux_driver, "getincrementaldecoder"):
                # Bytes that are no UTF-8 would end the thread that reads the keys.
                linux_driver.getincrementaldecoder = _forgiving_decoder
            super().start_application_mode()  # type: ignore[no-untyped-call]
            # Added to what Textual has pushed; its pop at the end takes this back too.
            self.write(f"\x1b[={REPORT_RELEASES};2u\x1b[?u")
            self.flush()

    return HoldDriver
