"""Sessions are kept as they grow, found again while something in them is not saved, and continued."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import attrs
import pytest

from knobmenu.design.simulation import Ramp
from knobmenu.design.whole import Design
from knobmenu.errors import RecordingError
from knobmenu.files import kept, load
from knobmenu.files.recordings import begin_recording, read_recording
from knobmenu.files.sessions import KIND, KeptSession, Unfinished, find_unfinished
from knobmenu.session.records import HandRecord
from knobmenu.session.restoring import restore
from knobmenu.session.resuming import resume
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from knobmenu.session.unsaved import Unsaved
from tests.disks import fill, mount_small_disk

RADIO = Path(__file__).parents[2] / "demos" / "radio.toml"
NAMES = ("/somewhere/radio.toml",)


@pytest.fixture(scope="module")
def radio() -> Design:
    return load(RADIO)


OPEN: list[KeptSession] = []


@pytest.fixture(autouse=True)
def close() -> Iterator[None]:
    """Close what a test left open, as the end of a process does."""
    yield
    while OPEN:
        OPEN.pop().close()


def begin(design: Design, names: tuple[str, ...] = NAMES) -> tuple[Session, KeptSession]:
    keeping = KeptSession(names)
    OPEN.append(keeping)
    return Session(Timeline([design] * len(names), begin_recording(keeping, 0, names)), 0), keeping


def moments(timeline: Timeline) -> list[object]:
    """Return what led to each moment on all branches, and what it is."""
    history = timeline.history
    return [(history.get_parent(n), history[n].parts[0].event, history[n].parts[0].state) for n in range(len(history))]


def files_kept() -> list[Path]:
    return kept.list_kept(KIND)


def test_a_session_in_which_nobody_did_anything_leaves_no_file(radio: Design) -> None:
    session, keeping = begin(radio)
    for at_ms in range(0, 100_000, 1000):
        session.pass_time(at_ms)
    assert files_kept() == []
    keeping.close()
    assert files_kept() == []


def test_a_device_that_lives_alone_leaves_no_file_however_long_it_does(radio: Design) -> None:
    session, keeping = begin(
        attrs.evolve(radio, simulation=(Ramp(key="signal", to=0, rest=3, repeats=True, every_ms=500),))
    )
    at_ms = 0
    while len(session.history) < 2000:
        at_ms += 1000
        session.pass_time(at_ms)
    keeping.close()
    assert files_kept() == []
    assert not keeping.unsaved


def test_what_happens_is_on_disk_before_the_next_thing_happens(radio: Design) -> None:
    session, keeping = begin(radio)
    for number in range(20):
        session.turn(1, 1000 + 100 * number)
        (path,) = files_kept()
        assert restore(*read_recording(path)).timeline.list_events() == session.list_events()
    session.timeline.note("größer", 5000)
    assert restore(*read_recording(path)).timeline.notes == session.notes
    keeping.close()


def test_a_session_that_ended_is_found_and_one_that_runs_is_not(radio: Design) -> None:
    session, keeping = begin(radio)
    session.turn(1, 100)
    session.timeline.note("slow", 200)
    assert find_unfinished(NAMES) == []

    keeping.close()

    (found,) = find_unfinished(NAMES)
    assert found.unsaved.description == "1 note and 1 event"
    assert found.files == NAMES
    assert find_unfinished(("/somewhere/else.toml",)) == []
    assert find_unfinished() == [found]


def test_what_was_saved_is_not_offered_until_something_follows(radio: Design) -> None:
    session, keeping = begin(radio)
    session.turn(1, 100)
    assert session.timeline.recorder is not None
    session.timeline.recorder.save("a.trace", 200)
    keeping.close()
    assert find_unfinished(NAMES) == []

    (path,) = files_kept()
    resumed, restored = KeptSession.resume(path)
    session, _ = resume(restored, [radio], resumed, 1000)
    assert not resumed.unsaved
    session.timeline.note("more", 1100)
    resumed.close()

    assert [one.unsaved.description for one in find_unfinished(NAMES)] == ["1 note"]


def test_a_session_goes_on_as_it_was(radio: Design) -> None:
    session, keeping = begin(radio)
    for number in range(5):
        session.turn(1, 100 * number)
    session.go_back(1000, 2)
    session.click(1100)
    session.timeline.note("a branch", 1200)
    session.press("sticky", 1300)
    keeping.close()
    (found,) = find_unfinished(NAMES)

    resumed, restored = KeptSession.resume(found.path)
    again, dropped = resume(restored, [radio], resumed, 700_000)

    assert dropped == ()
    assert again.list_events() == session.list_events()
    assert moments(again.timeline) == moments(session.timeline)
    assert again.history.branches == 2
    assert again.notes == session.notes
    assert again.turned == session.turned
    assert not again.hand.down
    again.turn(1, 700_100)
    resumed.close()
    _, records = read_recording(found.path)
    times = [record.real_ms for record in records]
    assert times == sorted(times)
    assert times[-1] - 1300 <= 200, "the pause is not part of the session"
    twice, restored = KeptSession.resume(found.path)
    assert moments(restored.timeline) == moments(again.timeline)
    assert restored.turned == again.turned
    twice.close()


def test_a_design_that_changed_in_between_is_taken_and_that_is_recorded(radio: Design) -> None:
    session, keeping = begin(radio)
    session.turn(1, 100)
    keeping.close()
    (path,) = files_kept()
    changed = attrs.evolve(radio, about="Another one.")

    resumed, restored = KeptSession.resume(path)
    session, _ = resume(restored, [changed], resumed, 1000)
    resumed.close()

    assert session.parts[0].design == changed
    header, records = read_recording(path)
    assert header.designs[0].design == radio
    assert [record.kind for record in records][-2:] == ["hand", "design"]


def test_a_hand_that_was_holding_is_recorded_as_released(radio: Design) -> None:
    session, keeping = begin(radio)
    session.turn(1, 50)
    session.press("sticky", 100)
    keeping.close()
    (path,) = files_kept()

    resumed, restored = KeptSession.resume(path)
    resume(restored, [radio], resumed, 1000)
    resumed.close()

    _, records = read_recording(path)
    assert [record for record in records if isinstance(record, HandRecord)][-1].down is False


def test_those_with_notes_are_offered_before_later_ones_without(radio: Design) -> None:
    for note in ("first", "", "second", ""):
        session, keeping = begin(radio)
        session.turn(1, 100)
        if note:
            session.timeline.note(note, 200)
        keeping.close()
        assert keeping.path is not None
        later = keeping.path.stat().st_mtime_ns + len(files_kept()) * 10**9
        os.utime(keeping.path, ns=(later, later))

    found = [restore(*read_recording(one.path)).timeline.notes for one in find_unfinished(NAMES)]

    assert [[note.text for note in notes] for notes in found] == [["second"], ["first"], [], []]


def test_only_the_last_sessions_of_a_design_are_kept_and_none_that_runs_is_deleted(radio: Design) -> None:
    first, running = begin(radio)
    first.turn(1, 100)
    assert running.path is not None
    os.utime(running.path, ns=(0, 0))
    other, elsewhere = begin(radio, ("/somewhere/else.toml",))
    other.turn(1, 100)
    elsewhere.close()
    for _ in range(kept.LIMIT + 5):
        session, keeping = begin(radio)
        session.turn(1, 100)
        keeping.close()

    assert running.path.exists()
    assert len(kept.list_kept(KIND, NAMES)) == kept.LIMIT + 1
    assert len(kept.list_kept(KIND, ("/somewhere/else.toml",))) == 1
    running.close()


def test_a_folder_that_cannot_be_made_is_said_and_the_session_goes_on(radio: Design, state_home: Path) -> None:
    state_home.write_text("a file stands where the folder is to be")
    session, keeping = begin(radio)
    session.turn(1, 100)

    assert session.list_events()
    assert "sessions: expected a file that can be written, got a file where its folder should be" in str(keeping.error)
    was_lost = keeping.is_lost

    state_home.unlink()
    session.turn(1, 200)
    keeping.close()

    assert (was_lost, keeping.is_lost) == (True, False)
    (found,) = find_unfinished(NAMES)
    assert found.unsaved.events == 2, "nothing is missing that happened before there was a folder"


@pytest.fixture
def small_disk(state_home: Path) -> Iterator[Path]:
    """A state folder on a disk of 256 KiB."""
    with mount_small_disk(state_home, 256) as disk:
        yield disk
        while OPEN:
            OPEN.pop().close()


@pytest.mark.skipif(sys.platform != "linux", reason="a small disk is a tmpfs")
def test_on_a_full_disk_the_session_goes_on_and_what_was_written_is_whole(radio: Design, small_disk: Path) -> None:
    session, keeping = begin(radio)
    session.turn(1, 100)
    filler = fill(small_disk)
    with filler.open("r+b") as stream:
        stream.truncate(filler.stat().st_size - 8192)
    written = 0
    for number in range(400):
        session.turn(1 if number % 50 < 25 else -1, 200 + 100 * number)
        written += keeping.error is None
    assert 0 < written < 400
    assert "no space left on device" in str(keeping.error)
    done = len(session.list_events())
    assert done > 400
    (path,) = files_kept()
    _, records = read_recording(path)
    assert sum(record.kind == "event" for record in records) == 1 + written

    filler.unlink()
    session.timeline.note("room again", 50_000)
    keeping.close()

    (found,) = find_unfinished(NAMES)
    assert (found.unsaved.events, found.unsaved.notes) == (401, 1), (
        "what could not be written at first is written with the rest"
    )


def test_what_is_no_session_is_not_offered_and_stays_as_it_is(radio: Design, tmp_path: Path) -> None:
    session, keeping = begin(radio)
    session.turn(1, 100)
    keeping.close()
    (path,) = files_kept()
    other = path.with_name(path.name.replace(".jsonl", "x.jsonl"))
    other.write_text("a note of mine without a line end")
    newer = path.with_name(path.name.replace(".jsonl", "y.jsonl"))
    newer.write_text(path.read_text(encoding="utf-8").replace('"format":1', '"format":999', 1), encoding="utf-8")

    assert [one.path for one in find_unfinished(NAMES)] == [path]
    for refused in (other, newer, tmp_path):
        before = refused.read_bytes() if refused.is_file() else None
        with pytest.raises(RecordingError):
            KeptSession.resume(refused)
        assert before is None or refused.read_bytes() == before


def test_a_session_of_today_is_named_by_its_time_and_another_by_its_date() -> None:
    now = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
    one = Unfinished(Path("a"), NAMES, "2026-03-02T14:02:00+00:00", Unsaved(31, 2))
    assert one.format_start(now) == "14:02"
    assert one.format_start(now + timedelta(days=1)) == "2026-03-02 14:02"
    assert attrs.evolve(one, started="").format_start(now) == "an unknown time"
    assert one.unsaved.description == "2 notes and 31 events"
    assert Unsaved(1).description == "1 event"


def test_files_of_one_name_in_two_folders_are_two_designs(radio: Design) -> None:
    for folder in ("/a", "/b"):
        session, keeping = begin(radio, (f"{folder}/radio.toml",))
        session.turn(1, 100)
        keeping.close()
    assert [one.files for one in find_unfinished(("/a/radio.toml",))] == [("/a/radio.toml",)]
