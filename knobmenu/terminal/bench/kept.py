"""The chain on the bench, kept as it changes until it is saved, and the one of before that was not."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.chain_file import load, toml_text
from knobmenu.files.kept import KeptText, format_moment, list_kept
from knobmenu.files.locks import is_locked

KIND = "chains"
"""The name of their folder."""


class KeptChain:
    """Keeps a chain in the user's state folder while it is another one than was opened or saved."""

    def __init__(self, chain: Chain, files: Sequence[str]) -> None:
        """Prepare to keep a chain; the first change creates the file.

        Args:
            chain: As it was opened.
            files: What it is kept for: its own file or the design's, in full; empty for what is built in.
        """
        self._saved = chain
        self._text = KeptText(KIND, files, ".toml")

    def take(self, chain: Chain) -> str:
        """Keep the chain as it is now.

        Returns:
            Why it could not be kept; empty where it was.
        """
        if chain == self._saved:
            self._text.delete()
            return ""
        try:
            self._text.write(toml_text(chain))
        except OSError as error:
            return error.strerror or str(error)
        return ""

    def save(self, chain: Chain) -> None:
        """Take note that the chain was saved elsewhere."""
        self._saved = chain
        self._text.delete()

    def find_earlier(self) -> Earlier | None:
        """Find the last chain that was neither saved nor is on another bench now."""
        for path in list_kept(KIND, self._text.files):
            if not is_locked(path):
                with contextlib.suppress(OSError):
                    return Earlier(path, datetime.fromtimestamp(path.stat().st_mtime, UTC))
        return None

    def close(self) -> None:
        """Release what is kept, so that it can be offered."""
        self._text.close()


@attrs.frozen
class Earlier:
    """A chain that was not saved."""

    path: Path
    changed: datetime

    @property
    def moment(self) -> str:
        """When it was changed last."""
        return format_moment(self.changed)

    def read(self) -> Chain:
        """Read it.

        Raises:
            BenchError: It cannot be read any more.
        """
        return load(self.path)

    def delete(self) -> None:
        """Delete it, once it is kept as another one."""
        self.path.unlink(missing_ok=True)
