"""A recording of digital pins: names, and for each a level over time; whole, or piece by piece.

A capture may be longer than memory, so whatever works on one takes it in pieces: recordings that follow each other, of
the same pins, each of at most about `MOST_CHANGES` changes. A recording in memory is one piece.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Protocol

import attrs
import numpy as np

from knobmenu.bench.errors import BenchError
from knobmenu.bench.signal import Signal
from knobmenu.errors import Problem, nearest, one_of

MOST_CHANGES = 65_536
"""A piece ends at the first moment after so many changes of all its pins. [changes]"""


class Capture(Protocol):
    """Pins over time, as often as they are asked for."""

    def pieces(self) -> Iterator[Recording]:
        """Walk the capture from its beginning; there is at least one piece."""


@attrs.frozen(eq=False)
class Recording:
    """Pins over time; levels are those of the pins, 1 is high."""

    pins: dict[str, Signal]
    """By name; each changes only where its level does."""
    end_s: float
    """When the recording ends; it begins at 0, a later piece where the one before ended. [s]"""

    def pin(self, name: str) -> Signal:
        """Give a pin by its name.

        Raises:
            BenchError: there is none of that name.
        """
        if name not in self.pins:
            raise BenchError([Problem("pin", f'"{name}"', one_of(self.pins), nearest(name, self.pins))])
        return self.pins[name]

    def pieces(self) -> Iterator[Recording]:
        """Give itself as the only piece."""
        yield self


def joined(pieces: Iterable[Recording]) -> Recording:
    """Join pieces to one recording; memory grows with the changes, 8 bytes each."""
    every = list(pieces)
    pins = {
        name: Signal(pin.first, np.concatenate([piece.pins[name].changes_s for piece in every]))
        for name, pin in every[0].pins.items()
    }
    return Recording(pins, every[-1].end_s)


def trouble(file: str, line: int, found: str, allowed: str, advice: str = "") -> BenchError:
    """Make the error for a place in a capture."""
    return BenchError([Problem("", found, allowed, advice, file, line)])


def lines(path: Path) -> Iterator[tuple[int, str]]:
    """Read a capture line by line, numbered from 1, without ever holding it whole.

    Raises:
        BenchError: the file cannot be read, is empty or is no text.
    """
    number = 0
    try:
        with path.open("rb") as file:
            # A binary file may have no line end for gigabytes.
            while content := file.readline(65_536):
                number += 1
                if b"\0" in content:
                    raise trouble(
                        path.name, number, "a byte 0x00", "text", "this looks like a binary file; export VCD or CSV"
                    )
                try:
                    text = content.decode("utf-8-sig" if number == 1 else "utf-8")
                except UnicodeDecodeError as error:
                    found = f"byte 0x{content[error.start]:02x}"
                    raise trouble(
                        path.name, number, found, "text in UTF-8", "this looks like a binary file; export VCD or CSV"
                    ) from None
                yield number, text
    except OSError as error:
        raise trouble(path.name, 0, error.strerror or "no file", "a capture that can be read") from None
    if not number:
        raise trouble(path.name, 0, "an empty file", "a capture with at least one pin")
