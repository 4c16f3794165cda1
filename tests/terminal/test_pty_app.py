"""The app in a real terminal: real keys, real sizes, slow lines, broken files, and the terminal as it was afterwards.

The display is read off the screen, in whatever form it is drawn there.
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from knobmenu.design.hardware import CharacterDisplay
from knobmenu.picture.forms import Form
from tests.terminal.pty_harness import KNOBMENU, Link, Terminal, environment
from tests.terminal.reading import form_on, showing

UP, DOWN, RIGHT, LEFT = "\x1b[A", "\x1b[B", "\x1b[C", "\x1b[D"
SIZES = ((80, 24), (200, 50))


# Terminals that report releases: the kitty keyboard protocol, "Report event types" and "Report all keys as escape
# codes" (https://sw.kovidgoyal.net/kitty/keyboard-protocol/): CSI code ; modifiers : type ; text u, type 1 press,
# 2 repeat, 3 release; arrows as CSI 1 ; modifiers : type A.

PRESSED, REPEATED, RELEASED = "\x1b[32;1:1u", "\x1b[32;1:2u", "\x1b[32;1:3u"


def trying(path: Path, columns: int = 80, rows: int = 24, **more: object) -> Terminal:
    """Start the app on a design."""
    return Terminal((*KNOBMENU, "try", str(path)), columns, rows, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(("columns", "rows"), SIZES)
def test_keys_turn_and_press_the_knob(design_file: Path, display: CharacterDisplay, columns: int, rows: int) -> None:
    with trying(design_file, columns, rows) as terminal:
        terminal.wait_for(showing(display, "Reading", "60 %"))
        terminal.type_and_wait(UP, showing(display, "65 %"))
        terminal.type_and_wait(DOWN * 2, showing(display, "55 %"))
        terminal.type_and_wait(" ", showing(display, ">Mood"))
        terminal.type_and_wait(RIGHT, showing(display, ">Wake"))
        terminal.type_and_wait("l", showing(display, "55 %"))


def test_the_form_is_chosen_for_the_room_and_again_while_resized(design_file: Path, display: CharacterDisplay) -> None:
    with trying(design_file, 80, 24) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        small = form_on(terminal.lines, display)
        terminal.type_and_wait(UP, showing(display, "65 %"))
        terminal.resize(200, 50)
        terminal.wait_for(lambda text: showing(display, "65 %")(text) and form_on(text.split("\n"), display) != small)
        large = form_on(terminal.lines, display)
        terminal.resize(80, 24)
        terminal.wait_for(lambda text: showing(display, "65 %")(text) and form_on(text.split("\n"), display) == small)

    assert small.kind == "braille"
    assert large in (Form("half"), Form("half", 2))


def test_a_terminal_that_is_too_small_is_told_so_and_comes_back(design_file: Path, display: CharacterDisplay) -> None:
    with trying(design_file, 80, 24) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.resize(30, 8)
        terminal.wait_for(lambda text: "30" in text and "8" in text and not showing(display, "60 %")(text))
        terminal.type(UP)
        terminal.resize(80, 24)
        terminal.wait_for(showing(display, "65 %"))


def test_nothing_is_written_while_nothing_happens(design_file: Path, display: CharacterDisplay) -> None:
    """A calm screen: no clock, no polling, nothing that flickers."""
    with trying(design_file) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.settle(0.5)
        before = len(terminal.output)
        terminal.settle(1.5, 1.5)

        assert len(terminal.output) == before


def test_without_colour_no_colour_is_sent(design_file: Path, display: CharacterDisplay) -> None:
    """NO_COLOR, set and not empty, asks for no added colour (https://no-color.org)."""
    with trying(design_file, env=environment(NO_COLOR="1")) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.type_and_wait(UP + " ", showing(display, ">Mood"))
        terminal.settle()

        assert terminal.colour_codes == []


def test_with_sixteen_colours_only_those_are_sent(design_file: Path, display: CharacterDisplay) -> None:
    with trying(design_file, env=environment(TERM="xterm", COLORTERM=None)) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.settle()

        assert [code for code in terminal.colour_codes if re.search(rb"[34]8[;:]", code)] == []


def test_a_dumb_terminal_gets_lines(design_file: Path) -> None:
    with trying(design_file, env=environment(TERM="dumb")) as terminal:
        terminal.wait_for("Row 2: Light bar")
        terminal.type_and_wait("1\n", "65 %")
        terminal.type("quit\n")
        code = terminal.wait()

        assert b"\x1b" not in terminal.output
    assert code == 0


def test_line_mode_works_through_a_pipe(design_file: Path) -> None:
    done = subprocess.run(
        [*KNOBMENU, "try", "--plain", str(design_file)],
        input="1\npress\nwhere\n",
        capture_output=True,
        text=True,
        env=environment(),
        timeout=20,
        check=False,
    )

    assert done.returncode == 0
    assert done.stderr == ""
    assert "brightness is 65 %." in done.stdout
    assert "Menu: Mood is selected." in done.stdout


def test_a_file_saved_broken_shows_its_errors_and_mended_goes_on(design_file: Path, display: CharacterDisplay) -> None:
    text = design_file.read_text(encoding="utf-8")
    with trying(design_file, 120, 40) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.type_and_wait(UP, showing(display, "65 %"))
        design_file.write_text(text.replace("columns = 16", "columns = 3"), encoding="utf-8")
        terminal.wait_for("columns")
        terminal.type_and_wait(UP, showing(display, "70 %"))
        design_file.write_text(text.replace('left = "Light"', 'left = "Glow"'), encoding="utf-8")
        terminal.wait_for(showing(display, "Glow", "70 %"))


def test_a_file_replaced_by_another_is_seen(design_file: Path, display: CharacterDisplay) -> None:
    text = design_file.read_text(encoding="utf-8")
    with trying(design_file, 120, 40) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        fresh = design_file.with_suffix(".new")
        fresh.write_text(text.replace('left = "Light"', 'left = "Glow"'), encoding="utf-8")
        os.replace(fresh, design_file)
        terminal.wait_for(showing(display, "Glow"))


@pytest.mark.parametrize("reports", [True, False, None], ids=["releases", "no releases", "no answer"])
def test_a_slow_line_loses_no_key(design_file: Path, display: CharacterDisplay, reports: bool | None) -> None:
    """25 ms one way and up to 15 ms more, byte by byte, as over a distant shell."""
    with trying(design_file, reports_releases=reports, link=Link(25, 15, seed=1)) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.settle()
        for _ in range(5):
            terminal.type(UP)
            time.sleep(0.12)
            terminal.settle(0.02)
        terminal.wait_for(showing(display, "85 %"))
        terminal.type_and_wait(PRESSED + RELEASED if reports else " ", showing(display, ">Mood"))


def test_ten_thousand_keys_pasted_at_once_all_count(design_file: Path, display: CharacterDisplay) -> None:
    """5,000 down, which stops at the lowest, and 5,000 up, which stops at the highest; then three down."""
    with trying(design_file) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.type_and_wait(DOWN * 5000 + UP * 5000, showing(display, "100 %"), timeout=60)
        terminal.settle(0.5, 60)
        terminal.type_and_wait(DOWN * 3, showing(display, "85 %"))


def test_ten_thousand_bytes_of_nonsense_pasted_at_once_change_nothing(
    design_file: Path, display: CharacterDisplay
) -> None:
    with trying(design_file) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.type("\x1b[200~" + "l q h \x03 1 press " * 600 + "\x1b[201~")
        terminal.settle(0.3)
        terminal.type_and_wait(UP, showing(display, "65 %"))


def test_a_held_key_is_one_long_press(design_file: Path, display: CharacterDisplay) -> None:
    with trying(design_file, reports_releases=True) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.settle()
        terminal.type(PRESSED)
        until = time.monotonic() + 0.9
        while time.monotonic() < until:
            terminal.type(REPEATED)
            terminal.pump(0.04)
        terminal.type(RELEASED)
        terminal.settle()
        text = terminal.wait_for("long")

        assert showing(display, "60 %")(text)
        terminal.type(PRESSED)
        terminal.pump(0.05)
        terminal.type_and_wait(RELEASED, showing(display, ">Mood"))


@pytest.mark.parametrize(
    "wrong",
    [
        RELEASED * 3,
        "\x1b[1;1:3A" * 3,
        "\x1b[97;1:9u",
        "\x1b[97;:u",
        "\x1b[;;u",
        "\x1b[97;1:2:3:4u",
        "\x1b[99999999999999999999;1:1u",
        "\x1b[1114112;1:1u",
        "\x1b[55296;1:1u",
        "\x1b[57441;2:1u\x1b[57441;1:3u",
        "\x1b[?u\x1b[?9999999u\x1b[?27u\x1b[?0u",
        "\x1b[97;1:1;1114112u",
        "\x1b[I\x1b[O\x1b[I",
        "\x1b[<999;1;1M\x1b[<0;99999;99999M\x1b[<0;0;0m",
        "\x1b[M\x00\x00\x00",
        "\xff\xfe\x80",
        "\x1bP1$r0m\x1b\\",
    ],
    ids=repr,
)
def test_wrong_reports_neither_stop_the_app_nor_press_the_knob(
    design_file: Path, display: CharacterDisplay, wrong: str
) -> None:
    with trying(design_file, reports_releases=True) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.settle(0.1)
        terminal.type(wrong.encode("latin-1"))
        # Longer than the wait after an escape that may begin a sequence.
        terminal.settle(0.25)
        terminal.type_and_wait("\x1b[1;1:1A\x1b[1;1:3A", showing(display, "65 %"))


def test_a_report_that_breaks_off_is_taken_as_keys_and_the_knob_stays_as_it_was(
    design_file: Path, display: CharacterDisplay
) -> None:
    """Its bytes come as single keys after the wait for the rest; the colon among them opens the commands."""
    with trying(design_file, reports_releases=True) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        # As above: the terminal's own answers at the start may not run into the report that breaks off.
        terminal.settle(0.1)
        terminal.type("\x1b[32;1:3")
        # The key after that one may come before the search can take it, or be what is searched for already.
        terminal.wait_for(" Key ")
        terminal.type_and_wait("\x1b", showing(display, "60 %"))
        terminal.type_and_wait("\x1b[1;1:1A\x1b[1;1:3A", showing(display, "65 %"))


def test_the_wheel_turns_and_the_mouse_holds_the_knob(design_file: Path, display: CharacterDisplay) -> None:
    """Mouse reports as xterm writes them (XTerm Control Sequences, "Extended coordinates", mode 1006)."""
    with trying(design_file, 120, 40) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        text = terminal.wait_for(", detent ")
        y, line = next((y, line) for y, line in enumerate(text.split("\n"), 1) if ", detent " in line)
        x = line.index("detent") + 1
        at = f"{x};{y - 5}"
        terminal.type_and_wait(f"\x1b[<64;{at}M", showing(display, "65 %"))
        terminal.type_and_wait(f"\x1b[<65;{at}M" * 2, showing(display, "55 %"))
        terminal.type(f"\x1b[<0;{at}M")
        terminal.settle(0.7, 0.7)
        terminal.type_and_wait(f"\x1b[<0;{at}m", "long")
        terminal.type_and_wait(f"\x1b[<0;{at}M\x1b[<0;{at}m", showing(display, ">Mood"))


# The end.


@pytest.mark.parametrize("key", ["q", "\x03"], ids=["q", "ctrl+c"])
@pytest.mark.parametrize("reports", [True, None], ids=["releases", "no answer"])
def test_the_terminal_is_as_it_was_after_leaving(
    design_file: Path, display: CharacterDisplay, key: str, reports: bool | None
) -> None:
    with trying(design_file, reports_releases=reports) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.type(key)
        code = terminal.wait()

        assert {name for name, true in terminal.left.items() if true} == set()
    assert code == 0


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT], ids=lambda number: number.name)
def test_the_terminal_is_as_it_was_after_a_signal(
    design_file: Path, display: CharacterDisplay, number: signal.Signals
) -> None:
    with trying(design_file, reports_releases=True) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.process.send_signal(number)
        terminal.wait()

        assert {name for name, true in terminal.left.items() if true} == set()
        assert b"Traceback" not in terminal.output


_FAILING = """
from knobmenu.files import load
from knobmenu.terminal.app import KnobApp
from knobmenu.session.session import Session
from knobmenu.session.variants import Variant


def fails(self, clockwise, real_ms):
    raise RuntimeError("made to fail")


Session.turn = fails
app = KnobApp([Variant(load("lamp.toml"), None)])
app.run()
raise SystemExit(app.return_code or 0)
"""


def test_the_terminal_is_as_it_was_after_an_error_inside_the_app(design_file: Path, display: CharacterDisplay) -> None:
    """A mistake of ours is told, and the shell can be used at once."""
    with Terminal((sys.executable, "-c", _FAILING), reports_releases=True, directory=design_file.parent) as terminal:
        terminal.wait_for(showing(display, "60 %"))
        terminal.type(UP)
        code = terminal.wait()

        assert {name for name, true in terminal.left.items() if true} == set()
        assert b"made to fail" in terminal.output
    assert code == 1


def test_a_design_that_cannot_be_read_is_said_before_the_screen_is_taken(tmp_path: Path) -> None:
    with trying(tmp_path / "nowhere.toml") as terminal:
        code = terminal.wait()

        assert "nowhere.toml" in terminal.text.replace("\n", "")  # a long path goes on in the next row
        assert b"\x1b[?1049h" not in terminal.output
        assert b"Traceback" not in terminal.output
    assert code == 1


def test_without_a_design_a_demo_is_tried() -> None:
    with Terminal((*KNOBMENU, "try")) as terminal:
        terminal.wait_for("detent")
        terminal.type("q")

        assert terminal.wait() == 0
