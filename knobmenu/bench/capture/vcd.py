"""Value change dumps, read and written.

The format is that of IEEE 1364 (clause *Value change dump (VCD) files*; written from memory of the four-state form,
and checked against a simulator that reads it). It reads variables one bit wide, whether their levels are written as
scalars (``1!``) or as vectors (``b1 !``), and skips wider vectors, reals and strings. An unknown or floating level
(x, z) keeps the level before it, and is high before any; so is a pin that the dump does not name at its first moment.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from knobmenu.bench.capture.recording import MOST_CHANGES, Progress, Recording, join, make_error, read_lines
from knobmenu.bench.signal import Signal
from knobmenu.errors import quote_value

UNITS = {"s": 0, "ms": -3, "us": -6, "ns": -9, "ps": -12, "fs": -15}
"""Powers of ten of a timescale's unit."""

MOST_DIGITS = 18
"""Most digits of a time, so that it fits 64 bits."""


def _walk_words(path: Path, progress: Progress | None) -> Iterator[tuple[int, str]]:
    for number, line in read_lines(path, progress):
        for word in line.split():
            yield number, word


def read(path: Path) -> Recording:
    """Read a dump whole.

    Memory grows with the changes of scalar variables, 8 bytes each.

    Raises:
        BenchError: see `pieces`.
    """
    return join(read_pieces(path))


def read_pieces(path: Path, progress: Progress | None = None) -> Iterator[Recording]:
    """Read a dump piece by piece, in bounded memory.

    Raises:
        BenchError: it is not a dump, is cut off, or its time goes back; says the line.
    """
    name = str(path)
    words = _walk_words(path, progress)
    names: dict[str, list[str]] = {}
    tick_s = 0.0
    number, word = 0, ""
    for number, word in words:
        if not word.startswith("$"):
            raise make_error(name, number, f'"{word[:40]}"', "a declaration such as $timescale, in a value change dump")
        begun = number
        content = []
        for number, part in words:  # noqa: B007 - the line is reported if the file ends
            if part == "$end":
                break
            content.append(part)
        else:
            raise make_error(name, number, f"the end of the file within {word}", "$end", "the capture is truncated")
        if word == "$enddefinitions":
            break
        if word == "$timescale":
            tick_s = _read_timescale(name, begun, "".join(content))
        elif word == "$var":
            if len(content) < 4 or not (content[1].isascii() and content[1].isdigit()):
                raise make_error(name, begun, f"$var {' '.join(content)}"[:60], "$var type width code name $end")
            if content[1] == "1" and content[0] not in ("real", "string", "event"):
                labels = names.setdefault(content[2], [])
                # The same wire is often declared again in an inner scope.
                if content[3] not in labels:
                    labels.append(content[3])
    else:
        raise make_error(name, number, "the end of the file", "$enddefinitions $end", "the capture is truncated")
    if not tick_s:
        raise make_error(name, number, "no $timescale", "$timescale 1 us $end, or another one")
    if not names:
        raise make_error(name, number, "no variable of one bit", "at least one pin of one bit")
    yield from _read_changes(name, words, names, tick_s)


def _read_timescale(name: str, line: int, text: str) -> float:
    digits = text.rstrip("smunpf")
    unit = text[len(digits) :]
    if digits not in ("1", "10", "100") or unit not in UNITS:
        raise make_error(name, line, f'"{text[:40]}"', "1, 10 or 100 of s, ms, us, ns, ps or fs")
    return float(f"{digits}e{UNITS[unit]}")


def _read_changes(
    name: str, words: Iterator[tuple[int, str]], names: dict[str, list[str]], tick_s: float
) -> Iterator[Recording]:
    piece = _Piece(names, tick_s)
    began, now, has_level, number = -1, 0, False, 0
    for number, word in words:
        head = word[0]
        if head == "#":
            at = _read_time(name, number, word, now)
            if began < 0:
                began = at
            elif at > now and piece.changes >= MOST_CHANGES:
                yield piece.cut(began, now)
            now = at
        elif head in "01xXzZbBrRsS":
            level, code = head, word[1:]
            if head in "bBrRsS":
                # A vector of one bit may be written with more digits than it has: the last one is the bit.
                level = word[-1] if head in "bB" else ""
                number, code = next(words, (number, ""))
            if not code:
                found = f"{quote_value(word, 40)} without a code"
                raise make_error(
                    name, number, found, "a level and the code of a variable", "the capture may be cut off"
                )
            if code in names:
                has_level = True
                if level in ("0", "1"):
                    piece.set(code, int(level), now, at_first=now <= began or began < 0)
        elif word == "$comment":
            while (one := next(words, None)) is not None and one[1] != "$end":
                pass
        elif head != "$":
            raise make_error(name, number, f'"{word[:40]}"', "a time (#1000) or a level and a code (1!)")
    if not has_level:
        raise make_error(
            name, number, "no level of any pin", "at least one change", "the capture is empty or was cut off"
        )
    yield piece.cut(max(began, 0), now)


def _read_time(name: str, line: int, word: str, now: int) -> int:
    digits = word[1:]
    if not (digits.isascii() and digits.isdigit() and len(digits) <= MOST_DIGITS):
        raise make_error(name, line, f'"{word[:40]}"', f"# and a whole number of at most {MOST_DIGITS} digits")
    if int(digits) < now:
        raise make_error(name, line, f"time {digits} after {now}", "a time that goes forward")
    return int(digits)


class _Piece:
    """The changes collected for the next piece, per variable, by its code."""

    def __init__(self, names: dict[str, list[str]], tick_s: float) -> None:
        self._names = names
        self._tick_s = tick_s
        self._first = dict.fromkeys(names, 1)
        self._level = dict(self._first)
        self._ticks: dict[str, array[int]] = {code: array("q") for code in names}
        self.changes = 0

    def set(self, code: str, level: int, now: int, *, at_first: bool) -> None:
        """Add a level; the first one is not a change."""
        if at_first:
            self._first[code] = self._level[code] = level
        elif level != self._level[code]:
            self._level[code] = level
            ticks = self._ticks[code]
            if ticks and ticks[-1] == now:
                ticks.pop()  # there and back within one tick is not a change
                self.changes -= 1
            else:
                ticks.append(now)
                self.changes += 1

    def cut(self, began: int, now: int) -> Recording:
        """Return what was collected so far, and start again."""
        pins: dict[str, Signal] = {}
        for code, labels in self._names.items():
            moments_s = (np.array(self._ticks[code], dtype=np.float64) - began) * self._tick_s
            for label in labels:
                unique = label if label not in pins else f"{label}#{code}"
                pins[unique] = Signal(self._first[code], moments_s)
            self._ticks[code] = array("q")
        self._first = dict(self._level)
        self.changes = 0
        return Recording(pins, (now - began) * self._tick_s)


def write_vcd(recording: Recording, tick_ns: int = 1000) -> str:
    """Write a recording as a dump.

    Args:
        recording: pins whose names have no spaces.
        tick_ns: the resolution to which times are rounded; 1, 10, 100 and so on to 100 ms. [ns]

    Returns:
        The whole file. The same recording gives the same bytes.
    """
    power = round(math.log10(tick_ns))
    unit = ("ns", "us", "ms")[power // 3]
    codes = {name: _make_code(index) for index, name in enumerate(recording.pins)}
    lines = [f"$timescale {10 ** (power % 3)} {unit} $end", "$scope module knob $end"]
    lines += [f"$var wire 1 {code} {name} $end" for name, code in codes.items()]
    lines += ["$upscope $end", "$enddefinitions $end", "#0", "$dumpvars"]
    lines += [f"{signal.first}{codes[name]}" for name, signal in recording.pins.items()]
    lines.append("$end")
    changes = []
    for name, signal in recording.pins.items():
        ticks = np.rint(signal.changes_s / (tick_ns * 1e-9)).astype(np.int64).tolist()
        changes += [(tick, index, codes[name], (signal.first + index + 1) & 1) for index, tick in enumerate(ticks)]
    changes.sort(key=lambda change: change[0])
    now = 0
    for tick, _, code, level in changes:
        if tick != now:
            lines.append(f"#{tick}")
            now = tick
        lines.append(f"{level}{code}")
    end = round(recording.end_s / (tick_ns * 1e-9))
    if end > now:
        lines.append(f"#{end}")
    return "\n".join(lines) + "\n"


def _make_code(index: int) -> str:
    """Return the short code of a variable: printable characters from ! to ~, as many as needed."""
    code = chr(33 + index % 94)
    return code if index < 94 else code + _make_code(index // 94 - 1)
