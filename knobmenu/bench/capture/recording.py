"""A recording of digital pins: names, and for each a level over time; whole, or piece by piece.

A capture may be longer than memory, so whatever works on one takes it in pieces: recordings that follow each other, of
the same pins, each of at most about `MOST_CHANGES` changes. A recording in memory is one piece.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Protocol

import attrs
import numpy as np

from knobmenu.bench.errors import BenchError
from knobmenu.bench.signal import Signal
from knobmenu.errors import Problem, nearest, one_of

MOST_CHANGES = 65_536
"""A piece ends at the first moment after so many changes of all its pins. [changes]"""

BLOCK = 65_536
"""A file is read by so much at a time. [bytes]"""

LONGEST_LINE = 1_000_000
"""A longer line is refused. [bytes]"""

ADVICE = "this looks like a binary file; export VCD or CSV"


Progress = Callable[[float], None]
"""Called with the part of a file that has been read, 0 to 1."""


class Capture(Protocol):
    """Pins over time, which can be read any number of times."""

    def walk_pieces(self) -> Iterator[Recording]:
        """Yield the capture's pieces from its beginning; there is at least one."""


@attrs.frozen(eq=False)
class Recording:
    """Pins over time; a level of 1 is high."""

    pins: dict[str, Signal]
    """By name; each changes only where its level does."""
    end_s: float
    """When the recording ends; it begins at 0, a later piece where the one before ended. [s]"""

    def get_pin(self, name: str) -> Signal:
        """Return the pin of this name.

        Raises:
            BenchError: there is none of that name.
        """
        if name not in self.pins:
            raise BenchError([Problem("pin", f'"{name}"', one_of(self.pins), nearest(name, self.pins))])
        return self.pins[name]

    def walk_pieces(self) -> Iterator[Recording]:
        """Yield itself as the only piece."""
        yield self


def join(pieces: Iterable[Recording]) -> Recording:
    """Join pieces into one recording; each change takes 8 bytes of memory."""
    every = list(pieces)
    pins = {
        name: Signal(pin.first, np.concatenate([piece.pins[name].changes_s for piece in every]))
        for name, pin in every[0].pins.items()
    }
    return Recording(pins, every[-1].end_s)


def make_error(file: str, line: int, found: str, expected: str, advice: str = "") -> BenchError:
    """Make the error for a place in a capture."""
    return BenchError([Problem("", found, expected, advice, file, line)])


def read_lines(path: Path, progress: Progress | None = None) -> Iterator[tuple[int, str]]:
    """Read a capture line by line, numbered from 1, without loading it whole.

    Args:
        path: the file.
        progress: called after each block with the part that has been read.

    Raises:
        BenchError: the file cannot be read, is empty, is not text, or has a line of more than `LONGEST_LINE` bytes.
    """
    number = 0
    try:
        with path.open("rb") as file:
            size = max(os.fstat(file.fileno()).st_size, 1)
            rest, done = b"", 0
            while block := file.read(BLOCK):
                done += len(block)
                if progress is not None:
                    progress(min(done / size, 1.0))
                whole, ends, rest = (rest + block).rpartition(b"\n")
                if ends:
                    for line in _decode(str(path), number, whole).split("\n"):
                        number += 1
                        yield number, line
                if len(rest) > LONGEST_LINE:
                    found = f"a line of more than {LONGEST_LINE} bytes"
                    raise make_error(str(path), number + 1, found, "shorter lines", ADVICE)
            if rest:
                number += 1
                yield number, _decode(str(path), number - 1, rest)
    except OSError as error:
        raise make_error(str(path), 0, (error.strerror or "no file").lower(), "a capture that can be read") from None
    if not number:
        raise make_error(str(path), 0, "an empty file", "a capture with at least one pin")


def _decode(name: str, before: int, content: bytes) -> str:
    """Decode lines that follow this many others."""
    wrong = content.find(b"\0")
    try:
        if wrong < 0:
            text = content.decode("utf-8")
            return text.removeprefix("\ufeff") if before == 0 else text
    except UnicodeDecodeError as error:
        wrong = error.start
    line = before + 1 + content.count(b"\n", 0, wrong)
    raise make_error(name, line, f"a byte 0x{content[wrong]:02x}", "text in UTF-8", ADVICE)
