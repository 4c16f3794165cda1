"""`try --record` records a session as it happens, and `replay` plays it back."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from knobmenu.cli.main import main
from knobmenu.files import load
from knobmenu.files.recordings import PatientRecording, RecordingFile, begin_recording, read_recording
from knobmenu.session.records import EventRecord
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from tests.terminal.pty_harness import KNOBMENU, Terminal, environment

RADIO = Path(__file__).parents[2] / "demos" / "radio.toml"


def happened(recording: Path) -> int:
    """Count the moments of a recording."""
    _, records = read_recording(recording)
    return sum(isinstance(record, EventRecord) for record in records)


def test_a_session_in_the_app_is_recorded_and_replayed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    recording = tmp_path / "session.jsonl"
    with Terminal((*KNOBMENU, "try", str(RADIO), "--record", str(recording))) as terminal:
        terminal.wait_for("quit", timeout=30)
        terminal.settle()
        terminal.type("\x1b[C")
        terminal.settle()
        assert happened(recording) >= 1, "flushed while the session goes on"
        terminal.type("q")
        assert terminal.wait(30) == 0

    assert main(["replay", str(recording), "--to", "text"]) == 0
    assert "turn +1" in capsys.readouterr().out


def test_a_watched_session_is_drawn_over_itself(tmp_path: Path) -> None:
    recording = tmp_path / "session.jsonl"
    subprocess.run(
        [*KNOBMENU, "try", str(RADIO), "--plain", "--record", str(recording)],
        input="press 1\n",
        env=environment(),
        stdout=subprocess.DEVNULL,
        text=True,
        timeout=60,
        check=True,
    )
    with Terminal((*KNOBMENU, "watch", str(recording))) as terminal:
        terminal.wait_for("turn +1", timeout=30)
        assert "x1b" not in terminal.text
        terminal.type("\x03")
        assert terminal.wait(30) == 130


def test_a_session_in_line_mode_is_recorded(tmp_path: Path) -> None:
    recording = tmp_path / "session.jsonl"
    done = subprocess.run(
        [*KNOBMENU, "try", str(RADIO), "--plain", "--record", str(recording)],
        input="press 1 press\n",
        env=environment(),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )

    assert done.returncode == 0, done.stderr
    assert happened(recording) >= 3


def test_a_recording_never_takes_the_place_of_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    taken = tmp_path / "notes.txt"
    taken.write_text("kept")

    assert main(["try", str(RADIO), "--record", str(taken)]) == 1
    assert "notes.txt: expected the name of a new file, got an existing file" in capsys.readouterr().err
    assert taken.read_text() == "kept"


def test_a_full_disk_ends_the_recording_and_not_the_session(tmp_path: Path) -> None:
    file = RecordingFile(tmp_path / "session.jsonl")
    file.close()
    recording = PatientRecording(file)  # a closed file refuses every line, as a full disk does
    session = Session(Timeline([load(RADIO)], recorder=begin_recording(recording, 0)), 0)
    session.click(100)

    assert session.at_ms > 0
    assert recording.error is not None
    assert "expected a file that can be written, got" in str(recording.error)
