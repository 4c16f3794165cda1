"""Files in the user's state folder that keep unsaved work.

The folder is `knobmenu` in `$XDG_STATE_HOME`, by default in `~/.local/state` (XDG Base Directory Specification 0.8),
and its counterpart on other systems. Files that are kept for the same inputs have names with the same prefix.
"""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, NamedTuple

from knobmenu.files.locks import is_locked, lock

LIMIT = 20
"""How many files are kept for the same inputs; older ones are deleted."""


def get_state_folder(kind: str) -> Path:
    """Return the folder for files of a kind, which may not exist yet."""
    # Late: it is needed only when there is something to keep.
    from platformdirs import user_state_path

    return user_state_path("knobmenu", appauthor=False) / kind


def resolve_name(path: Path | None) -> str:
    """Return the absolute name by which files that are kept for an input are found; empty for a built-in input."""
    return "" if path is None else os.path.realpath(path)


def make_path(kind: str, files: Sequence[str], ending: str) -> Path:
    """Make the path of a new file, and its folder.

    Args:
        kind: The folder's name, such as ``sessions``.
        files: The inputs that it is kept for: absolute names of the opened files; empty for a built-in one.
        ending: The extension of its name, such as ``.jsonl``.

    Raises:
        OSError: The folder cannot be made.
    """
    # Late, as in `get_state_folder`.
    import secrets

    folder = get_state_folder(kind)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    return folder / f"{_format_prefix(files)}{moment}-{secrets.token_hex(3)}{ending}"


def list_kept(kind: str, files: Sequence[str] | None = None) -> list[Path]:
    """List the kept files, the last changed first.

    Args:
        kind: The folder's name.
        files: The inputs that they are kept for; None: any.
    """
    start = "" if files is None else _format_prefix(files)
    found: list[tuple[int, str]] = []
    with contextlib.suppress(OSError), os.scandir(get_state_folder(kind)) as entries:
        for entry in entries:
            with contextlib.suppress(OSError):
                if entry.name.startswith(start) and not entry.name.startswith(".") and entry.is_file():
                    found.append((entry.stat().st_mtime_ns, entry.path))
    return [Path(path) for _, path in sorted(found, reverse=True)]


def drop_oldest(kind: str, files: Sequence[str]) -> None:
    """Delete the oldest files beyond `LIMIT`, except those that a process is writing."""
    for path in list_kept(kind, files)[LIMIT:]:
        if not is_locked(path):
            with contextlib.suppress(OSError):
                path.unlink()


def _format_prefix(files: Sequence[str]) -> str:
    """Format the prefix of the names of all files that are kept for these inputs: readable, then unique."""
    # Late, as in `get_state_folder`.
    import hashlib

    readable = "-".join(Path(file).stem or "built-in" for file in files)
    digest = hashlib.sha256("\0".join(files).encode("utf-8", "surrogateescape")).hexdigest()
    return f"{re.sub('[^A-Za-z0-9_-]', '_', readable)[:40]}-{digest[:12]}-"


def format_moment(moment: datetime, now: datetime | None = None) -> str:
    """Format a moment in local time, with its date unless that is today.

    Args:
        moment: The moment, with its time zone.
        now: The local time now; None: the time of the clock.
    """
    now = now or datetime.now().astimezone()
    local = moment.astimezone(now.tzinfo)
    return local.strftime("%H:%M" if local.date() == now.date() else "%Y-%m-%d %H:%M")


class KeptText:
    """A text that the user changes, kept in a locked file while it differs from the opened or saved one."""

    def __init__(self, kind: str, files: Sequence[str], ending: str, saved: str) -> None:
        """Prepare to keep the text; the first change creates the file.

        Args:
            kind: The folder's name.
            files: The inputs that it is kept for.
            ending: The extension of the file's name.
            saved: The opened text.
        """
        self.files = tuple(files)
        self._kind = kind
        self._ending = ending
        self._saved = saved
        self._path: Path | None = None
        self._stream: IO[str] | None = None

    def take(self, text: str) -> str:
        """Keep the present text in place of the previous one, atomically.

        Returns:
            Why it could not be kept, in which case the previous text stays; empty on success.
        """
        if text == self._saved:
            self._delete()
            return ""
        try:
            self._write(text)
        except OSError as error:
            return error.strerror or str(error)
        return ""

    def save(self, text: str) -> None:
        """Mark the text as saved elsewhere."""
        self._saved = text
        self._delete()

    def find_earlier(self) -> Earlier | None:
        """Find the latest kept text that was not saved and that no process is changing."""
        for path in list_kept(self._kind, self.files):
            if not is_locked(path):
                with contextlib.suppress(OSError):
                    return Earlier(path, datetime.fromtimestamp(path.stat().st_mtime, UTC))
        return None

    def close(self) -> None:
        """Keep the file, and release it for other processes."""
        if self._stream is not None:
            self._stream.close()
            self._stream = None

    def _write(self, text: str) -> None:
        path = self._path or make_path(self._kind, self.files, self._ending)
        beside = path.with_name(f".{path.name}")
        # The file stays open, since closing it releases the lock.
        stream = beside.open("w", encoding="utf-8", newline="\n")
        try:
            lock(stream.fileno())
            stream.write(text)
            stream.flush()
            os.replace(beside, path)
        except BaseException:
            with contextlib.suppress(OSError):
                beside.unlink()
            with contextlib.suppress(OSError):
                stream.close()
            raise
        self.close()
        self._path, self._stream = path, stream
        drop_oldest(self._kind, self.files)

    def _delete(self) -> None:
        self.close()
        if self._path is not None:
            with contextlib.suppress(OSError):
                self._path.unlink()
            self._path = None


class Earlier(NamedTuple):
    """A kept text that was not saved."""

    path: Path
    changed: datetime

    @property
    def moment(self) -> str:
        """The time of its last change, as text."""
        return format_moment(self.changed)

    def delete(self) -> None:
        """Delete it, once another file keeps the text."""
        self.path.unlink(missing_ok=True)
