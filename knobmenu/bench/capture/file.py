"""A capture in a file: a value change dump or a table, by its name."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import attrs

from knobmenu.bench.capture import csv, vcd
from knobmenu.bench.capture.recording import Recording, trouble


@attrs.frozen
class CaptureFile:
    """A capture that is read anew each time, and never held whole."""

    path: Path
    """A file whose name ends in ``.vcd``, or else a table."""

    def pieces(self) -> Iterator[Recording]:
        """Read the file piece by piece.

        Raises:
            BenchError: it cannot be read as what its name says; says the line. Or it is no file: a capture is read more
                than once.
        """
        if self.path.exists() and not self.path.is_file():
            advice = "write the capture to a file first"
            raise trouble(self.path.name, 0, "a folder, a pipe or a device", "a file, which is read twice", advice)
        return vcd.pieces(self.path) if self.path.suffix.lower() == ".vcd" else csv.pieces(self.path)
