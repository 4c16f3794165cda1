"""The positions of all parts of a TOML text: for each path, the line and the span of its value.

The text must have passed a real parser, so this one does not check anything. It provides the lines of problems, and
positions for editing a text without changing the rest of it.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from typing import NamedTuple

from knobmenu.codec.forms import join_key


class Span(NamedTuple):
    """The position of one key or item."""

    start: int
    """Start of the key, the header, or the item of a list. [characters from the start of the text]"""
    value: int
    """Start of the value; for a table with a header, the end of the header. [characters from the start of the text]"""
    end: int
    """End of the value; for a table with a header, the end of the header. [characters from the start of the text]"""
    header: bool = False
    """Whether it is a table with a header of its own."""


_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_KEY = re.compile(r"[A-Za-z0-9_-]+|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'")
_STRING = re.compile(
    r'"""(?:[^\\]|\\[\s\S])*?"""(?:""|")?'
    r"|'''[\s\S]*?'''(?:''|')?"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'"
)
_SCALAR = re.compile(r"[^,\]}#\r\n]+")


def find_spans(text: str) -> dict[str, Span]:
    """Map every path of a valid TOML text to its span, including parents that result from a dotted key."""
    return _Walk(text).spans


def find_comments(text: str) -> list[tuple[int, int]]:
    """List the start and the end of each comment in a valid TOML text. [characters from the start of the text]"""
    return _Walk(text).comments


def find_lines(text: str) -> dict[str, int]:
    """Map every path of a valid TOML text to its line, from 1."""
    starts = [0, *(match.end() for match in re.finditer("\n", text))]
    return {path: bisect_right(starts, span.start) for path, span in find_spans(text).items()}


class _Walk:
    """One walk over a text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.spans: dict[str, Span] = {}
        self.comments: list[tuple[int, int]] = []
        self.counts: dict[str, int] = {}
        """The number of tables so far in each list of tables."""
        self._read_document()

    def _skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        assert match is not None, f"no TOML at {self.at}"
        start, self.at = self.at, match.end()
        if pattern is _BLANK and "#" in match.group():
            places = re.finditer(r"#[^\n]*", match.group())
            self.comments += [(start + place.start(), start + place.end()) for place in places]
        return match.group()

    def _read_document(self) -> None:
        table = ""
        while self._skip(_BLANK) is not None and self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._read_header()
            else:
                self._read_pair(table)

    def _read_keys(self) -> list[str]:
        keys = []
        while True:
            self._skip(_SPACE)
            raw = self._skip(_KEY)
            keys.append(raw if raw[0] not in "\"'" else tomllib.loads(f"key = {raw}")["key"])
            self._skip(_SPACE)
            if self.text[self.at] != ".":
                return keys
            self.at += 1

    def _read_header(self) -> str:
        start, listed = self.at, self.text.startswith("[[", self.at)
        self.at += 2 if listed else 1
        keys = self._read_keys()
        self.at += 2 if listed else 1
        path = ""
        for key in keys[:-1]:
            path = self._find_last(join_key(path, key))
            self.spans.setdefault(path, Span(start, self.at, self.at))
        path = join_key(path, keys[-1])
        if listed:
            self.spans.setdefault(path, Span(start, self.at, self.at))
            self.counts[path] = self.counts.get(path, 0) + 1
            path = self._find_last(path)
        self.spans[path] = Span(start, self.at, self.at, header=True)
        return path

    def _find_last(self, path: str) -> str:
        return f"{path}[{self.counts[path] - 1}]" if path in self.counts else path

    def _read_pair(self, table: str) -> None:
        start = self.at
        keys = self._read_keys()
        self.at += 1  # the equals sign
        self._skip(_SPACE)
        path, parents = table, []
        for key in keys:
            path = join_key(path, key)
            parents.append(path)
        value = self.at
        self._read_value(path)
        for parent in parents[:-1]:
            self.spans.setdefault(parent, Span(start, value, self.at))
        self.spans[path] = Span(start, value, self.at)

    def _read_value(self, path: str) -> None:
        first = self.text[self.at]
        if first in "\"'":
            self._skip(_STRING)
        elif first == "[":
            self._read_items(path)
        elif first == "{":
            self._read_members(path)
        else:
            self.at += len(self._read_scalar())

    def _read_scalar(self) -> str:
        match = _SCALAR.match(self.text, self.at)
        assert match is not None, f"no TOML value at {self.at}"
        return match.group().rstrip()

    def _read_items(self, path: str) -> None:
        self.at += 1
        index = 0
        while self._skip(_BLANK) is not None and self.text[self.at] != "]":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            start, place = self.at, f"{path}[{index}]"
            self._read_value(place)
            self.spans[place] = Span(start, start, self.at)
            index += 1
        self.at += 1

    def _read_members(self, path: str) -> None:
        self.at += 1
        while self._skip(_BLANK) is not None and self.text[self.at] != "}":
            if self.text[self.at] == ",":
                self.at += 1
            else:
                self._read_pair(path)
        self.at += 1
