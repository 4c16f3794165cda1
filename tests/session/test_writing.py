"""What was done, kept as a trace and as a test."""

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.files import load
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from knobmenu.session.writing import compose_test, compose_trace
from knobmenu.trace import parse_trace

doings = st.lists(st.tuples(st.sampled_from(("up", "down", "click", "long", "back", "wait")), st.integers(1, 3000)))


def done(design: Design, what: list[tuple[str, int]]) -> Session:
    """Do things, each a while after the one before."""
    session, now_ms = Session(Timeline([design]), 0), 0
    for word, after_ms in what:
        now_ms += after_ms
        session.pass_time(now_ms)
        match word:
            case "up":
                session.turn(1, now_ms)
            case "down":
                session.turn(-1, now_ms)
            case "click":
                session.click(now_ms)
            case "long":
                session.long_press(now_ms)
                now_ms += session.measured_ms
                session.pass_time(now_ms)
            case "back":
                session.go_back(now_ms)
            case _:
                pass
    return session


@given(doings)
def test_a_trace_leads_where_the_hand_led(kiln: Design, what: list[tuple[str, int]]) -> None:
    session = done(kiln, what)
    device = Device(kiln)
    device.tell_all(parse_trace(compose_trace(session.timeline)))
    assert device.screen == session.parts[0].screen
    assert device.state == session.parts[0].state


def test_notes_stand_in_the_trace_after_what_they_are_about(kiln: Design) -> None:
    session = done(kiln, [("up", 100), ("click", 400)])
    session.timeline.note("opens the menu")
    session.go_back(600)
    session.timeline.note("before it")
    session.go_forward(700)
    lines = compose_trace(session.timeline).splitlines()
    assert lines[0] == "# Kiln"
    assert lines.index("# before it") < lines.index("# opens the menu") == len(lines) - 1


def test_what_was_done_before_devices_were_switched_on_again_is_not_in_the_trace(kiln: Design) -> None:
    session = done(kiln, [("up", 100), ("up", 400)])
    session.play(parse_trace("3"), "played", 1000)
    assert parse_trace(compose_trace(session.timeline)) == session.list_events()
    assert len(session.list_events()) == 1


@pytest.mark.parametrize("name", ['A "kiln"', "Ofen \\ groß", "1", '"""'])
def test_a_test_of_any_design_is_python(kiln: Design, name: str) -> None:
    import attrs

    session = Session(Timeline([attrs.evolve(kiln, name=name)]), 0)
    session.timeline.note('quotes: """ and \\')
    text = compose_test(session.timeline, Path('a "folder"\\kiln.toml'), Path("test_kiln.py"))
    compile(text, "test_kiln.py", "exec")


def test_a_kept_test_passes_and_fails_when_the_design_changes(kiln_file: Path) -> None:
    """Also from another folder, as a whole suite would run it."""
    session = done(load(kiln_file), [("up", 100), ("click", 400), ("up", 400)])
    test = Path("tests/knob/test_kiln.py")
    test.parent.mkdir(parents=True)
    test.write_text(compose_test(session.timeline, Path("kiln.toml"), test), encoding="utf-8")
    assert "/ '../../kiln.toml'" in test.read_text(encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "knob/test_kiln.py"]
    passed = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False, cwd="tests")
    assert passed.returncode == 0, passed.stdout
    assert "1 passed" in passed.stdout
    kiln_file.write_text(kiln_file.read_text(encoding="utf-8").replace('"Light"', '"Lamp"'), encoding="utf-8")
    failed = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False, cwd="tests")
    assert failed.returncode == 1, failed.stdout
    assert "Lamp" in failed.stdout
