"""The sittings of a study on disk: one recording for each participant, in a folder next to the study's file."""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterator
from pathlib import Path

import attrs

from knobmenu.errors import FileError, RecordingError
from knobmenu.files.locks import is_locked, lock
from knobmenu.files.opening import StrPath, explain_unreadable, open_bytes
from knobmenu.files.output import explain_unwritable, make_folder
from knobmenu.files.recordings import LONGEST_LINE, read_visible
from knobmenu.session.recording import VisibleRecord
from knobmenu.session.records import MarkRecord

ENDING = ".jsonl"
"""The extension of a sitting's file."""

LOCK = ".numbers.lock"
"""The name of the empty file that is locked while a participant gets a number."""

NUMBERING_S = 30.0
"""How long a sitting waits for others to get their numbers. [s]"""


def get_sittings_folder(study: StrPath) -> Path:
    """Return the folder of a study's sittings: ``lamp.sittings`` for ``lamp.toml``."""
    return Path(study).with_suffix(".sittings")


def get_sitting_path(study: StrPath, code: str) -> Path:
    """Return the path of a participant's sitting.

    Args:
        study: The study's file.
        code: The participant's code.
    """
    return get_sittings_folder(study) / f"{code}{ENDING}"


def create_folder(study: StrPath) -> None:
    """Make the folder of a study's sittings, unless it exists.

    Raises:
        RecordingError: The folder cannot be made.
    """
    try:
        make_folder(get_sittings_folder(study))
    except FileError as error:
        raise RecordingError(str(error)) from None


@contextlib.contextmanager
def lock_numbers(study: StrPath) -> Iterator[None]:
    """Return a context in which no other process assigns a number to a participant of a study.

    The lock ends with the process, however it ends. The folder of the sittings must exist.

    Raises:
        RecordingError: The file of the lock cannot be opened, or another process holds the lock too long.
    """
    path = get_sittings_folder(study) / LOCK
    try:
        descriptor = _open_lock(path)
    except OSError as error:
        raise _make_unwritable_error(path, error) from None
    try:
        if not lock(descriptor, NUMBERING_S):
            expected = "no other sitting that is about to begin"
            found = f"one that has been starting for {NUMBERING_S:.0f} s"
            raise RecordingError(str(FileError(os.fspath(path), expected, found, "End it, or try again.")))
        yield
    finally:
        os.close(descriptor)


def _open_lock(path: Path) -> int:
    try:
        return os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
    except PermissionError:
        # Another user made it; most file systems also lock files that are open for reading.
        return os.open(path, os.O_RDONLY)


def _make_unwritable_error(path: Path, error: OSError | ValueError) -> RecordingError:
    return RecordingError(str(FileError(os.fspath(path), "a file that can be written", *explain_unwritable(error))))


@attrs.frozen
class RecordedSitting:
    """A sitting on disk, as far as it is recorded."""

    code: str
    """The participant's code, which is the name of the file."""
    path: Path
    started: str = ""
    """The date and time of its header, in ISO 8601."""
    marks: tuple[str, ...] = ()
    """The names of its marks, in order."""
    records: int = 0
    """The number of records after the header."""
    being_written: bool = False
    """Whether a process is writing to it now."""
    problem: str = ""
    """Why it cannot be read; empty if it can."""

    @property
    def has_begun(self) -> bool:
        """Whether anything other than the first power-on is recorded."""
        return self.records > 1 or bool(self.marks)


def list_sitting_paths(study: StrPath) -> dict[str, Path]:
    """Return the paths of a study's sittings by the participants' codes, in order."""
    return {path.name.removesuffix(ENDING): path for path in sorted(get_sittings_folder(study).glob(f"*{ENDING}"))}


def list_sittings(study: StrPath) -> Iterator[RecordedSitting]:
    """Walk the sittings of a study by their codes, each as far as it can be read."""
    for code, path in list_sitting_paths(study).items():
        yield _read_sitting(code, path)


def read_first_mark(path: StrPath) -> str:
    """Read the first mark of a sitting, which identifies the participant; empty if it is missing or unreadable."""
    try:
        return next(filter(None, map(_get_mark_name, read_visible(path)[1])), "")
    except RecordingError:
        return ""


def _get_mark_name(record: VisibleRecord) -> str:
    """Return the name of a mark; empty for another record."""
    return str(record.plain.get("name", "")) if record.kind == MarkRecord.kind else ""


def _read_sitting(code: str, path: Path) -> RecordedSitting:
    being_written = is_locked(path)
    try:
        if is_blank(path):
            return RecordedSitting(code, path, being_written=being_written)
        header, records = read_visible(path)
        names = tuple(map(_get_mark_name, records))
    except RecordingError as error:
        return RecordedSitting(code, path, being_written=being_written, problem=str(error))
    return RecordedSitting(code, path, header.started, tuple(filter(None, names)), len(names), being_written)


def get_notes_path(recording: StrPath) -> Path:
    """Return the path of the moderator's notes on a recording: ``p07.notes`` for ``p07.jsonl``."""
    return Path(recording).with_suffix(".notes")


def append_note(recording: StrPath, real_ms: int, text: str) -> None:
    """Append a moderator's note on a recording, which another process writes.

    Args:
        recording: The recording.
        real_ms: The time of the note, on the clock of the recording. [ms since its header]
        text: The text of the note.

    Raises:
        RecordingError: The note cannot be written.
    """
    path = get_notes_path(recording)
    line = json.dumps({"real_ms": real_ms, "text": text}, ensure_ascii=False) + "\n"
    try:
        with path.open("a", encoding="utf-8", errors="backslashreplace") as stream:
            stream.write(line)
    except (OSError, ValueError) as error:
        raise _make_unwritable_error(path, error) from None


def is_blank(path: StrPath) -> bool:
    """Return whether a sitting was interrupted before its first line was complete.

    Raises:
        RecordingError: The file cannot be read.
    """
    try:
        with open_bytes(os.fspath(path)) as (first, stream):
            return not (first + stream.readline(LONGEST_LINE)).endswith(b"\n")
    except (OSError, ValueError) as error:
        raise RecordingError(str(explain_unreadable(os.fspath(path), "a recording", error))) from None
