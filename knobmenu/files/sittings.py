"""The sittings of a study on disk: one recording for each participant, in a folder beside the study's file."""

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
from knobmenu.files.recordings import LONGEST_LINE, read_shown
from knobmenu.session.recording import VisibleRecord
from knobmenu.session.records import MarkRecord

ENDING = ".jsonl"
"""How the name of a sitting's file ends."""

LOCK = ".numbers.lock"
"""The name of the empty file that is locked while a participant gets a number."""

NUMBERING_S = 30.0
"""How long a sitting waits for others to get their numbers. [s]"""


def sittings_folder(study: StrPath) -> Path:
    """Return the folder of a study's sittings: ``lamp.sittings`` for ``lamp.toml``."""
    return Path(study).with_suffix(".sittings")


def sitting_path(study: StrPath, code: str) -> Path:
    """Return the file of a participant's sitting.

    Args:
        study: The study's file.
        code: The participant's code.
    """
    return sittings_folder(study) / f"{code}{ENDING}"


def create_folder(study: StrPath) -> None:
    """Make the folder of a study's sittings, unless it is there.

    Raises:
        RecordingError: It cannot be made.
    """
    try:
        make_folder(sittings_folder(study))
    except FileError as error:
        raise RecordingError(str(error)) from None


@contextlib.contextmanager
def lock_numbers(study: StrPath) -> Iterator[None]:
    """Return a context in which no other process gives a participant of a study a number.

    The lock ends with the process, however that ends. The folder of the sittings must be there.

    Raises:
        RecordingError: The file of the lock cannot be opened, or another process holds the lock too long.
    """
    path = sittings_folder(study) / LOCK
    try:
        descriptor = _open_lock(path)
    except OSError as error:
        raise _unwritable(path, error) from None
    try:
        if not lock(descriptor, NUMBERING_S):
            expected, found = "no other sitting that is about to begin", f"one that has been for {NUMBERING_S:.0f} s"
            raise RecordingError(str(FileError(os.fspath(path), expected, found, "End it, or try again.")))
        yield
    finally:
        os.close(descriptor)


def _open_lock(path: Path) -> int:
    try:
        return os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
    except PermissionError:
        # Another user made it; most file systems lock what is only read, too.
        return os.open(path, os.O_RDONLY)


def _unwritable(path: Path, error: OSError | ValueError) -> RecordingError:
    return RecordingError(str(FileError(os.fspath(path), "a file that can be written", *explain_unwritable(error))))


@attrs.frozen
class RecordedSitting:
    """A sitting on disk, as far as it was recorded."""

    code: str
    """The participant's code: the name of its file."""
    path: Path
    started: str = ""
    """The date and time of its first record, as ISO 8601 writes it."""
    marks: tuple[str, ...] = ()
    """The names of its marks, in order."""
    records: int = 0
    """How many records follow its header."""
    being_written: bool = False
    """Whether a process is writing to it now."""
    problem: str = ""
    """Why it cannot be read, if it cannot."""

    @property
    def has_begun(self) -> bool:
        """Whether anything is recorded besides that the device was switched on."""
        return self.records > 1 or bool(self.marks)


def sitting_paths(study: StrPath) -> dict[str, Path]:
    """Return the files of a study's sittings by the participants' codes, in order."""
    return {path.name.removesuffix(ENDING): path for path in sorted(sittings_folder(study).glob(f"*{ENDING}"))}


def list_sittings(study: StrPath) -> Iterator[RecordedSitting]:
    """Walk the sittings of a study by their codes, each as far as it can be read."""
    for code, path in sitting_paths(study).items():
        yield _read(code, path)


def first_mark(path: StrPath) -> str:
    """Return the first mark of a sitting, which says whose it is; nothing where there is none or it cannot be read."""
    try:
        return next(filter(None, map(_mark_name, read_shown(path)[1])), "")
    except RecordingError:
        return ""


def _mark_name(record: VisibleRecord) -> str:
    """Return the name of a mark; nothing for another record."""
    return str(record.plain.get("name", "")) if record.kind == MarkRecord.kind else ""


def _read(code: str, path: Path) -> RecordedSitting:
    being_written = is_locked(path)
    try:
        if is_blank(path):
            return RecordedSitting(code, path, being_written=being_written)
        header, records = read_shown(path)
        names = tuple(map(_mark_name, records))
    except RecordingError as error:
        return RecordedSitting(code, path, being_written=being_written, problem=str(error))
    return RecordedSitting(code, path, header.started, tuple(filter(None, names)), len(names), being_written)


def notes_path(recording: StrPath) -> Path:
    """Return the file of what a moderator wrote about a recording: ``p07.notes`` beside ``p07.jsonl``."""
    return Path(recording).with_suffix(".notes")


def append_note(recording: StrPath, real_ms: int, text: str) -> None:
    """Keep what a moderator wrote about a recording, which another process writes.

    Args:
        recording: The recording.
        real_ms: When, on its clock. [ms since its header]
        text: What.

    Raises:
        RecordingError: The note cannot be written.
    """
    path = notes_path(recording)
    line = json.dumps({"real_ms": real_ms, "text": text}, ensure_ascii=False) + "\n"
    try:
        with path.open("a", encoding="utf-8", errors="backslashreplace") as stream:
            stream.write(line)
    except (OSError, ValueError) as error:
        raise _unwritable(path, error) from None


def is_blank(path: StrPath) -> bool:
    """Return whether a sitting was interrupted before its first line was written whole.

    Raises:
        RecordingError: It cannot be read.
    """
    try:
        with open_bytes(os.fspath(path)) as (first, stream):
            return not (first + stream.readline(LONGEST_LINE)).endswith(b"\n")
    except (OSError, ValueError) as error:
        raise RecordingError(str(explain_unreadable(os.fspath(path), "a recording", error))) from None
