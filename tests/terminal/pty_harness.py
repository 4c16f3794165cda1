"""A program in a real terminal: a pseudo-terminal whose output pyte reads, and tmux.

Nothing here knows the program. A `Terminal` answers the queries that a terminal answers, so that a program which asks
for reports of key releases can be given them, can be refused them, or can be left without an answer.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import random
import re
import select
import shlex
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Mapping, Sequence
from itertools import count
from pathlib import Path
from tempfile import gettempdir
from typing import Any

import pyte

KNOBMENU = (sys.executable, "-m", "knobmenu")

_UNREADABLE = re.compile(
    rb"\x1b\[[<>=][0-9;]*[a-zA-Z]|\x1b\[\?[0-9;]*\$p|\x1b\[\?u|\x1bP[^\x1b]*\x1b\\|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)"
)
"""What pyte would print instead of obeying it: private sequences, and strings for the terminal itself."""

_QUERY = re.compile(rb"\x1b\[\?(?:2026\$p|u)")
"""What a program asks: whether output can be synchronized, and which reports of keys are on."""

_COLOUR = re.compile(rb"\x1b\[[0-9;:]*m")


def environment(**changes: str | None) -> dict[str, str]:
    """Give the environment of a modern terminal, without what would change a program's look; None takes away."""
    kept = {key: os.environ[key] for key in ("PATH", "HOME", "LANG", "LC_ALL", "XDG_STATE_HOME") if key in os.environ}
    base = {
        **kept,
        "LANG": kept.get("LANG", "C.UTF-8"),
        "TERM": "xterm-256color",
        "COLORTERM": "truecolor",
        "PYTHONPATH": str(Path(__file__).parents[2]),
        # The program starts as an installed one does, from compiled files, and leaves none in the source tree.
        "PYTHONPYCACHEPREFIX": str(Path(gettempdir()) / f"knobmenu-compiled-{os.getuid()}"),
    }
    return {key: value for key, value in {**base, **changes}.items() if value is not None}


class Link:
    """A slow line: what is typed arrives late, unevenly, and may arrive piece by piece."""

    def __init__(self, delay_ms: float, jitter_ms: float, seed: int) -> None:
        """Say how slow.

        Args:
            delay_ms: One way. [ms]
            jitter_ms: At most so much more, never overtaking. [ms]
            seed: Of the unevenness.
        """
        self._delay = delay_ms / 1000
        self._jitter = jitter_ms / 1000
        self._random = random.Random(seed)
        self._last = 0.0

    def arrival(self, sent: float) -> float:
        """Return when something arrives that is sent at a time. [s]"""
        self._last = max(self._last, sent + self._delay + self._random.random() * self._jitter)
        return self._last


class Terminal:
    """A program running in a pseudo-terminal."""

    def __init__(
        self,
        command: Sequence[str],
        columns: int = 80,
        rows: int = 24,
        env: Mapping[str, str] | None = None,
        reports_releases: bool | None = None,
        link: Link | None = None,
        directory: Path | None = None,
    ) -> None:
        """Start a program.

        Args:
            command: The program and its arguments.
            columns: Width. [terminal cells]
            rows: Height. [terminal cells]
            env: Its environment; that of `environment` if none is given.
            reports_releases: What a query for the keyboard's reports is answered; None: nothing.
            link: The line between the keyboard and the program; a perfect one without.
            directory: Where it runs.
        """
        self.output = bytearray()
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)
        self._read = 0
        self._answered = 0
        self._reports = reports_releases
        self._link = link
        self._waiting: list[tuple[float, bytes]] = []
        self._master, slave = os.openpty()
        self.resize(columns, rows, tell=False)
        self.before = termios.tcgetattr(slave)
        self._slave = slave
        self.process = subprocess.Popen(
            list(command),
            stdin=slave,
            stdout=slave,
            stderr=slave,
            env=dict(env) if env is not None else environment(),
            cwd=directory,
            start_new_session=True,
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
        )

    def __enter__(self) -> Terminal:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        self.close()

    def close(self) -> subprocess.Popen[bytes]:
        """Close the terminal, as its window's button does; return the program, which has lost it."""
        for descriptor in (self._slave, self._master):
            with contextlib.suppress(OSError):
                os.close(descriptor)
        return self.process

    def flood(self, keys: bytes) -> None:
        """Type as much as the line takes, and read nothing of what that gives."""
        os.set_blocking(self._master, False)
        until = time.monotonic() + 1.5
        while time.monotonic() < until:
            with contextlib.suppress(BlockingIOError):
                os.write(self._master, keys)
            time.sleep(0.05)

    # The keyboard.

    def type(self, keys: bytes | str) -> None:
        """Type at once, or as the line lets it through."""
        data = keys.encode() if isinstance(keys, str) else keys
        if self._link is None:
            self._write(data)
            return
        now = time.monotonic()
        for byte in data:
            self._waiting.append((self._link.arrival(now), bytes([byte])))

    def _write(self, data: bytes) -> None:
        """Write everything, reading meanwhile: a full pipe in both directions would stop both sides."""
        while data:
            _, writable, _ = select.select([], [self._master], [], 0.01)
            if writable:
                data = data[os.write(self._master, data[:2048]) :]
            self.pump(0)

    def _deliver(self) -> None:
        now = time.monotonic()
        while self._waiting and self._waiting[0][0] <= now:
            os.write(self._master, self._waiting.pop(0)[1])

    # The screen.

    def pump(self, timeout: float) -> bool:
        """Take what the program wrote; tell whether it wrote anything."""
        self._deliver()
        if self._waiting:
            timeout = min(timeout, 0.002)
        readable, _, _ = select.select([self._master], [], [], timeout)
        if not readable:
            return False
        try:
            data = os.read(self._master, 1 << 16)
        except OSError:
            return False
        self.output += data
        self._answer()
        return bool(data)

    def _answer(self) -> None:
        # A query may be cut in two by reading: what cannot be the beginning of one is done with. All are found and
        # done with before the first is answered, for typing an answer reads on and so comes back here.
        fresh = bytes(self.output[self._answered :])
        queries = list(_QUERY.finditer(fresh))
        end = queries[-1].end() if queries else 0
        self._answered += max(end, len(fresh) - len(b"\x1b[?2026$"), 0)
        for query in queries:
            if query.group() == b"\x1b[?u":
                if self._reports is not None:
                    self.type(f"\x1b[?{27 if self._reports else 25}u")
            else:
                self.type(b"\x1b[?2026;2$y")

    @property
    def lines(self) -> list[str]:
        """What the screen shows."""
        fresh = bytes(self.output[self._read :])
        self._read = len(self.output)
        self._stream.feed(_UNREADABLE.sub(b"", fresh))
        return list(self._screen.display)

    @property
    def text(self) -> str:
        """What the screen shows, as one text."""
        return "\n".join(self.lines)

    @property
    def cells(self) -> list[list[pyte.screens.Char]]:
        """Every cell of the screen: its character, its colours and how it is written."""
        rows, columns = len(self.lines), self._screen.columns
        return [[self._screen.buffer[y][x] for x in range(columns)] for y in range(rows)]

    @property
    def colour_codes(self) -> list[bytes]:
        """Every sequence so far that sets a colour (ECMA-48, SGR 30 to 49 and 90 to 107, but not "default")."""
        found = []
        for code in _COLOUR.findall(bytes(self.output)):
            numbers = [int(part or 0) for part in re.split(rb"[;:]", code[2:-1])]
            if any(30 <= one <= 38 or 40 <= one <= 48 or 90 <= one <= 107 for one in numbers):
                found.append(code)
        return found

    def wait_for(self, what: str | Callable[[str], bool], timeout: float = 10.0) -> str:
        """Wait until the screen shows a text, or is as asked; return it.

        Raises:
            AssertionError: It did not become so in time; says what it shows.
        """
        found = what if callable(what) else lambda text: what in text
        until = time.monotonic() + timeout
        while time.monotonic() < until:
            if found(self.text):
                return self.text
            if not self.pump(0.05) and self.process.poll() is not None:
                while self.pump(0.01):
                    pass
                if found(self.text):
                    return self.text
                break
        raise AssertionError(
            f"the screen never showed {what if isinstance(what, str) else 'what was awaited'!r}; it shows\n{self.text}"
        )

    def type_and_wait(self, keys: bytes | str, what: str | Callable[[str], bool], timeout: float = 10.0) -> str:
        """Type keys, and wait until the screen shows a text, or is as asked; return it.

        Raises:
            AssertionError: It did not become so in time; says what it shows.
        """
        self.type(keys)
        return self.wait_for(what, timeout)

    def type_until(self, keys: bytes | str, shows: str, timeout: float = 30.0) -> None:
        """Type keys until the screen shows a text: some screens take no key in their first moment.

        Raises:
            AssertionError: It did not show the text in time; says what it shows.
        """
        until = time.monotonic() + timeout
        while shows not in self.text:
            assert time.monotonic() < until, self.text
            self.type(keys)
            with contextlib.suppress(AssertionError):
                self.wait_for(shows, timeout=1.5)

    def settle(self, quiet: float = 0.15, timeout: float = 10.0) -> str:
        """Wait until nothing was written for a while; return what the screen shows."""
        until = time.monotonic() + timeout
        last = time.monotonic()
        while time.monotonic() < until and (self._waiting or time.monotonic() - last < quiet):
            if self.pump(min(quiet, 0.02)):
                last = time.monotonic()
        return self.text

    def resize(self, columns: int, rows: int, tell: bool = True) -> None:
        """Make the terminal another size, and tell the program."""
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        if tell:
            _ = self.lines
            self._screen.resize(rows, columns)
            os.killpg(self.process.pid, signal.SIGWINCH)

    # The end.

    def wait(self, timeout: float = 10.0) -> int:
        """Wait until the program ends; return its exit code, negative where a signal ended it.

        Raises:
            AssertionError: It did not end in time.
        """
        until = time.monotonic() + timeout
        while self.process.poll() is None and time.monotonic() < until:
            self.pump(0.02)
        while self.pump(0.02):
            pass
        if self.process.poll() is None:
            raise AssertionError(f"the program did not end; its screen shows\n{self.text}")
        return int(self.process.returncode)

    @property
    def left(self) -> dict[str, bool]:
        """What a program left behind that it should have put back, by name; all are to be false."""
        modes: dict[bytes, bool] = {}
        for number, end in re.findall(rb"\x1b\[\?([0-9]+)([hl])", bytes(self.output)):
            modes[number] = end == b"h"
        pushed = len(re.findall(rb"\x1b\[>[0-9]*u", bytes(self.output)))
        popped = len(re.findall(rb"\x1b\[<[0-9]*u", bytes(self.output)))
        mouse = (b"1000", b"1002", b"1003", b"1006", b"1015")
        return {
            "line settings": termios.tcgetattr(self._slave) != self.before,
            "alternate screen": modes.get(b"1049", False),
            "hidden cursor": not modes.get(b"25", True),
            "mouse reports": any(modes.get(mode, False) for mode in mouse),
            "focus reports": modes.get(b"1004", False),
            "bracketed paste": modes.get(b"2004", False),
            "keyboard reports": pushed > popped,
        }

    @property
    def memory_kib(self) -> int:
        """Memory that the program holds now. [KiB]"""
        status = Path(f"/proc/{self.process.pid}/status").read_text(encoding="utf-8")
        found = re.search(r"VmRSS:\s+([0-9]+) kB", status)
        assert found is not None
        return int(found[1])


_numbers = count()


class Tmux:
    """A program in a window of its own tmux server."""

    def __init__(self, command: Sequence[str], columns: int, rows: int, env: Mapping[str, str] | None = None) -> None:
        """Start a server, and the program in it.

        Args:
            command: The program and its arguments.
            columns: Width. [terminal cells]
            rows: Height. [terminal cells]
            env: Its environment; that of `environment` if none is given. TERM is tmux's own.
        """
        self._socket = f"knobmenu-{os.getpid()}-{next(_numbers)}"
        wanted = dict(env) if env is not None else environment()
        wanted.pop("TERM", None)
        settings = [f"{key}={value}" for key, value in wanted.items()]
        words = shlex.join(["env", "-i", "TERM=screen-256color", *settings, *command])
        self._tmux("-f", os.devnull, "new-session", "-d", "-x", str(columns), "-y", str(rows), f"{words}; sleep 60")

    def __enter__(self) -> Tmux:
        return self

    def __exit__(self, *_: object) -> None:
        with contextlib.suppress(subprocess.CalledProcessError):
            self._tmux("kill-server")

    def _tmux(self, *words: str) -> str:
        done: Any = subprocess.run(
            ["tmux", "-L", self._socket, *words],
            check=True,
            capture_output=True,
            text=True,
            env={**environment(), "LC_ALL": "C.UTF-8"},
        )
        return str(done.stdout)

    def type(self, *keys: str) -> None:
        """Type keys by tmux's names for them."""
        self._tmux("send-keys", *keys)

    def resize(self, columns: int, rows: int) -> None:
        """Make the window another size."""
        self._tmux("resize-window", "-x", str(columns), "-y", str(rows))

    @property
    def text(self) -> str:
        """What the window shows."""
        return self._tmux("capture-pane", "-p")

    def wait_for(self, what: str | Callable[[str], bool], timeout: float = 10.0) -> str:
        """Wait until the window shows a text, or is as asked; return what it shows.

        Raises:
            AssertionError: It did not become so in time.
        """
        found = what if callable(what) else lambda text: what in text
        until = time.monotonic() + timeout
        text = ""
        while time.monotonic() < until:
            text = self.text
            if found(text):
                return text
            time.sleep(0.05)
        raise AssertionError(f"the window never showed what was awaited; it shows\n{text}")
