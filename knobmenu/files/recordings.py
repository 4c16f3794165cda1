"""Recordings on disk: written line by line as a session happens, and read again."""

from __future__ import annotations

import contextlib
import os
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from io import FileIO
from pathlib import Path
from types import TracebackType
from typing import Literal, TypeVar

from knobmenu.errors import DesignError, Problem, RecordingError, printable
from knobmenu.files.locks import lock
from knobmenu.files.opening import StrPath, explain_unreadable, open_bytes
from knobmenu.session.recorder import Recorder, Sink
from knobmenu.session.recording import VisibleRecord, decode, decode_events, decode_visible, encode
from knobmenu.session.records import Header, Record
from knobmenu.session.unsaved import Unsaved, count_unsaved

T = TypeVar("T")

_BLOCK = 1 << 16
"""How much is searched for a line's end in one go. [bytes]"""

LONGEST_LINE = 1 << 24
"""The longest line that is read; a header with two of the largest designs fits into it. [bytes]"""


class RecordingFileError(RecordingError):
    """A file that a session cannot be recorded to: says which, what was expected, what is there, and what to do."""

    def __init__(self, path: Path, expected: str, reason: str, advice: str) -> None:
        super().__init__(f"{printable(str(path))}: expected {expected}, got {reason}. {advice}")
        self.reason = reason
        """What is there instead, in a few words."""

    @classmethod
    def refused(cls, path: Path, error: OSError | ValueError) -> RecordingFileError:
        """Make the error of a file that the system does not create, open or write."""
        # Late, since it is seldom needed, and the first frame need not wait for it.
        from knobmenu.files.output import explain_unwritable

        if isinstance(error, FileExistsError):
            return cls(path, "the name of a new file", "an existing file", "Choose another name.")
        return cls(path, "a file that can be written", *explain_unwritable(error))

    @classmethod
    def locked(cls, path: Path) -> RecordingFileError:
        """Make the error of a file that another process records to."""
        expected = "a file that no other process is writing to"
        return cls(path, expected, "one that is being written", "End the other session, or choose another file.")


class RecordingFile:
    """A file to which a session is recorded, for `knobmenu.session.recorder.Recorder`.

    Each record is on disk, as far as the process is concerned, before the next thing happens: a killed process loses at
    most the line in flight. While the file is open it is locked, so that no other process writes to it.
    """

    def __init__(self, path: StrPath) -> None:
        """Create the file.

        Raises:
            RecordingError: There is something of that name already, or it cannot be written.
        """
        self.path = Path(path)
        self._stream = self._open("xb")
        if not lock(self._stream.fileno()):
            self._stream.close()
            raise RecordingFileError.locked(self.path)

    @classmethod
    def append_to(cls, path: StrPath) -> RecordingFile:
        """Open a recording that exists, to go on with it; a last line that was cut off is removed.

        Read its header first: whatever the file is, what follows its last line end is gone.

        Raises:
            RecordingError: It cannot be opened for writing, or another process writes to it.
        """
        file = cls.__new__(cls)
        file.path = Path(path)
        file._stream = file._open("r+b")
        try:
            if not lock(file._stream.fileno()):
                raise RecordingFileError.locked(file.path)
            file._stream.seek(file._stream.truncate(_whole_lines(file._stream)))
        except OSError as error:
            file._stream.close()
            raise RecordingFileError.refused(file.path, error) from None
        except RecordingError:
            file._stream.close()
            raise
        return file

    def __call__(self, record: Header | Record) -> None:
        """Write a header or a record.

        Raises:
            RecordingError: It cannot be written, as on a full disk. What was written before stays, in whole lines.
        """
        line = encode(record).encode("utf-8", "backslashreplace")
        try:
            begun = self._stream.tell()
            try:
                while line:
                    line = line[self._stream.write(line) :]
            except OSError:
                with contextlib.suppress(OSError):
                    self._stream.seek(begun)
                    self._stream.truncate()
                raise
        except (OSError, ValueError) as error:
            raise RecordingFileError.refused(self.path, error) from None

    def _open(self, mode: Literal["xb", "r+b"]) -> FileIO:
        try:
            return self.path.open(mode, buffering=0)
        except FileNotFoundError as error:
            if mode == "xb":
                raise RecordingFileError.refused(self.path, error) from None
            name, advice = "the name of a recording", "Choose a file that exists."
            raise RecordingFileError(self.path, name, "no file of this name", advice) from None
        except (OSError, ValueError) as error:
            raise RecordingFileError.refused(self.path, error) from None

    def close(self) -> None:
        """Close the file; one that nothing could be written to, as on a full disk, is removed."""
        if not self._stream.closed:
            with contextlib.suppress(OSError):
                is_empty = os.fstat(self._stream.fileno()).st_size == 0
                if is_empty and os.path.samestat(os.lstat(self.path), os.fstat(self._stream.fileno())):
                    self.path.unlink()
        self._stream.close()

    def __enter__(self) -> RecordingFile:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def begin_recording(sink: Sink, real_ms: int, files: Sequence[str] = ()) -> Recorder:
    """Return a recorder whose header says the date and time of now.

    Args:
        sink: Takes the records.
        real_ms: Real time now. [ms]
        files: For each variant the file that it was read from; nothing: not recorded.
    """
    return Recorder(sink, real_ms, datetime.now(UTC).isoformat(timespec="seconds"), files)


class PatientRecording:
    """Records to a file as far as that can be written; a full disk does not disturb the session.

    What cannot be written is tried again with the next record, so that a disk with room again has everything.
    """

    def __init__(self, file: RecordingFile | None) -> None:
        self._file = file
        self._unwritten: deque[Header | Record] = deque()
        self.files: tuple[str, ...] = ()
        """For each variant the file that it was read from; nothing: not recorded."""
        self.error: RecordingFileError | None = None
        """Why the last records are not in the file; None where they are."""
        self.unsaved = Unsaved()
        """What a person did and did not save elsewhere."""

    @property
    def is_lost(self) -> bool:
        """Whether there is something that is neither in the file nor saved elsewhere."""
        return bool(self.unsaved) and self.error is not None

    def __call__(self, record: Header | Record) -> None:
        """Write a header or a record, after those that could not be written before."""
        self.unsaved = count_unsaved(self.unsaved, record)
        self._unwritten.append(record)
        self._write()

    def _write(self) -> None:
        try:
            file = self._open_file()
            while self._unwritten:
                file(self._unwritten[0])
                self._unwritten.popleft()
        except RecordingFileError as error:
            self.error = error
        else:
            self.error = None

    def _open_file(self) -> RecordingFile:
        """Return the file; where it is not open yet, a child opens it."""
        assert self._file is not None
        return self._file


def read_recording(path: StrPath) -> tuple[Header, Iterator[Record]]:
    """Read a recording from a file.

    Returns:
        The header, and the records, each read when it is asked for; reading one may raise, too.

    Raises:
        RecordingError: It cannot be read; says the file and the line.
    """
    return _begin(decode, _lines(path), path)


def read_events(path: StrPath) -> tuple[Header, Iterator[Record]]:
    """Read a recording without the effects and screens of its events, to play it again.

    Raises:
        RecordingError: It cannot be read; says the file and the line.
    """
    return _begin(decode_events, _lines(path), path)


def read_shown(path: StrPath) -> tuple[Header, Iterator[VisibleRecord]]:
    """Read what a recording shows, record by record.

    Raises:
        RecordingError: It cannot be read; says the file and the line.
    """
    return _begin(decode_visible, _lines(path), path)


def follow_shown(path: StrPath, pause: Callable[[], None]) -> tuple[Header, Iterator[VisibleRecord]]:
    """Read what a recording shows while it is being written; only whole lines are read.

    Args:
        path: The file.
        pause: Called while nothing new is there; it may wait, and it ends the reading by raising `StopFollowing`.

    Raises:
        RecordingError: It cannot be read; says the file and the line.
    """
    return _begin(decode_visible, _growing_lines(path, pause), path)


def _begin(read: Callable[[Iterator[str], str], T], lines: Iterator[str], path: StrPath) -> T:
    """Begin to read a recording; say of a document of another kind which command takes it."""
    try:
        return read(lines, os.fspath(path))
    except RecordingError:
        # Late, since it is seldom needed, and the first frame need not wait for it.
        from knobmenu.codec.recognition import Document, refuse_other
        from knobmenu.files.documents import recognize_file

        try:
            refuse_other(recognize_file(path), Document.RECORDING, os.fspath(path))
        except DesignError as other:
            raise RecordingError(str(other)) from None
        raise


class StopFollowing(Exception):  # noqa: N818 - not an error: nobody watches any more
    """Nobody watches any more."""


def _growing_lines(path: StrPath, pause: Callable[[], None]) -> Iterator[str]:
    try:
        with open_bytes(os.fspath(path)) as (begun, stream):
            while True:
                begun += stream.readline(LONGEST_LINE)
                if begun.endswith(b"\n"):
                    yield begun.decode("utf-8", "replace")
                    begun = b""
                elif len(begun) >= LONGEST_LINE:
                    raise _no_lines(path)
                else:
                    pause()
    except StopFollowing:
        return
    except (OSError, ValueError) as error:
        raise _unreadable(path, error) from None


def _whole_lines(stream: FileIO) -> int:
    """Return the length of all lines that have their end. [bytes]"""
    end = stream.seek(0, os.SEEK_END)
    while end:
        begin = max(end - _BLOCK, 0)
        stream.seek(begin)
        block = stream.read(end - begin)
        if b"\n" in block:
            return begin + block.rindex(b"\n") + 1
        end = begin
    return 0


def _lines(path: StrPath) -> Iterator[str]:
    try:
        with open_bytes(os.fspath(path)) as (first, stream):
            while line := first + stream.readline(LONGEST_LINE):
                if len(line) >= LONGEST_LINE:
                    raise _no_lines(path)
                # A character that was cut off becomes a stand-in, and its line is one that was cut off.
                yield line.decode("utf-8", "replace")
                first = b""
    except (OSError, ValueError) as error:
        raise _unreadable(path, error) from None


def _unreadable(path: StrPath, error: OSError | ValueError) -> RecordingError:
    return RecordingError(str(explain_unreadable(os.fspath(path), "a recording", error)))


def _no_lines(path: StrPath) -> RecordingError:
    found = f"a line of more than {LONGEST_LINE} bytes"
    return RecordingError(str(Problem("", found, "a recording", "name another file", os.fspath(path))))
