"""A capture in a file: a value change dump or a table, depending on the file's name."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import attrs

from knobmenu.bench.capture import csv, vcd
from knobmenu.bench.capture.recording import Progress, Recording, make_error


@attrs.frozen
class CaptureFile:
    """A capture that is read again for each walk, and never loaded whole."""

    path: Path
    """A file whose name ends in ``.vcd``, or else a table."""
    reading: csv.Reading = csv.PLAIN
    """What a table does not say of itself."""
    progress: Progress | None = None
    """Called with the part of the file that has been read, 0 to 1, now and then."""

    def walk_pieces(self) -> Iterator[Recording]:
        """Read the file piece by piece.

        Raises:
            BenchError: it cannot be read as what its name says; gives the line. Or it is not a file: a capture is read
                more than once.
        """
        if self.path.exists() and not self.path.is_file():
            advice = "write the capture to a file first"
            raise make_error(str(self.path), 0, "a folder, a pipe or a device", "a file, which is read twice", advice)
        if self.path.suffix.lower() != ".vcd":
            return csv.read_pieces(self.path, self.reading, self.progress)
        if self.reading != csv.PLAIN:
            advice = "leave out --rate and --threshold"
            raise make_error(str(self.path), 0, "a value change dump", "a table", advice)
        return vcd.read_pieces(self.path, self.progress)
