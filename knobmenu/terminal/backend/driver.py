"""The terminal: Textual's driver, asking for key releases, and surviving a terminal that goes away.

Nothing of Textual's is replaced: `HoldDriver` reads the keys in a loop of its own and writes through a file of its own.
It uses these private names of Textual: the attributes
``_file``, ``_app``, ``_loop`` and ``_debug`` of its drivers, ``exit_event`` and ``run_input_thread`` of its Linux
driver. `choose_driver` takes the stock driver where one of them is missing.
"""

from __future__ import annotations

import codecs
import os
import selectors
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from textual import events

from knobmenu.terminal.backend.bursts import drop_binary, join_typed
from knobmenu.terminal.backend.parser import REPORT_RELEASES, HoldParser, is_possible

if TYPE_CHECKING:
    from typing import TextIO

    from textual.driver import Driver

GONE = 128 + 1
"""Exit status once the terminal is gone, as after the signal that says so (SIGHUP)."""

_POLL_S = 0.1

_QUIET_S = 0.03
"""Nothing more follows after so long without input: what is pasted comes without pauses. [s]"""

_LONGEST_DISCARD_S = 1.0
"""How long exiting waits for the input to end. [s]"""


class TerminalFile:
    """A terminal's output that drops everything once the terminal is gone, and reports that once.

    The thread that writes to a terminal would end at the first error, and the app would wait for it for ever.
    """

    def __init__(self, file: TextIO, on_gone: Callable[[], object]) -> None:
        """Wrap an output.

        Args:
            file: The output.
            on_gone: Called once, in the thread that writes.
        """
        self._file = file
        self._on_gone = on_gone
        self.gone = False

    def write(self, text: str) -> None:
        """Write a text."""
        self._attempt(lambda: self._file.write(text))

    def flush(self) -> None:
        """Send what was written."""
        self._attempt(self._file.flush)

    def fileno(self) -> int:
        """Return the descriptor of the output."""
        return self._file.fileno()

    def _attempt(self, do: Callable[[], object]) -> None:
        if self.gone:
            return
        try:
            do()
        except (OSError, ValueError):
            self.gone = True
            self._on_gone()


def choose_driver(stock: type[Driver]) -> type[Driver]:
    """Return the driver that asks for releases where there can be one, else the stock one."""
    if sys.platform == "win32":
        return stock
    from textual.drivers.linux_driver import LinuxDriver

    if stock is not LinuxDriver or not callable(getattr(LinuxDriver, "run_input_thread", None)):
        return stock
    if not hasattr(HoldParser, "_sequence_to_key_events") or os.environ.get("TEXTUAL_DISABLE_KITTY_KEY"):
        return stock

    class HoldDriver(LinuxDriver):
        """Textual's driver, asking for releases."""

        def __init__(self, *arguments: Any, **options: Any) -> None:
            super().__init__(*arguments, **options)
            if self._file is not None:
                self._file = TerminalFile(self._file, self._leave)  # type: ignore[assignment]

        def start_application_mode(self) -> None:
            super().start_application_mode()  # type: ignore[no-untyped-call]
            # Added to what Textual has pushed; its pop at the end takes this back too.
            self.write(f"\x1b[={REPORT_RELEASES};2u\x1b[?u")
            self.flush()

        def run_input_thread(self) -> None:
            """Read keys until the app ends or the terminal is gone."""
            parser = HoldParser(self._debug)
            # Bytes that are not UTF-8 must not end the thread that reads the keys.
            decoder = codecs.getincrementaldecoder("utf-8")(errors="replace")
            with selectors.SelectSelector() as selector, suppress(EOFError):
                selector.register(self.fileno, selectors.EVENT_READ)
                while not self.exit_event.is_set():
                    if selector.select(_POLL_S):
                        data = _read(self.fileno)
                        if not data:
                            self._leave()
                            break
                        # Of a character that the line has cut nothing may be there yet; and no text is the end.
                        if text := drop_binary(decoder.decode(data)):
                            self._process(join_typed(parser.feed(text)))
                    self._process(parser.tick())
                list(parser.feed(""))

        def disable_input(self) -> None:
            """Stop reading, and drop what is still being typed or pasted: the shell would obey it.

            Once the terminal's line settings are restored, a pasted byte can even be a signal.
            """
            super().disable_input()
            _discard(self.fileno)

        def _process(self, messages: Any) -> None:
            for message in messages:
                if not isinstance(message, events.Resize) or is_possible(message.size):
                    self.process_message(message)

        def _leave(self) -> None:
            self._loop.call_soon_threadsafe(self._app.exit, None, GONE)

    return HoldDriver


def _read(descriptor: int) -> bytes:
    """Read what was typed; nothing where the terminal is gone."""
    try:
        return os.read(descriptor, 4096)
    except OSError:
        return b""


def _discard(descriptor: int) -> None:
    """Read input and drop it until it pauses; after `_LONGEST_DISCARD_S` whatever still comes is left."""
    if not os.isatty(descriptor):
        return
    until_s = time.monotonic() + _LONGEST_DISCARD_S
    with selectors.SelectSelector() as selector:
        selector.register(descriptor, selectors.EVENT_READ)
        while time.monotonic() < until_s and selector.select(_QUIET_S) and _read(descriptor):
            pass
