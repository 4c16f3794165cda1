"""Every end of an app in a real pseudo-terminal: it exits, with the usual status, and nothing is lost.

The terminal is as it was, and what was done is on disk.

128 and the number of the signal is the status by which shells report a signal (POSIX, Shell Command Language, 2.8.2).
"""

from __future__ import annotations

import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from knobmenu.files.kept import list_kept, resolve_name
from knobmenu.files.locks import is_locked
from knobmenu.files.sessions import find_unfinished
from tests.sampling import WHOLE
from tests.terminal.pty_harness import KNOBMENU, Terminal

SIGNALS = (signal.SIGTERM, signal.SIGHUP, signal.SIGINT, signal.SIGQUIT)

Phase = Callable[[Terminal], None]


def taking_the_screen(terminal: Terminal) -> None:
    while b"\x1b[?1049h" not in terminal.output:
        terminal.pump(0.001)


def just_drawn(terminal: Terminal) -> None:
    while b"quit" not in terminal.output and b"leave" not in terminal.output:
        terminal.pump(0.001)


def at_rest(terminal: Terminal) -> None:
    terminal.wait_for("? shows the keys")
    terminal.settle()


def in_use(terminal: Terminal) -> None:
    """Turn the knob of the device, or of the chain."""
    at_rest(terminal)
    terminal.type_and_wait("\x1b[C", lambda text: "event 1 of 1" in text or "(changed)" in text)


def in_use_then(keys: str, shows: str) -> Phase:
    """Return a phase that keys lead to once the knob was turned, and that a text on the screen tells."""

    def phase(terminal: Terminal) -> None:
        in_use(terminal)
        terminal.type_and_wait(keys, shows)

    return phase


def in_the_palette(terminal: Terminal) -> None:
    in_use(terminal)
    terminal.type("\x10")
    terminal.settle(0.4)


def reloading(terminal: Terminal) -> None:
    in_use(terminal)
    terminal.type("rrrr")


UNTOUCHED: dict[str, Phase] = {"taking_the_screen": taking_the_screen, "just_drawn": just_drawn}
"""The phases in which nothing was done yet."""
BENCH: dict[str, Phase] = {
    **UNTOUCHED,
    "in_use": in_use,
    "in_a_question": in_use_then("s", "Save the "),
    "on_the_page_of_keys": in_use_then("?", "Esc closes this"),
}
TRYING: dict[str, Phase] = {
    **BENCH,
    "in_the_palette": in_the_palette,
    "on_the_bench": in_use_then("e", "motion"),
    "reloading": reloading,
}
PHASES = {"try": TRYING, "bench": BENCH}
ENDS = [(name, phase, number) for name, phases in PHASES.items() for phase in phases for number in SIGNALS]
SAMPLED = ENDS if WHOLE else [end for number, end in enumerate(ENDS) if number % 5 == 0]


def kept(name: str, design_file: Path) -> int:
    """Count what is offered again: sessions of the design, or chains."""
    if name == "try":
        return len(find_unfinished([resolve_name(design_file)]))
    return sum(not is_locked(path) for path in list_kept("chains"))


def command(name: str, design_file: Path) -> tuple[str, ...]:
    return (*KNOBMENU, "try", str(design_file)) if name == "try" else (*KNOBMENU, "bench", "live")


@pytest.mark.parametrize(("name", "phase", "number"), SAMPLED, ids=lambda part: getattr(part, "name", part))
def test_a_signal_ends_it_and_the_terminal_is_as_it_was(
    design_file: Path, name: str, phase: str, number: signal.Signals
) -> None:
    with Terminal(command(name, design_file), 100, 30, reports_releases=True) as terminal:
        PHASES[name][phase](terminal)
        terminal.process.send_signal(number)
        assert terminal.wait() == 128 + number
        assert {what for what, true in terminal.left.items() if true} == set()
        assert b"Traceback" not in terminal.output
    assert kept(name, design_file) == (phase not in UNTOUCHED)


@pytest.mark.parametrize(
    ("name", "phase"),
    [(name, phase) for name, phases in PHASES.items() for phase in phases],
)
def test_what_was_done_is_on_disk_when_it_is_killed(design_file: Path, name: str, phase: str) -> None:
    with Terminal(command(name, design_file), 100, 30) as terminal:
        PHASES[name][phase](terminal)
        terminal.process.kill()
        terminal.process.wait(10)
    assert kept(name, design_file) == (phase not in UNTOUCHED)


@pytest.mark.parametrize("number", SIGNALS, ids=lambda number: number.name)
def test_a_signal_while_it_is_loading_ends_it(design_file: Path, number: signal.Signals) -> None:
    ended = 0
    for delay_s in (0.02, 0.1, 0.2):
        with Terminal(command("try", design_file)) as terminal:
            time.sleep(delay_s)
            terminal.process.send_signal(number)
            status = terminal.wait()
            if any(words in terminal.output for words in (b"Fatal Python error", b"Could not import runpy")):
                continue  # the interpreter itself was still starting, and none of the program had run
            # Before the screen is taken, there is nothing to put back: the signal does what it does to any program.
            assert status in (-number, 128 + number, 130)
            assert {what for what, true in terminal.left.items() if true} == set()
            ended += 1
    assert ended


@pytest.mark.parametrize("name", ["try", "bench"])
@pytest.mark.parametrize("number", [None, *SIGNALS], ids=lambda number: number.name if number else "closed")
def test_it_ends_where_its_terminal_is_gone_or_no_longer_reads(
    design_file: Path, name: str, number: signal.Signals | None
) -> None:
    with Terminal(command(name, design_file), 100, 30) as terminal:
        in_use(terminal)
        if number is None:
            closed = terminal.close()
        else:
            # A terminal that has stopped reading: more is to be written than it takes, a whole screen for each look.
            terminal.flood(b"c" * 200)
            terminal.process.send_signal(number)
            closed = terminal.process
        assert closed.wait(10) == 128 + (number or signal.SIGHUP)
    assert kept(name, design_file) == 1


def test_a_pause_gives_the_terminal_back_and_then_all_is_drawn_again(design_file: Path) -> None:
    with Terminal(command("try", design_file), 80, 24) as terminal:
        at_rest(terminal)
        before = terminal.text
        for pause in ("key", "signal"):
            shown = len(terminal.output)
            if pause == "key":
                terminal.type("\x1a")
            else:
                terminal.process.send_signal(signal.SIGTSTP)
            until(lambda: state_of(terminal.process.pid) == "T", terminal)
            assert {what for what, true in terminal.left.items() if true} == set()
            terminal.process.send_signal(signal.SIGCONT)
            until(lambda shown=shown: b"quit" in terminal.output[shown:], terminal)  # type: ignore[misc]
            assert terminal.settle(0.4) == before
        terminal.type("q")
        assert terminal.wait() == 0


def until(true: Callable[[], bool], terminal: Terminal) -> None:
    end = time.monotonic() + 10
    while not true():
        assert time.monotonic() < end, terminal.text
        terminal.pump(0.02)


def state_of(process: int) -> str:
    """Return a process's state, ``T`` while it is stopped (proc(5), /proc/pid/stat)."""
    if not Path("/proc/self/stat").exists():
        words = subprocess.run(["ps", "-o", "state=", "-p", str(process)], capture_output=True, text=True, check=True)
        return words.stdout.strip()[:1]
    return Path(f"/proc/{process}/stat").read_text(encoding="ascii", errors="replace").rpartition(")")[2].split()[0]
