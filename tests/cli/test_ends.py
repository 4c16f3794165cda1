"""Every end of what runs beside the desk and the bench: a sitting, a replay, a moderator's view, a server.

Each exits with the usual status, restores the terminal, leaves no process, and what was made is on disk. For `try` and
`bench live`, see tests/terminal/test_ends.py. 128 and the number of the signal is the status by which shells report a
signal (POSIX, Shell Command Language, 2.8.2).
"""

from __future__ import annotations

import base64
import contextlib
import re
import shutil
import signal
import socket
import time
from collections.abc import Callable, Iterator
from http.client import HTTPConnection
from pathlib import Path

import pytest

from knobmenu.cli.sittings import open_sitting
from knobmenu.files.locks import is_locked
from knobmenu.files.recordings import read_recording
from knobmenu.files.sittings import LOCK, get_notes_path, get_sitting_path, get_sittings_folder
from knobmenu.files.studies import load_study
from knobmenu.review.study_form import read_study
from tests.cli.participant import ESCAPE, begin_first_task, read_first_task
from tests.demos.playing import DEMOS
from tests.review.participants import least, sit_on_disk
from tests.sampling import WHOLE
from tests.terminal.pty_harness import KNOBMENU, Terminal

pytestmark = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs Linux's list of processes")

SIGNALS = (signal.SIGTERM, signal.SIGHUP, signal.SIGINT, signal.SIGQUIT)

STUDY = DEMOS / "study"

RIGHT = "\x1b[C"


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """A study with one sitting that is over, p01."""
    for path in STUDY.glob("*.toml"):
        shutil.copy(path, tmp_path)
    sit_on_disk(tmp_path / "study.toml", least, 0)
    return tmp_path / "study.toml"


# The phases.


def taking_the_screen(terminal: Terminal) -> None:
    while b"\x1b[?1049h" not in terminal.output:
        assert terminal.process.poll() is None, terminal.text
        terminal.pump(0.001)


def asked_for_consent(terminal: Terminal) -> None:
    terminal.wait_for("I agree", timeout=30)


def reading_a_task(terminal: Terminal) -> None:
    read_first_task(terminal)


def in_a_task(terminal: Terminal) -> None:
    begin_first_task(terminal)
    terminal.type(RIGHT)
    terminal.settle()


def asked_whether_to_give_up(terminal: Terminal) -> None:
    in_a_task(terminal)
    terminal.type_until(ESCAPE, "Give up this task")


def playing(terminal: Terminal) -> None:
    terminal.wait_for("playing", timeout=30)


def stopped(terminal: Terminal) -> None:
    playing(terminal)
    terminal.type_and_wait(" ", "stopped", timeout=30)


def at_the_end(terminal: Terminal) -> None:
    playing(terminal)
    terminal.type_and_wait("\x1b[F", "ended", timeout=30)


def following(terminal: Terminal) -> None:
    terminal.wait_for("It is not being recorded now", timeout=30)


def writing_a_note(terminal: Terminal) -> None:
    following(terminal)
    terminal.type_and_wait("kept\r", "noted: kept", timeout=30)
    terminal.type_and_wait("not yet", "note: not yet_", timeout=30)


def serving(terminal: Terminal) -> None:
    terminal.wait_for(lambda text: link_of(text) is not None, timeout=30)


def with_a_participant(terminal: Terminal) -> None:
    """Let a participant's page connect, so that an app of theirs runs."""
    serving(terminal)
    found = link_of(terminal.text)
    assert found is not None
    port, path = found
    with contextlib.closing(HTTPConnection("127.0.0.1", port, timeout=30)) as page:
        page.request("POST", path)
        answer = page.getresponse()
        cookie = (answer.getheader("Set-Cookie") or "").partition(";")[0]
        answer.read()
    line = socket.create_connection(("127.0.0.1", port), 30)
    site, key = f"127.0.0.1:{port}", base64.b64encode(b"sixteen bytes...").decode()
    head = f"GET /ws?width=80&height=24 HTTP/1.1\r\nHost: {site}\r\nOrigin: http://{site}\r\nCookie: {cookie}\r\n"
    head += (
        f"Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Key: {key}\r\nSec-WebSocket-Version: 13\r\n\r\n"
    )
    PAGES.append(line)
    line.sendall(head.encode())
    received = b""
    while b"I agree" not in received:
        block = line.recv(1 << 16)
        assert block, received
        received += block


PAGES: list[socket.socket] = []
"""Connections that stay open while a server ends."""


@pytest.fixture(autouse=True)
def _close_pages() -> Iterator[None]:
    yield
    while PAGES:
        PAGES.pop().close()


def link_of(text: str) -> tuple[int, str] | None:
    """Return the port and the path of a participant's link; a narrow terminal wraps it."""
    found = re.search(r"http://127\.0\.0\.1:([0-9]+)(/join/[\w-]{32})", re.sub(r"\s", "", text))
    return None if found is None else (int(found[1]), found[2])


# The ends.


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


Phase = Callable[[Terminal], None]
PHASES: dict[str, tuple[Phase, ...]] = {
    "study": (taking_the_screen, asked_for_consent, reading_a_task, in_a_task, asked_whether_to_give_up),
    "replay": (taking_the_screen, playing, stopped, at_the_end),
    "watch": (following, writing_a_note),
    "serve": (serving, with_a_participant),
}
CASES = [(name, phase, number) for name, phases in PHASES.items() for phase in phases for number in (None, *SIGNALS)]
SAMPLED = CASES if WHOLE else CASES[::4]
"""Five ends of each phase: every fourth is a fifth of each end, and more than one end of each app."""


def command(name: str, study: Path) -> list[str]:
    words = {
        "study": ["study", str(study), "--participant", "p02"],
        "replay": ["replay", str(get_sitting_path(study, "p01"))],
        "watch": ["watch", str(get_sitting_path(study, "p01"))],
        "serve": ["serve", str(study), "--port", str(free_port())],
    }
    return [*KNOBMENU, *words[name]]


def processes_of(session: int) -> list[int]:
    """Return the processes of a session, which a terminal's program and all that it starts are (proc(5))."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            fields = path.read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()
            if int(fields[3]) == session and fields[0] != "Z":
                found.append(int(path.parent.name))
    return found


@pytest.mark.parametrize(
    ("name", "phase", "number"),
    SAMPLED,
    ids=lambda part: "closed" if part is None else getattr(part, "__name__", getattr(part, "name", part)),
)
def test_it_ends_with_the_terminal_as_it_was_and_everything_on_disk(
    study: Path, name: str, phase: Phase, number: signal.Signals | None
) -> None:
    recording = get_sitting_path(study, "p01")
    before = recording.read_bytes()
    with Terminal(command(name, study), 120, 30) as terminal:
        phase(terminal)
        process = terminal.process
        if number is None:
            terminal.close()
            assert process.wait(20) == 128 + signal.SIGHUP
        else:
            process.send_signal(number)
            # Ctrl-C is how a server is ended.
            assert terminal.wait(20) == (0 if name == "serve" and number == signal.SIGINT else 128 + number)
            assert {what for what, true in terminal.left.items() if true} == set()
        assert b"Traceback" not in terminal.output
        assert_gone(process.pid)
    assert recording.read_bytes() == before
    if name == "study" or phase is with_a_participant:
        path = get_sitting_path(study, "p02")
        assert not is_locked(path)
        with open_sitting(load_study(study, read_study), study, "p02", 0).file:
            marks = [record for record in read_recording(path)[1] if record.kind == "mark"]
        assert (len(marks) > 1) == (phase in (reading_a_task, in_a_task, asked_whether_to_give_up))
    assert get_notes_path(recording).exists() == (phase is writing_a_note)
    if phase is writing_a_note:
        assert get_notes_path(recording).read_text(encoding="utf-8").count("\n") == 1
    assert {path.suffix for path in get_sittings_folder(study).iterdir()} <= {".jsonl", ".notes", Path(LOCK).suffix}


def assert_gone(session: int) -> None:
    until_s = time.monotonic() + 10
    while left := processes_of(session):
        assert time.monotonic() < until_s, [Path(f"/proc/{one}/cmdline").read_bytes() for one in left]
        time.sleep(0.05)
