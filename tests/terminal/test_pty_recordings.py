"""A recording watched and replayed in a real terminal."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from knobmenu.files.sittings import append_note, get_notes_path
from tests.session.test_playback import record_sitting
from tests.terminal.pty_harness import KNOBMENU, Terminal

CTRL_C = "\x03"


@pytest.fixture
def records() -> list[str]:
    return list(record_sitting())


def test_a_watch_waits_for_a_session_and_follows_it_when_it_is_replaced_or_truncated(
    tmp_path: Path, records: list[str]
) -> None:
    path = tmp_path / "session.jsonl"
    with Terminal((*KNOBMENU, "watch", str(path))) as terminal:
        terminal.wait_for("does not exist yet", timeout=30)
        path.write_text("", encoding="utf-8")
        with path.open("a", encoding="utf-8") as stream:
            stream.writelines(records)
        terminal.wait_for("task: task 1", timeout=30)
        terminal.wait_for("It is not being recorded now.")
        terminal.type_and_wait("she hesitated\r", "she hesitated")
        other = tmp_path / "other.jsonl"
        other.write_text("".join(record.replace("task 1", "task 9") for record in records), encoding="utf-8")
        os.replace(other, path)
        terminal.wait_for("task: task 9", timeout=30)
        os.truncate(path, 0)
        terminal.settle(0.3)
        with path.open("a", encoding="utf-8") as stream:
            stream.writelines(record.replace("task 1", "task 5") for record in records)
        terminal.wait_for("task: task 5", timeout=30)
        terminal.type(CTRL_C)
        assert terminal.wait() in (0, 130)

    assert "she hesitated" in (tmp_path / "session.notes").read_text(encoding="utf-8")


def test_a_watch_shows_the_earlier_notes_and_keeps_more(tmp_path: Path, records: list[str]) -> None:
    path = tmp_path / "s.jsonl"
    path.write_text("".join(records), encoding="utf-8")
    append_note(path, 1000, "the first of all")
    for number in range(5):
        append_note(path, 2000 + number, f"earlier {number} \x1b[2J" + " and more" * 20)
    with get_notes_path(path).open("a", encoding="utf-8") as stream:
        stream.write("garbage \x1b[2J\n")
    with Terminal((*KNOBMENU, "watch", str(path))) as terminal:
        terminal.wait_for("It is not being recorded now.", timeout=30)
        shown = terminal.wait_for("noted: earlier 4 \\x1b[2J and more")
        assert "task: task 1" in shown, "nothing cleared the screen, and nothing scrolled away"
        assert ">Station  Valley" in shown
        assert 'got "garbage \\x1b[2J"' in shown.replace("\n", "")
        assert "2 earlier notes; knobmenu replay shows them all." in shown
        assert [f"earlier {number}" in shown for number in range(5)] == [False, True, True, True, True]
        terminal.type("now she knows\r")
        shown = terminal.wait_for("noted: now she knows")
        assert "earlier 4" in shown
        terminal.type(CTRL_C)
        assert terminal.wait() in (0, 130)

    with Terminal((*KNOBMENU, "watch", str(path))) as terminal:
        terminal.wait_for("noted: now she knows", timeout=30)
        terminal.type(CTRL_C)
        assert terminal.wait() in (0, 130)


def test_a_replay_stops_steps_changes_speed_and_jumps_to_marks(tmp_path: Path, records: list[str]) -> None:
    path = tmp_path / "session.jsonl"
    path.write_text("".join(records), encoding="utf-8")
    with Terminal((*KNOBMENU, "replay", str(path))) as terminal:
        terminal.wait_for("speed 1", timeout=30)
        terminal.type_and_wait(" ", "stopped")
        terminal.type_and_wait("+", "speed 2")
        terminal.type_and_wait("--", "speed 0.5")
        terminal.type_and_wait("\x1b[H", lambda text: "0:00.0 of" in text and "task 1" not in text)
        terminal.type_and_wait("m", lambda text: "0:01.0 of" in text and "mark: task 1" in text)
        terminal.type_and_wait("\x1b[C" * 2, "turn +1")
        terminal.type_and_wait("\x1b[D" * 2, lambda text: "turn +1" not in text and "mark: task 1" in text)
        terminal.type("q")
        assert terminal.wait() == 0


@pytest.mark.parametrize("content", ["garbage\n", '{"kind": "knobmenu-recording"}\n', ""])
def test_what_is_not_a_recording_is_refused_in_one_line(tmp_path: Path, content: str) -> None:
    path = tmp_path / "session.jsonl"
    path.write_text(content, encoding="utf-8")
    with Terminal((*KNOBMENU, "replay", str(path)), columns=400) as terminal:
        assert terminal.wait(30) == 1
        terminal.pump(0.2)
        said = [line for line in terminal.lines if line.strip()]

    assert len(said) == 1
    assert "session.jsonl" in said[0]
