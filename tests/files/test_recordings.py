"""A recording on disk is whole up to the line in flight."""

import os
import resource
import signal
import subprocess
import sys
from pathlib import Path
from threading import Thread

import pytest

from knobmenu.errors import RecordingError
from knobmenu.files.locks import is_locked
from knobmenu.files.recordings import RecordingFile, follow_visible, read_recording
from knobmenu.files.starter import read_starter
from knobmenu.files.toml import loads
from knobmenu.session.recorder import Recorder
from knobmenu.session.records import EventRecord, NoteRecord
from knobmenu.session.restoring import restore
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline

PROGRAM = """
import sys
from knobmenu.files.recordings import RecordingFile
from knobmenu.files.starter import read_starter
from knobmenu.files.toml import loads
from knobmenu.session.recorder import Recorder
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline

session = Session(Timeline([loads(read_starter())], Recorder(RecordingFile(sys.argv[1]), 0)), 0)
for number in range(1_000_000):
    session.turn(1 if number % 50 < 25 else -1, 100 * number)
    print(number, flush=True)
"""


def test_a_recorded_session_is_read_again(tmp_path: Path) -> None:
    path = tmp_path / "a.recording"
    with RecordingFile(path) as file:
        session = Session(Timeline([loads(read_starter())], Recorder(file, 0)), 0)
        session.turn(3, 100)
        session.timeline.note("größer", 200)

    restored = restore(*read_recording(path)).timeline

    assert restored.list_events() == session.list_events()
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

    assert sum(isinstance(record, EventRecord) for record in records) > reported


def test_a_character_that_was_cut_off_is_left_out_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "cut.recording"
    with RecordingFile(path) as file:
        Session(Timeline([loads(read_starter())], Recorder(file, 0)), 0).timeline.note("ö", 10)
    whole = path.read_bytes()
    path.write_bytes(whole[: whole.rindex("ö".encode()) + 1])

    _, records = read_recording(path)

    assert [record.kind for record in records] == ["power-on"]


def test_no_file_is_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "there.recording"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(RecordingError, match="the name of a new file, got an existing file"):
        RecordingFile(path)
    assert path.read_text(encoding="utf-8") == "mine"


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    for path, message in (
        (tmp_path, "expected a recording, got a folder. Name a file in it."),
        (tmp_path / "absent", "expected the name of a recording, got no file of this name"),
    ):
        with pytest.raises(RecordingError, match=f"^{path}: {message}"):
            read_recording(path)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="there is no device that never ends")
def test_what_never_ends_is_not_read_whole() -> None:
    with pytest.raises(RecordingError, match=r"^/dev/zero: expected a recording, got a line of more than"):
        read_recording("/dev/zero")
    with pytest.raises(RecordingError, match=r"^/dev/zero: expected a recording"):
        follow_visible("/dev/zero", lambda: None)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs the files of a Unix")
def test_a_recording_is_read_from_a_pipe_and_a_pipe_that_nobody_writes_to_is_refused(tmp_path: Path) -> None:
    record_a_note(tmp_path / "session", "hello")
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(RecordingError, match="pipe: expected a recording, got a pipe without a writer"):
        read_recording(pipe)

    writer = Thread(target=lambda: pipe.write_bytes((tmp_path / "session").read_bytes()))
    writer.start()
    _, records = read_recording(pipe)
    assert [record.text for record in records if isinstance(record, NoteRecord)] == ["hello"]
    writer.join(10)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device that is always full")
def test_a_full_disk_is_an_error_and_not_a_traceback(tmp_path: Path) -> None:
    path = tmp_path / "full"
    with RecordingFile(path) as file:
        # A recording to a device that is full, without a file system that is.
        os.dup2(os.open("/dev/full", os.O_WRONLY), file._stream.fileno())
        with pytest.raises(RecordingError, match="a file that can be written, got no space left on device"):
            Session(Timeline([loads(read_starter())], Recorder(file, 0)), 0)


def record_a_note(path: Path, text: str) -> None:
    with RecordingFile(path) as file:
        Session(Timeline([loads(read_starter())], Recorder(file, 0)), 0).timeline.note(text, 10)


def test_a_recording_is_continued_after_its_last_whole_line(tmp_path: Path) -> None:
    path = tmp_path / "continued.recording"
    record_a_note(path, "first")
    whole = path.read_bytes()
    long_line = b'{"kind":"note","text":"' + b"x" * 200_000
    for cut_off in (b"", b'{"kind":"no', long_line):
        path.write_bytes(whole + cut_off)
        with RecordingFile.append_to(path) as file:
            file(NoteRecord(20, 0, 0, "second"))

        _, records = read_recording(path)

        assert [record.text for record in records if isinstance(record, NoteRecord)] == ["first", "second"]


def test_a_file_that_another_process_records_to_is_not_continued(tmp_path: Path) -> None:
    path = tmp_path / "locked.recording"
    process = subprocess.Popen([sys.executable, "-c", PROGRAM, str(path)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    process.stdout.readline()
    try:
        assert is_locked(path)
        with pytest.raises(RecordingError, match="a file that no other process is writing to, got one that is"):
            RecordingFile.append_to(path)
        read_recording(path)
    finally:
        process.kill()
        process.wait(10)
        process.stdout.close()
    assert not is_locked(path)
    RecordingFile.append_to(path).close()


def test_a_file_is_free_once_it_is_closed(tmp_path: Path) -> None:
    path = tmp_path / "closed.recording"
    record_a_note(path, "kept")
    with RecordingFile.append_to(path), pytest.raises(RecordingError, match="no other process"):
        RecordingFile.append_to(path)
    RecordingFile.append_to(path).close()


def test_a_recording_that_is_not_there_is_not_continued(tmp_path: Path) -> None:
    for path, message in (
        (tmp_path, "expected a file that can be written, got a folder"),
        (tmp_path / "absent", "expected the name of a recording, got no file of this name"),
    ):
        with pytest.raises(RecordingError, match=message):
            RecordingFile.append_to(path)
    assert list(tmp_path.iterdir()) == []


def test_a_line_that_the_disk_has_no_room_for_leaves_no_part_of_it(tmp_path: Path) -> None:
    path = tmp_path / "limited.recording"
    record_a_note(path, "kept")
    limit = path.stat().st_size + 30
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    with RecordingFile.append_to(path) as file:
        # The system writes what fits and refuses the rest, as on a full disk.
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, before[1]))
        try:
            with pytest.raises(RecordingError, match="expected a file that can be written, got file too large"):
                file(NoteRecord(20, 0, 0, "this is too long for the room that is left"))
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)
            signal.signal(signal.SIGXFSZ, ignored)
        file(NoteRecord(30, 0, 0, "there is room again"))

    _, records = read_recording(path)

    assert [record.text for record in records if isinstance(record, NoteRecord)] == ["kept", "there is room again"]
