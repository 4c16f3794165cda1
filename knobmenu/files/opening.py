"""Reading of small files with a size limit, and plain messages for every failure.

Opening never blocks: a pipe is read when a process writes to it, and refused if none does.
"""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import time
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from knobmenu.errors import DesignError, Problem, nearest

LARGEST = 2 * 1024 * 1024
"""The largest design file that is read; ten thousand settings take less than half of it. [bytes]"""

StrPath = str | os.PathLike[str]


PATIENCE_S = 1.0
"""How long a pipe may have no writer before it is refused. [s]"""


def read_text(path: StrPath, what: str = "a design file") -> str:
    """Read a file as UTF-8 text, without a byte order mark.

    Args:
        path: The file; a pipe, such as the shell's ``<(command)``, is read to its end.
        what: The expected contents, for error messages.

    Raises:
        DesignError: The file does not exist, cannot be read, is too large, or is not UTF-8 text.
    """
    file = os.fspath(path)
    return decode_text(read_bytes(file, what), file)


def read_bytes(path: StrPath, what: str = "a design file", largest: int = LARGEST) -> bytes:
    """Read a file.

    Raises:
        DesignError: The file does not exist, cannot be read, or has more than `largest` bytes.
    """
    file = os.fspath(path)
    try:
        with open_bytes(file) as (first, stream):
            content = first + stream.read(largest + 1 - len(first))
    except (OSError, ValueError) as error:
        raise DesignError([explain_unreadable(file, what, error)]) from None
    if len(content) > largest:
        raise make_file_error(file, f"a file of more than {largest} bytes", f"at most {largest} bytes")
    return content


def explain_unreadable(file: str, what: str, error: OSError | ValueError) -> Problem:
    """Explain why a file could not be opened or read.

    Args:
        file: Its name.
        what: The expected contents, such as `a design file`.
        error: The system's error.
    """
    match error:
        case FileNotFoundError():
            return Problem("", "no file of this name", f"the name of {what}", _suggest_name(file), file)
        case IsADirectoryError():
            return Problem("", "a folder", what, "name a file in it", file)
        case PermissionError():
            return Problem("", "a file without read permission", "a file that you have permission to read", "", file)
        case _SilentPipeError():
            return Problem("", "a pipe without a writer", what, "name a file", file)
    return Problem("", f"a file that cannot be read ({_describe_error(error)})", "a file that can be read", "", file)


class _SilentPipeError(OSError):
    """No process writes to a pipe."""


@contextlib.contextmanager
def open_bytes(file: str) -> Iterator[tuple[bytes, BinaryIO]]:
    """Open a file without blocking.

    Yields:
        The bytes that were already read, and the stream of the rest.

    Raises:
        OSError: The file cannot be opened, is a folder, or is a pipe without a writer.
        ValueError: The name cannot be that of a file.
    """
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOCTTY", 0)
    descriptor = os.open(file, flags)
    with open(descriptor, "rb", closefd=True) as stream:
        mode = os.fstat(descriptor).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        first = _await_writer(descriptor) if stat.S_ISFIFO(mode) else b""
        if hasattr(os, "set_blocking"):
            os.set_blocking(descriptor, True)
        yield first, stream


def _await_writer(pipe: int) -> bytes:
    """Wait until a process writes to a non-blocking pipe; return the first byte."""
    end_s = time.monotonic() + PATIENCE_S
    while True:
        try:
            if first := os.read(pipe, 1):
                return first
        except BlockingIOError:
            return b""
        if time.monotonic() > end_s:
            raise _SilentPipeError
        time.sleep(0.01)


def decode_text(content: bytes, file: str = "") -> str:
    """Decode a file's bytes.

    Raises:
        DesignError: The bytes are not UTF-8 text.
    """
    if b"\0" in content:
        line = content[: content.index(b"\0")].count(b"\n") + 1
        wide = content[:2] in (b"\xff\xfe", b"\xfe\xff")
        found = "text in UTF-16" if wide else "a NUL byte, so this is not a text file"
        raise make_file_error(file, found, "text in UTF-8", "save it as UTF-8" if wide else "", line)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        found = f"the byte 0x{content[error.start]:02X}, which is not UTF-8"
        raise make_file_error(file, found, "text in UTF-8", "save it as UTF-8", line) from None


def make_file_error(file: str, found: str, expected: str, advice: str = "", line: int = 0) -> DesignError:
    """Make an error about a file as a whole."""
    return DesignError([Problem("", found, expected, advice, file, line)])


def _suggest_name(file: str) -> str:
    """Suggest the most similar file name in the same folder."""
    folder = Path(file).parent
    try:
        names = sorted(os.listdir(folder))[:1000]
    except OSError:
        return f"there is no folder {folder} either"
    return nearest(Path(file).name, names)


def _describe_error(error: OSError | ValueError) -> str:
    """Return the system's short description of a failure."""
    return (error.strerror or str(error)) if isinstance(error, OSError) else str(error)
