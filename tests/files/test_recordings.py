"""A recording on disk is whole up to the line in flight."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from knobmenu.errors import RecordingError
from knobmenu.files.recordings import RecordingFile, read_recording
from knobmenu.files.starter import starter_text
from knobmenu.files.toml import loads
from knobmenu.session.recorder import Recorder
from knobmenu.session.recording import Happened
from knobmenu.session.restoring import restore
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline

PROGRAM = """
import sys
from knobmenu.files.recordings import RecordingFile
from knobmenu.files.starter import starter_text
from knobmenu.files.toml import loads
from knobmenu.session.recorder import Recorder
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline

session = Session(Timeline([loads(starter_text())], Recorder(RecordingFile(sys.argv[1]), 0)), 0)
for number in range(1_000_000):
    session.turn(1 if number % 50 < 25 else -1, 100 * number)
    print(number, flush=True)
"""


def test_a_recorded_session_is_read_again(tmp_path: Path) -> None:
    path = tmp_path / "a.recording"
    with RecordingFile(path) as file:
        session = Session(Timeline([loads(starter_text())], Recorder(file, 0)), 0)
        session.turn(3, 100)
        session.timeline.note("größer", 200)

    restored = restore(*read_recording(path)).timeline

    assert restored.events() == session.events()
    assert restored.notes == session.notes


def test_a_killed_process_loses_at_most_the_line_in_flight(tmp_path: Path) -> None:
    path = tmp_path / "killed.recording"
    process = subprocess.Popen([sys.executable, "-c", PROGRAM, str(path)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    reported = next(int(line) for line in process.stdout if int(line) >= 40)
    os.kill(process.pid, signal.SIGKILL)
    process.wait(10)
    process.stdout.close()

    _, records = read_recording(path)

    assert sum(isinstance(record, Happened) for record in records) > reported


def test_a_character_that_was_cut_off_is_left_out_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "cut.recording"
    with RecordingFile(path) as file:
        Session(Timeline([loads(starter_text())], Recorder(file, 0)), 0).timeline.note("ö", 10)
    whole = path.read_bytes()
    path.write_bytes(whole[: whole.rindex("ö".encode()) + 1])

    _, records = read_recording(path)

    assert [record.kind for record in records] == ["power-on"]


def test_no_file_is_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "there.recording"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(RecordingError, match=r"there.recording: the recording cannot be created: File exists"):
        RecordingFile(path)
    assert path.read_text(encoding="utf-8") == "mine"


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "absent"):
        with pytest.raises(RecordingError, match="the recording cannot be read"):
            read_recording(path)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device that is always full")
def test_a_full_disk_is_an_error_and_not_a_traceback(tmp_path: Path) -> None:
    path = tmp_path / "full"
    with RecordingFile(path) as file:
        # A recording to a device that is full, without a file system that is.
        os.dup2(os.open("/dev/full", os.O_WRONLY), file._stream.fileno())
        with pytest.raises(RecordingError, match="cannot be written: No space left"):
            Session(Timeline([loads(starter_text())], Recorder(file, 0)), 0)
