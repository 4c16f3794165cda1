"""Every end of an app in a real pseudo-terminal: it exits, with the usual status, and the terminal is as it was.

128 and the number of the signal is the status by which shells report a signal (POSIX, Shell Command Language, 2.8.2).
"""

from __future__ import annotations

import signal
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.sampling import WHOLE
from tests.terminal.pty_harness import KNOBMENU, Terminal
from tests.terminal.reading import steady_lamp

SIGNALS = (signal.SIGTERM, signal.SIGHUP, signal.SIGINT, signal.SIGQUIT)


@pytest.fixture
def design_file(tmp_path: Path) -> Path:
    path = tmp_path / "lamp.toml"
    path.write_text(steady_lamp(), encoding="utf-8")
    return path


def taking_the_screen(terminal: Terminal) -> None:
    while b"\x1b[?1049h" not in terminal.output:
        terminal.pump(0.001)


def just_drawn(terminal: Terminal) -> None:
    while b"quit" not in terminal.output and b"leave" not in terminal.output:
        terminal.pump(0.001)


def at_rest(terminal: Terminal) -> None:
    terminal.wait_for("? shows the keys")
    terminal.settle()


def in_a_question(terminal: Terminal) -> None:
    at_rest(terminal)
    terminal.type("s")
    terminal.wait_for("Save the ")


def on_the_page_of_keys(terminal: Terminal) -> None:
    at_rest(terminal)
    terminal.type("?")
    terminal.wait_for("Esc closes this")


def in_the_palette(terminal: Terminal) -> None:
    at_rest(terminal)
    terminal.type("\x10")
    terminal.settle(0.4)


def on_the_bench(terminal: Terminal) -> None:
    at_rest(terminal)
    terminal.type("e")
    terminal.wait_for("motion")


def reloading(terminal: Terminal) -> None:
    at_rest(terminal)
    terminal.type("rrrr")


Phase = Callable[[Terminal], None]
TRYING: tuple[Phase, ...] = (
    taking_the_screen,
    just_drawn,
    at_rest,
    in_a_question,
    on_the_page_of_keys,
    in_the_palette,
    on_the_bench,
    reloading,
)
BENCH: tuple[Phase, ...] = (taking_the_screen, just_drawn, at_rest, in_a_question, on_the_page_of_keys)
ENDS = [("try", phase, number) for phase in TRYING for number in SIGNALS]
ENDS += [("bench", phase, number) for phase in BENCH for number in SIGNALS]
SAMPLED = ENDS if WHOLE else [end for number, end in enumerate(ENDS) if number % 5 == 0]


def command(name: str, design_file: Path) -> tuple[str, ...]:
    return (*KNOBMENU, "try", str(design_file)) if name == "try" else (*KNOBMENU, "bench", "live")


@pytest.mark.parametrize(
    ("name", "phase", "number"), SAMPLED, ids=lambda part: getattr(part, "__name__", getattr(part, "name", part))
)
def test_a_signal_ends_it_and_the_terminal_is_as_it_was(
    design_file: Path, name: str, phase: Phase, number: signal.Signals
) -> None:
    with Terminal(command(name, design_file), 100, 30, reports_releases=True) as terminal:
        phase(terminal)
        terminal.process.send_signal(number)
        assert terminal.wait() == 128 + number
        assert {what for what, true in terminal.left.items() if true} == set()
        assert b"Traceback" not in terminal.output


@pytest.mark.parametrize("number", SIGNALS, ids=lambda number: number.name)
def test_a_signal_while_it_is_loading_ends_it(design_file: Path, number: signal.Signals) -> None:
    for delay_s in (0.02, 0.1, 0.2):
        with Terminal(command("try", design_file)) as terminal:
            time.sleep(delay_s)
            terminal.process.send_signal(number)
            status = terminal.wait()
            if b"Fatal Python error" in terminal.output:
                continue  # the interpreter itself was still starting, and none of the program had run
            # Before the screen is taken, there is nothing to put back: the signal does what it does to any program.
            assert status in (-number, 128 + number, 130)
            assert {what for what, true in terminal.left.items() if true} == set()


@pytest.mark.parametrize("name", ["try", "bench"])
@pytest.mark.parametrize("number", [None, *SIGNALS], ids=lambda number: number.name if number else "closed")
def test_it_ends_where_its_terminal_is_gone_or_no_longer_reads(
    design_file: Path, name: str, number: signal.Signals | None
) -> None:
    with Terminal(command(name, design_file), 100, 30) as terminal:
        at_rest(terminal)
        if number is None:
            closed = terminal.close()
        else:
            # A terminal that has stopped reading: more is to be written than it takes, a whole screen for each look.
            terminal.flood(b"c" * 200)
            terminal.process.send_signal(number)
            closed = terminal.process
        assert closed.wait(10) == 128 + (number or signal.SIGHUP)


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
