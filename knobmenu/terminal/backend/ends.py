"""How an app ends: whatever the signal and the moment, the terminal is restored and the status is the usual one.

The first signal asks the app to leave, as a person would. If it has not left after `PATIENCE_S` - its terminal may be
stopped, so that it waits to write - the terminal is restored from outside and the process ends immediately.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType
from typing import Any

from textual.app import App

PATIENCE_S = 2.0
"""How long the app may take to exit. [s]"""

SIGNALS = ("SIGHUP", "SIGINT", "SIGQUIT", "SIGTERM")
"""The signals that ask a program to end."""

_PAUSES = ("SIGTSTP", "SIGCONT", "SIGWINCH")
"""Those that Textual's driver answers, and leaves so."""

RESTORING = "".join(
    (
        *(f"\x1b[?{mode}l" for mode in (1000, 1002, 1003, 1004, 1006, 1015, 1016, 2004, 2026, 2048)),
        *("\x1b[<u", "\x1b[?7h", "\x1b[0m", "\x1b[?1049l", "\x1b[?25h"),
    )
)
"""What puts a terminal back: reports of mouse, focus, pastes and sizes off; then keyboard, line wrap, colours, screen,
and cursor (xterm's control sequences, and the kitty keyboard protocol's pop)."""


def run(app: App[Any]) -> int:
    """Run an app until it ends.

    Args:
        app: The app; its own return code is heeded.

    Returns:
        The exit status: 128 and the number of the signal that ended it, as shells count.
    """
    with _end_on_signals(app) as ended_by:
        app.run()
    if ended_by:
        # A key typed in between may have asked the app to leave, too.
        return 128 + ended_by[0]
    return app.return_code or 0


@contextmanager
def _end_on_signals(app: App[Any]) -> Iterator[list[int]]:
    """Ask the app to leave at a signal, and put everything back afterwards; give the signals that came."""
    before = _get_line_settings()
    left = threading.Event()

    def leave(number: int, _: FrameType | None) -> None:
        numbers.append(number)
        if len(numbers) == 1:
            threading.Thread(target=_force_end, args=(left, number, before), daemon=True).start()
        try:
            # A signal is answered in the main thread, in the middle of whatever the loop does.
            asyncio.get_running_loop().call_soon_threadsafe(app.exit, None, 128 + number)
        except RuntimeError:
            raise SystemExit(128 + number) from None

    numbers: list[int] = []
    handlers = {}
    for name in (*SIGNALS, *_PAUSES):
        # Only the main thread may answer signals, and Windows lacks some.
        with suppress(ValueError, AttributeError):
            number = getattr(signal, name)
            handlers[number] = signal.getsignal(number)
            if name in SIGNALS:
                signal.signal(number, leave)
    try:
        yield numbers
    finally:
        left.set()
        for number, handler in handlers.items():
            signal.signal(number, handler)
        if numbers:
            _restore(before)
        _drop_unwritable()


def _force_end(left: threading.Event, number: int, before: list[Any] | None) -> None:
    """End the process if the app does not leave in time."""
    if not left.wait(PATIENCE_S):
        _restore(before)
        os._exit(128 + number)


def _drop_unwritable() -> None:
    """Point outputs whose terminal is gone at nothing: the interpreter would fail at its end with what they hold."""
    for stream in (sys.__stdout__, sys.__stderr__):
        if stream is None:
            continue
        try:
            stream.flush()
        except OSError:
            with suppress(OSError, ValueError):
                nothing = os.open(os.devnull, os.O_WRONLY)
                os.dup2(nothing, stream.fileno())
                os.close(nothing)


def _get_line_settings() -> list[Any] | None:
    """Return the terminal's line settings; None without a terminal."""
    if sys.platform == "win32":
        return None
    import termios

    with suppress(OSError, ValueError, AttributeError, termios.error):
        return termios.tcgetattr(sys.__stdin__.fileno())  # type: ignore[union-attr]
    return None


def _restore(before: list[Any] | None) -> None:
    """Put the terminal back, without waiting for it: what it has not shown yet is dropped if need be."""
    if before is None or sys.platform == "win32":
        return
    import termios

    with suppress(OSError, ValueError, AttributeError, termios.error):
        descriptor = sys.__stdin__.fileno()  # type: ignore[union-attr]
        # Not TCSAFLUSH, which would wait for a stopped terminal to show the rest.
        termios.tcflush(descriptor, termios.TCIFLUSH)
        termios.tcsetattr(descriptor, termios.TCSANOW, before)
        termios.tcflow(descriptor, termios.TCOON)
        output = sys.__stderr__.fileno()  # type: ignore[union-attr]
        os.set_blocking(output, False)
        try:
            os.write(output, RESTORING.encode())
        except BlockingIOError:
            termios.tcflush(output, termios.TCOFLUSH)
            os.write(output, RESTORING.encode())
        finally:
            os.set_blocking(output, True)
