"""Standard input and output, whatever they are: closed, full, in any encoding, read by a terminal.

Words for people pass one gate: what a terminal would obey is spelled out, and so is what its encoding lacks. Documents
for programs, such as designs and JSON, are UTF-8 wherever they go.
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
    # Whole characters only; a name of a file may hold half of one.
    sys.stdout.buffer.write(text.encode("utf-8", "backslashreplace"))


def clear_screen() -> None:
    """Clear the terminal and begin at its top; the sequence is ours, so it does not pass the gate."""
    sys.stdout.flush()
    sys.stdout.buffer.write(b"\x1b[H\x1b[2J")
    sys.stdout.buffer.flush()


@contextlib.contextmanager
def read_keys() -> Iterator[Callable[[float], str] | None]:
    """Take keys as they are typed, without an echo.

    Yields:
        A function that waits for keys, at most so many seconds, and returns what was typed; None where standard input
        is not a terminal, or the system cannot do it.
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
            # The terminal is gone, and the signal that says so may not have come.
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
        # At once: a terminal that has stopped reading takes no more output.
        with contextlib.suppress(termios.error):
            termios.tcsetattr(terminal, termios.TCSANOW, before)


def print_json(plain: object, indent: int | None = 2) -> None:
    """Print plain data as JSON; what a terminal would obey is escaped."""
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
        what: What it holds, for errors.
        largest: The most that is read. [bytes]

    Raises:
        FileError: It is closed, or holds more.
        DesignError: It is not text in UTF-8.
    """
    from knobmenu.files.opening import decode_text

    with _name_input(what):
        content = sys.stdin.buffer.read(largest + 1)
    if len(content) > largest:
        raise FileError("standard input", f"at most {largest} bytes", "more", "Give it in parts.")
    return decode_text(content, "standard input")


def read_lines() -> Iterator[str]:
    """Walk the lines of standard input as they come; bytes that are not UTF-8 are spelled out.

    Raises:
        FileError: It is closed.
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


# The gate.


class Gate(io.TextIOBase):
    """Passes words on to a stream, each line made printable."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def write(self, text: str, /) -> int:
        """Write words."""
        self._stream.write("\n".join(map(printable, text.split("\n"))))
        return len(text)

    def flush(self) -> None:
        """Write what is held back."""
        self._stream.flush()

    def isatty(self) -> bool:
        """Return whether a terminal reads."""
        return self._stream.isatty()

    def fileno(self) -> int:
        """Return the descriptor."""
        return self._stream.fileno()

    @property
    def buffer(self) -> BinaryIO:
        """The stream of bytes below, which nothing is escaped in."""
        return self._stream.buffer

    @property
    def encoding(self) -> str:  # type: ignore[override]
        """The encoding of the stream."""
        return self._stream.encoding


@contextlib.contextmanager
def guard_output() -> Iterator[None]:
    """Let words pass the gate while a command runs, and everything that was printed be written before it ends.

    Raises:
        OSError: Standard output cannot be written; what was not written is dropped.
    """
    _open_closed()
    stream = sys.stdout
    if isinstance(stream, io.TextIOWrapper):
        # A character that the encoding lacks is spelled out, too.
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


def print_if_open(words: str) -> None:
    """Print words, unless the terminal is gone: the last words of a command that was ended by that."""
    try:
        print(words, flush=True)
    except OSError:
        if sys.__stdout__ is not None:
            _drop(sys.__stdout__)


def complain(words: str) -> None:
    """Say what is wrong on standard error, if there is anybody to hear it."""
    with contextlib.suppress(OSError, ValueError):
        print("\n".join(map(printable, words.split("\n"))), file=sys.stderr, flush=True)


def format_complaint(error: OSError) -> str:
    """Return what is wrong with the output that could not be written."""
    name = f"{error.filename}: " if error.filename else "standard output: "
    return f"{name}expected an output that can be written, got {(error.strerror or str(error)).lower()}."


def _open_closed() -> None:
    """Attach each closed standard stream to a descriptor that fails as a closed one does.

    Otherwise, the next file that is opened would take its number, and standard output would be written into it.
    """
    for number, (name, flags, mode) in enumerate(_STREAMS):
        if getattr(sys, name) is None:
            opened = os.open(os.devnull, flags)
            if opened != number:
                os.dup2(opened, number)
                os.close(opened)
            setattr(sys, name, open(number, mode, encoding="utf-8", closefd=False))  # noqa: SIM115 - as long as the process


_STREAMS = (("stdin", os.O_WRONLY, "r"), ("stdout", os.O_RDONLY, "w"), ("stderr", os.O_WRONLY, "w"))
"""Input cannot be read and output cannot be written; errors vanish."""


def _drop(stream: TextIO) -> None:
    """Let what is still buffered go nowhere, so that the interpreter does not fail with it at its end."""
    with contextlib.suppress(OSError, ValueError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, stream.fileno())
        os.close(nothing)
