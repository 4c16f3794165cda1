"""Files in the user's state folder that keep what a person made until it is saved elsewhere.

The folder is `knobmenu` in `$XDG_STATE_HOME`, by default in `~/.local/state` (XDG Base Directory Specification 0.8),
and its counterpart on other systems. What is kept for the same files has the same start of its name.
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
"""How many files are kept for the same design or chain; the oldest go."""


def state_folder(kind: str) -> Path:
    """Return the folder for files of a kind, which need not exist."""
    # Late: it is needed only once there is something to keep.
    from platformdirs import user_state_path

    return user_state_path("knobmenu", appauthor=False) / kind


def full_name(path: Path | None) -> str:
    """Return the full name by which what is kept for a file is found; empty for what is built in."""
    return "" if path is None else os.path.realpath(path)


def new_path(kind: str, files: Sequence[str], ending: str) -> Path:
    """Return the path of a new file, in a folder that exists.

    Args:
        kind: The folder's name, such as ``sessions``.
        files: What it is kept for: the files that were opened, in full; an empty name for a built-in one.
        ending: How its name ends, such as ``.jsonl``.

    Raises:
        OSError: The folder cannot be made.
    """
    # Late, as in `state_folder`.
    import secrets

    folder = state_folder(kind)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    moment = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    return folder / f"{_start_of_name(files)}{moment}-{secrets.token_hex(3)}{ending}"


def list_kept(kind: str, files: Sequence[str] | None = None) -> list[Path]:
    """Return what is kept, the last changed first.

    Args:
        kind: The folder's name.
        files: What it is kept for; None: anything.
    """
    start = "" if files is None else _start_of_name(files)
    found: list[tuple[int, str]] = []
    with contextlib.suppress(OSError), os.scandir(state_folder(kind)) as entries:
        for entry in entries:
            with contextlib.suppress(OSError):
                if entry.name.startswith(start) and not entry.name.startswith(".") and entry.is_file():
                    found.append((entry.stat().st_mtime_ns, entry.path))
    return [Path(path) for _, path in sorted(found, reverse=True)]


def drop_oldest(kind: str, files: Sequence[str]) -> None:
    """Delete the oldest files beyond `LIMIT`; none that a process is writing."""
    for path in list_kept(kind, files)[LIMIT:]:
        if not is_locked(path):
            with contextlib.suppress(OSError):
                path.unlink()


def _start_of_name(files: Sequence[str]) -> str:
    """Return how the names begin of all that is kept for these files: readable, then distinct."""
    # Late, as in `state_folder`.
    import hashlib

    readable = "-".join(Path(file).stem or "built-in" for file in files)
    digest = hashlib.sha256("\0".join(files).encode("utf-8", "surrogateescape")).hexdigest()
    return f"{re.sub('[^A-Za-z0-9_-]', '_', readable)[:40]}-{digest[:12]}-"


def format_moment(moment: datetime, now: datetime | None = None) -> str:
    """Write a moment in local time, with its date where that is not today.

    Args:
        moment: The moment, with its time zone.
        now: The local time now; None: the clock's.
    """
    now = now or datetime.now().astimezone()
    local = moment.astimezone(now.tzinfo)
    return local.strftime("%H:%M" if local.date() == now.date() else "%Y-%m-%d %H:%M")


class KeptText:
    """A text that a person changes, kept in a locked file while it is another one than was opened or saved."""

    def __init__(self, kind: str, files: Sequence[str], ending: str, saved: str) -> None:
        """Prepare to keep it; the first change creates the file.

        Args:
            kind: The folder's name.
            files: What it is kept for.
            ending: How the file's name ends.
            saved: The text as it was opened.
        """
        self.files = tuple(files)
        self._kind = kind
        self._ending = ending
        self._saved = saved
        self._path: Path | None = None
        self._stream: IO[str] | None = None

    def take(self, text: str) -> str:
        """Keep the text as it is now, in place of the one before, whole or not at all.

        Returns:
            Why it could not be kept, and the one before stays; empty where it was.
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
        """Take note that the text was saved elsewhere."""
        self._saved = text
        self._delete()

    def find_earlier(self) -> Earlier | None:
        """Find the last text that was neither saved nor is being changed now."""
        for path in list_kept(self._kind, self.files):
            if not is_locked(path):
                with contextlib.suppress(OSError):
                    return Earlier(path, datetime.fromtimestamp(path.stat().st_mtime, UTC))
        return None

    def close(self) -> None:
        """Keep it as it is, free for another process."""
        if self._stream is not None:
            self._stream.close()
            self._stream = None

    def _write(self, text: str) -> None:
        path = self._path or new_path(self._kind, self.files, self._ending)
        beside = path.with_name(f".{path.name}")
        # Not closed: the lock lasts as long as the file is open.
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
    """A text that was kept and not saved."""

    path: Path
    changed: datetime

    @property
    def moment(self) -> str:
        """When it was changed last."""
        return format_moment(self.changed)

    def delete(self) -> None:
        """Delete it, once it is kept as another one."""
        self.path.unlink(missing_ok=True)
