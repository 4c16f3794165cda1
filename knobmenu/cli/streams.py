"""Standard input and output in all their states: closed, full, in any encoding, read by a terminal.

Text for people passes one filter, which escapes characters that a terminal would interpret or its encoding lacks.
Documents for programs, such as designs and JSON, are always UTF-8.
"""

from __future__ import annotations

import codecs
import contextlib
import io
import os
import re
import sys
from collections.abc import Callable, Iterator
from typing import BinaryIO, TextIO

from knobmenu.errors import FileError, printable

# Reading and writing.


def print_document(text: str) -> None:
    """Print a document for programs, in UTF-8."""
    sys.stdout.flush()
    # A file's name may contain bytes that are not UTF-8, which become lone surrogates.
    sys.stdout.buffer.write(text.encode("utf-8", "backslashreplace"))


def clear_screen() -> None:
    """Clear the terminal and move to its top; the escape sequence bypasses the filter."""
    sys.stdout.flush()
    sys.stdout.buffer.write(b"\x1b[H\x1b[2J")
    sys.stdout.buffer.flush()


@contextlib.contextmanager
def read_keys() -> Iterator[Callable[[float], str] | None]:
    """Read keys as they are typed, without echo.

    Yields:
        A function that waits for keys, up to a number of seconds, and returns what was typed; None if standard input is
        not a terminal, or if the system does not support it.
    """
    if sys.platform == "win32" or not sys.stdin.isatty():
        yield None
        return
    import select
    import signal
    import termios
    import tty

    terminal = sys.stdin.fileno()
    before = termios.tcgetattr(terminal)
    decoder = codecs.getincrementaldecoder("utf-8")("replace")

    def wait_for_keys(wait_s: float) -> str:
        readable, _, _ = select.select([terminal], [], [], wait_s)
        if not readable:
            return ""
        keys = os.read(terminal, 4096)
        if not keys:
            # The terminal is gone, and its signal may not have arrived yet.
            raise SystemExit(128 + signal.SIGHUP)
        return decoder.decode(keys)

    def leave(number: int, _: object) -> None:
        raise SystemExit(128 + number)

    ends = (signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT)
    handlers = [(number, signal.signal(number, leave)) for number in ends]
    tty.setcbreak(terminal)
    try:
        yield wait_for_keys
    finally:
        for number, handler in handlers:
            signal.signal(number, handler)
        # Immediately, without waiting for output: a terminal that has stopped reading does not drain it.
        with contextlib.suppress(termios.error):
            termios.tcsetattr(terminal, termios.TCSANOW, before)


def print_json(plain: object, indent: int | None = 2) -> None:
    """Print plain data as JSON, escaping characters that a terminal would interpret."""
    # Late: most commands print none.
    import json

    text = json.dumps(plain, ensure_ascii=False, indent=indent)
    print_document(re.sub(_UNSAFE, _escape, text) + "\n")


_UNSAFE = "[\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff]"
"""Controls, bidirectional overrides, line separators and halves of characters; JSON escapes the rest itself."""


def _escape(found: re.Match[str]) -> str:
    return f"\\u{ord(found[0]):04x}"


def read_input(what: str, largest: int = 16 * 1024 * 1024) -> str:
    """Read standard input to its end.

    Args:
        what: The expected contents, for error messages.
        largest: The most that is read. [bytes]

    Raises:
        FileError: Standard input is closed, or too long.
        DesignError: The input is not UTF-8 text.
    """
    from knobmenu.files.opening import decode_text

    with _name_input(what):
        content = sys.stdin.buffer.read(largest + 1)
    if len(content) > largest:
        raise FileError("standard input", f"at most {largest} bytes", "more", "Give it in parts.")
    return decode_text(content, "standard input")


def read_lines() -> Iterator[str]:
    """Walk the lines of standard input as they arrive; bytes that are not UTF-8 are escaped.

    Raises:
        FileError: Standard input is closed.
    """
    with _name_input("lines"):
        for line in sys.stdin.buffer:
            yield line.decode("utf-8", "backslashreplace")


@contextlib.contextmanager
def _name_input(what: str) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        got = (error.strerror or str(error)).lower()
        raise FileError("standard input", what, got, "Give it a file or a pipe to read.") from None


# The filter.


class Gate(io.TextIOBase):
    """A filter that makes each line printable and writes it to a stream."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str, /) -> int:
        """Write text."""
        self._stream.write("\n".join(map(printable, text.split("\n"))))
        return len(text)

    def flush(self) -> None:
        """Write what is buffered."""
        self._stream.flush()

    def isatty(self) -> bool:
        """Return whether a terminal reads."""
        return self._stream.isatty()

    def fileno(self) -> int:
        """Return the descriptor."""
        return self._stream.fileno()

    @property
    def buffer(self) -> BinaryIO:
        """The underlying stream of bytes, without escaping."""
        return self._stream.buffer

    @property
    def encoding(self) -> str:  # type: ignore[override]
        """The encoding of the stream."""
        return self._stream.encoding


@contextlib.contextmanager
def guard_output() -> Iterator[None]:
    """Filter standard output while a command runs, and flush it before the command ends.

    Raises:
        OSError: Standard output cannot be written; the unwritten rest is dropped.
    """
    _open_closed()
    stream = sys.stdout
    if isinstance(stream, io.TextIOWrapper):
        # Characters that the encoding lacks are escaped, too.
        stream.reconfigure(errors="backslashreplace")
    try:
        with contextlib.redirect_stdout(Gate(stream)):
            try:
                yield
            finally:
                if not isinstance(sys.exc_info()[1], OSError):
                    stream.flush()
    except OSError:
        _drop(stream)
        raise


def print_if_open(text: str) -> None:
    """Print text, unless the terminal is gone, which may be why the command ends."""
    try:
        print(text, flush=True)
    except OSError:
        if sys.__stdout__ is not None:
            _drop(sys.__stdout__)


def complain(text: str) -> None:
    """Print an error on standard error, if that is open."""
    with contextlib.suppress(OSError, ValueError):
        print("\n".join(map(printable, text.split("\n"))), file=sys.stderr, flush=True)


def format_complaint(error: OSError) -> str:
    """Format the error for output that could not be written."""
    name = f"{error.filename}: " if error.filename else "standard output: "
    return f"{name}expected an output that can be written, got {(error.strerror or str(error)).lower()}."


def _open_closed() -> None:
    """Attach each closed standard stream to a descriptor that fails like a closed one.

    Otherwise, the next opened file would get its number, and standard output would be written to that file.
    """
    for number, (name, flags, mode) in enumerate(_STREAMS):
        if getattr(sys, name) is None:
            opened = os.open(os.devnull, flags)
            if opened != number:
                os.dup2(opened, number)
                os.close(opened)
            setattr(sys, name, open(number, mode, encoding="utf-8", closefd=False))  # noqa: SIM115 - as long as the process


_STREAMS = (("stdin", os.O_WRONLY, "r"), ("stdout", os.O_RDONLY, "w"), ("stderr", os.O_WRONLY, "w"))
"""The stand-ins: input cannot be read, output cannot be written, errors are discarded."""


def _drop(stream: TextIO) -> None:
    """Discard what is still buffered, so that the interpreter does not fail to flush it at exit."""
    with contextlib.suppress(OSError, ValueError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, stream.fileno())
        os.close(nothing)
