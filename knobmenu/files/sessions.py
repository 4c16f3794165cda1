"""Sessions that are kept while they run, so that none is lost however it ends, and found again."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from pathlib import Path

import attrs

from knobmenu.errors import RecordingError
from knobmenu.files import kept
from knobmenu.files.locks import is_locked
from knobmenu.files.recordings import PatientRecording, RecordingFile, RecordingFileError, read_events
from knobmenu.session.records import Header, Record
from knobmenu.session.restoring import RestoredRecording, restore
from knobmenu.session.unsaved import Unsaved, count_unsaved

KIND = "sessions"
"""The name of the folder."""

LONGEST_WAIT = 1000
"""How many records of a session without input are held back. [records]"""


class KeptSession(PatientRecording):
    """A session that is kept in the user's state folder, from the user's first input on."""

    def __init__(self, files: Sequence[str]) -> None:
        """Prepare to keep a session; the user's first input creates the file.

        Args:
            files: For each variant the absolute name of its file; empty for the built-in demo.
        """
        super().__init__(None)
        self.files = tuple(files)
        self._touched = False
        """Whether there was any input."""

    @classmethod
    def resume(cls, path: Path) -> tuple[KeptSession, RestoredRecording]:
        """Open a recorded session to continue it in its file.

        Returns:
            The session, and its contents so far.

        Raises:
            RecordingError: The recording cannot be read or written, or another process writes to it.
        """
        read_events(path)  # refuses what is not a recording before the file is touched
        file = RecordingFile.append_to(path)
        try:
            header, records = read_events(path)
            session = cls(header.files or ("",) * len(header.designs))
            restored = restore(header, session._count(header, records))
        except RecordingError:
            file.close()
            raise
        session._file = file
        session._touched = True
        return session, restored

    def _count(self, header: Header, records: Iterable[Record]) -> Iterator[Record]:
        """Count unsaved work while records are read."""
        self.unsaved = count_unsaved(self.unsaved, header)
        for record in records:
            self.unsaved = count_unsaved(self.unsaved, record)
            yield record

    @property
    def path(self) -> Path | None:
        """The file; None before it is created."""
        return None if self._file is None else self._file.path

    def _write(self) -> None:
        self._touched = self._touched or bool(self.unsaved)
        if self._touched or len(self._unwritten) > LONGEST_WAIT:
            super()._write()

    def close(self) -> None:
        """Close the file; that of a session without input is deleted."""
        if self._file is not None:
            if not self._touched:
                with contextlib.suppress(OSError):
                    self._file.path.unlink()
            self._file.close()

    def _open_file(self) -> RecordingFile:
        if self._file is None:
            try:
                path = kept.make_path(KIND, self.files, ".jsonl")
            except OSError as error:
                raise RecordingFileError.from_error(kept.get_state_folder(KIND), error) from None
            self._file = RecordingFile(path)
            kept.drop_oldest(KIND, self.files)
        return self._file


@attrs.frozen
class Unfinished:
    """A session that ended with unsaved work."""

    path: Path
    files: tuple[str, ...]
    """For each variant the file that it was read from."""
    started: str
    """The date and time, in ISO 8601."""
    unsaved: Unsaved

    def format_start(self, now: datetime | None = None) -> str:
        """Format its start in local time, with the date unless that is today."""
        try:
            return kept.format_moment(datetime.fromisoformat(self.started), now)
        except (ValueError, OverflowError, OSError):
            return "an unknown time"


def find_unfinished(files: Sequence[str] | None = None) -> list[Unfinished]:
    """Find the sessions with unsaved work that no process is running.

    Args:
        files: The design files, in this order; None: any.

    Returns:
        The sessions, those with notes first, and within each group the last changed first.
    """
    found = []
    for path in kept.list_kept(KIND, files):
        if is_locked(path):
            continue
        # A session that cannot be read, or was deleted in the meantime, is not offered.
        with contextlib.suppress(RecordingError):
            header, records = read_events(path)
            unsaved = count_unsaved(Unsaved(), header)
            for record in records:
                unsaved = count_unsaved(unsaved, record)
            if unsaved:
                found.append(Unfinished(path, header.files, header.started, unsaved))
    return sorted(found, key=lambda one: not one.unsaved.notes)
