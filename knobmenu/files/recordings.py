"""Recordings on disk: written line by line during a session, and read again."""

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
"""The block size of the search for the last line end. [bytes]"""

LONGEST_LINE = 1 << 24
"""The longest line that is read; a header with two of the largest designs fits into it. [bytes]"""


class RecordingFileError(RecordingError):
    """A file to which a session cannot be recorded; the message states the file, what was expected, and what to do."""

    def __init__(self, path: Path, expected: str, reason: str, advice: str) -> None:
        super().__init__(f"{printable(str(path))}: expected {expected}, got {reason}. {advice}")
        self.reason = reason
        """What was found, briefly."""

    @classmethod
    def from_error(cls, path: Path, error: OSError | ValueError) -> RecordingFileError:
        """Make the error for a file that the system does not create, open or write."""
        # Late: it is seldom needed, and importing it would delay the first frame.
        from knobmenu.files.output import explain_unwritable

        if isinstance(error, FileExistsError):
            return cls(path, "the name of a new file", "an existing file", "Choose another name.")
        return cls(path, "a file that can be written", *explain_unwritable(error))

    @classmethod
    def for_locked_file(cls, path: Path) -> RecordingFileError:
        """Make the error for a file to which another process records."""
        expected = "a file that no other process is writing to"
        return cls(path, expected, "one that is being written", "End the other session, or choose another file.")


class RecordingFile:
    """A file to which a session is recorded, for `knobmenu.session.recorder.Recorder`.

    Each record is written to the system before the next thing happens, so a killed process loses at most one line.
    While the file is open, it is locked, so that no other process writes to it.
    """

    def __init__(self, path: StrPath) -> None:
        """Create the file.

        Raises:
            RecordingError: The name exists, or the file cannot be written.
        """
        self.path = Path(path)
        self._stream = self._open("xb")
        if not lock(self._stream.fileno()):
            self._stream.close()
            raise RecordingFileError.for_locked_file(self.path)

    @classmethod
    def append_to(cls, path: StrPath) -> RecordingFile:
        """Open an existing recording to continue it; an incomplete last line is removed.

        Read its header first, since this truncates any file after its last line end.

        Raises:
            RecordingError: The file cannot be opened for writing, or another process writes to it.
        """
        file = cls.__new__(cls)
        file.path = Path(path)
        file._stream = file._open("r+b")
        try:
            if not lock(file._stream.fileno()):
                raise RecordingFileError.for_locked_file(file.path)
            file._stream.seek(file._stream.truncate(_measure_whole_lines(file._stream)))
        except OSError as error:
            file._stream.close()
            raise RecordingFileError.from_error(file.path, error) from None
        except RecordingError:
            file._stream.close()
            raise
        return file

    def __call__(self, record: Header | Record) -> None:
        """Write a header or a record.

        Raises:
            RecordingError: The line cannot be written, for example on a full disk; the lines before it stay complete.
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
            raise RecordingFileError.from_error(self.path, error) from None

    def _open(self, mode: Literal["xb", "r+b"]) -> FileIO:
        try:
            return self.path.open(mode, buffering=0)
        except FileNotFoundError as error:
            if mode == "xb":
                raise RecordingFileError.from_error(self.path, error) from None
            name, advice = "the name of a recording", "Choose a file that exists."
            raise RecordingFileError(self.path, name, "no file of this name", advice) from None
        except (OSError, ValueError) as error:
            raise RecordingFileError.from_error(self.path, error) from None

    def close(self) -> None:
        """Close the file, and remove it if it is empty, for example because the disk was full."""
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
    """Make a recorder whose header has the present date and time.

    Args:
        sink: Receives the records.
        real_ms: Real time now. [ms]
        files: For each variant the file that it was read from; empty: not recorded.
    """
    return Recorder(sink, real_ms, datetime.now(UTC).isoformat(timespec="seconds"), files)


class PatientRecording:
    """A recording that tolerates write errors, so that a full disk does not disturb the session.

    Records that cannot be written are tried again with the next one, so that nothing is lost once the disk has room.
    """

    def __init__(self, file: RecordingFile | None) -> None:
        self._file = file
        self._unwritten: deque[Header | Record] = deque()
        self.files: tuple[str, ...] = ()
        """For each variant the file that it was read from; empty: not recorded."""
        self.error: RecordingFileError | None = None
        """Why the last records are not in the file; None: they are."""
        self.unsaved = Unsaved()
        """What the user has not saved elsewhere."""

    @property
    def is_lost(self) -> bool:
        """Whether anything is neither in the file nor saved elsewhere."""
        return bool(self.unsaved) and self.error is not None

    def __call__(self, record: Header | Record) -> None:
        """Write a header or a record, after those that are still unwritten."""
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
        """Return the file; a subclass may open it on demand."""
        assert self._file is not None
        return self._file


def read_recording(path: StrPath) -> tuple[Header, Iterator[Record]]:
    """Read a recording from a file.

    Returns:
        The header, and an iterator over the records, which reads on demand and may raise, too.

    Raises:
        RecordingError: The recording cannot be read; the message states the file and the line.
    """
    return _begin(decode, _walk_lines(path), path)


def read_events(path: StrPath) -> tuple[Header, Iterator[Record]]:
    """Read a recording without the effects and screens of its events, to play it again.

    Raises:
        RecordingError: The recording cannot be read; the message states the file and the line.
    """
    return _begin(decode_events, _walk_lines(path), path)


def read_visible(path: StrPath) -> tuple[Header, Iterator[VisibleRecord]]:
    """Read what playback of a recording needs, record by record.

    Raises:
        RecordingError: The recording cannot be read; the message states the file and the line.
    """
    return _begin(decode_visible, _walk_lines(path), path)


def follow_visible(path: StrPath, pause: Callable[[], None]) -> tuple[Header, Iterator[VisibleRecord]]:
    """Read what playback of a recording needs while it is being written; only complete lines are read.

    Args:
        path: The file.
        pause: Called while there is nothing new; it may wait, and it ends the reading by raising `StopFollowing`.

    Raises:
        RecordingError: The recording cannot be read; the message states the file and the line.
    """
    return _begin(decode_visible, _walk_growing_lines(path, pause), path)


def _begin(read: Callable[[Iterator[str], str], T], lines: Iterator[str], path: StrPath) -> T:
    """Start reading a recording; the error for a document of another kind names the command that takes it."""
    try:
        return read(lines, os.fspath(path))
    except RecordingError:
        # Late: it is seldom needed, and importing it would delay the first frame.
        from knobmenu.codec.recognition import Document, refuse_other
        from knobmenu.files.documents import recognize_file

        try:
            refuse_other(recognize_file(path), Document.RECORDING, os.fspath(path))
        except DesignError as other:
            raise RecordingError(str(other)) from None
        raise


class StopFollowing(Exception):  # noqa: N818 - a request to stop, not an error
    """Ends the reading of a recording that is being written."""


def _walk_growing_lines(path: StrPath, pause: Callable[[], None]) -> Iterator[str]:
    try:
        with open_bytes(os.fspath(path)) as (begun, stream):
            while True:
                begun += stream.readline(LONGEST_LINE)
                if begun.endswith(b"\n"):
                    yield begun.decode("utf-8", "replace")
                    begun = b""
                elif len(begun) >= LONGEST_LINE:
                    raise _make_long_line_error(path)
                else:
                    pause()
    except StopFollowing:
        return
    except (OSError, ValueError) as error:
        raise _make_unreadable_error(path, error) from None


def _measure_whole_lines(stream: FileIO) -> int:
    """Return the length of all complete lines. [bytes]"""
    end = stream.seek(0, os.SEEK_END)
    while end:
        begin = max(end - _BLOCK, 0)
        stream.seek(begin)
        block = stream.read(end - begin)
        if b"\n" in block:
            return begin + block.rindex(b"\n") + 1
        end = begin
    return 0


def _walk_lines(path: StrPath) -> Iterator[str]:
    try:
        with open_bytes(os.fspath(path)) as (first, stream):
            while line := first + stream.readline(LONGEST_LINE):
                if len(line) >= LONGEST_LINE:
                    raise _make_long_line_error(path)
                # Only an incomplete last line can end in an incomplete character, and that line is ignored.
                yield line.decode("utf-8", "replace")
                first = b""
    except (OSError, ValueError) as error:
        raise _make_unreadable_error(path, error) from None


def _make_unreadable_error(path: StrPath, error: OSError | ValueError) -> RecordingError:
    return RecordingError(str(explain_unreadable(os.fspath(path), "a recording", error)))


def _make_long_line_error(path: StrPath) -> RecordingError:
    found = f"a line of more than {LONGEST_LINE} bytes"
    return RecordingError(str(Problem("", found, "a recording", "name another file", os.fspath(path))))
