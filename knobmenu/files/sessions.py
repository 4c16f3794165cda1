"""Sessions that are kept as they grow, so that none is lost however it ends, and found again."""

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
"""The name of their folder."""

LONGEST_WAIT = 1000
"""How many records of a session in which nobody did anything are held back. [records]"""


class KeptSession(PatientRecording):
    """Keeps a session in the user's state folder, from the first thing that a person does in it."""

    def __init__(self, files: Sequence[str]) -> None:
        """Prepare to keep a session; the first thing that a person does creates the file.

        Args:
            files: For each variant the file that it was read from, in full; empty for the built-in demo.
        """
        super().__init__(None)
        self.files = tuple(files)
        self._touched = False
        """Whether a person did anything."""

    @classmethod
    def resume(cls, path: Path) -> tuple[KeptSession, RestoredRecording]:
        """Open a recorded session to go on with it in its file.

        Returns:
            The session, and what it holds so far.

        Raises:
            RecordingError: It cannot be read or written, or another process writes to it.
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
        """Count what is not saved while records are read."""
        self.unsaved = count_unsaved(self.unsaved, header)
        for record in records:
            self.unsaved = count_unsaved(self.unsaved, record)
            yield record

    @property
    def path(self) -> Path | None:
        """The file; None before there is one."""
        return None if self._file is None else self._file.path

    def _write(self) -> None:
        self._touched = self._touched or bool(self.unsaved)
        if self._touched or len(self._unwritten) > LONGEST_WAIT:
            super()._write()

    def close(self) -> None:
        """Close the file; that of a session in which nobody did anything is deleted."""
        if self._file is not None:
            if not self._touched:
                with contextlib.suppress(OSError):
                    self._file.path.unlink()
            self._file.close()

    def _open_file(self) -> RecordingFile:
        if self._file is None:
            try:
                path = kept.new_path(KIND, self.files, ".jsonl")
            except OSError as error:
                raise RecordingFileError.refused(kept.state_folder(KIND), error) from None
            self._file = RecordingFile(path)
            kept.drop_oldest(KIND, self.files)
        return self._file


@attrs.frozen
class Unfinished:
    """A session that ended with something in it that was not saved."""

    path: Path
    files: tuple[str, ...]
    """For each variant the file that it was read from."""
    started: str
    """The date and time, as ISO 8601 writes it."""
    unsaved: Unsaved

    def moment(self, now: datetime | None = None) -> str:
        """Say when it began in local time, with the date where that was not today."""
        try:
            return kept.format_moment(datetime.fromisoformat(self.started), now)
        except (ValueError, OverflowError, OSError):
            return "an unknown time"


def find_unfinished(files: Sequence[str] | None = None) -> list[Unfinished]:
    """Find the sessions that no process is running and in which something is not saved.

    Args:
        files: Those of these design files, in this order; None: of any.

    Returns:
        Those with notes first, each kind the last changed first.
    """
    found = []
    for path in kept.list_kept(KIND, files):
        if is_locked(path):
            continue
        # One that cannot be read, or is gone again, is not offered.
        with contextlib.suppress(RecordingError):
            header, records = read_events(path)
            unsaved = count_unsaved(Unsaved(), header)
            for record in records:
                unsaved = count_unsaved(unsaved, record)
            if unsaved:
                found.append(Unfinished(path, header.files, header.started, unsaved))
    return sorted(found, key=lambda one: not one.unsaved.notes)
