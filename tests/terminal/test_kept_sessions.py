"""No end of a session loses anything: it is offered again with all that was done, and goes on from there."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from knobmenu.events import Turn
from knobmenu.files.kept import resolve_name
from knobmenu.files.recordings import read_recording
from knobmenu.files.sessions import Unfinished, find_unfinished
from knobmenu.session.records import EventRecord, HandRecord, NoteRecord, Record
from tests.disks import fill, mount_small_disk
from tests.sampling import sampled
from tests.terminal.pty_harness import KNOBMENU, Terminal

RIGHT, LEFT = "\x1b[C", "\x1b[D"


def trying(design_file: Path, *options: str) -> Terminal:
    return Terminal((*KNOBMENU, "try", str(design_file), *options), 100, 30)


def offered(design_file: Path) -> list[Unfinished]:
    return find_unfinished([resolve_name(design_file)])


def records_of(one: Unfinished) -> list[Record]:
    _, records = read_recording(one.path)
    return list(records)


def shown_events(text: str) -> int:
    """Return at which event a whole frame says that the session is."""
    found = re.search(r"event ([0-9]+) of ([0-9]+)\b", text)
    return int(found[1]) if found is not None and found[1] == found[2] else 0


def type_at_random(terminal: Terminal, random: Random, for_s: float) -> tuple[list[int], list[str]]:
    """Turn the knob and write notes at random moments; return the turns and the notes."""
    turns: list[int] = []
    notes: list[str] = []
    until = time.monotonic() + for_s
    while time.monotonic() < until:
        if random.random() < 0.1:
            notes.append(f"note {len(notes)}")
            terminal.type("n")
            pump_until(terminal, True, until)
            terminal.type(f"{notes[-1]}\r")
            # A key that comes before the question is gone belongs to the question.
            pump_until(terminal, False, until)
        else:
            turns.append(random.choice((1, 1, -1)))
            terminal.type(RIGHT if turns[-1] > 0 else LEFT)
        terminal.pump(random.random() * 0.03)
    return turns, notes


def pump_until(terminal: Terminal, asks: bool, until: float) -> None:
    """Wait until a note is asked for, or no longer, but not beyond a time."""
    while time.monotonic() < until and ("A note on this event" in terminal.text) is not asks:
        terminal.pump(0.005)


@pytest.mark.parametrize("seed", range(sampled(200, 10)))
def test_a_session_that_is_killed_is_offered_with_everything_that_was_shown(design_file: Path, seed: int) -> None:
    random = Random(seed)
    with trying(design_file) as terminal:
        terminal.wait_for("quit", timeout=30)
        turns, notes = type_at_random(terminal, random, random.random() * 1.5)
        terminal.process.kill()
        terminal.process.wait(10)
        while terminal.pump(0.01):
            pass
        shown = shown_events(terminal.text)

    found = offered(design_file)
    if not found:
        assert shown == 0
        return
    (one,) = found
    records = records_of(one)
    events = [event for record in records if isinstance(record, EventRecord) for event in record.events]
    assert len(events) >= shown, "everything that was seen is there"
    counted = [event.detents for event in events if isinstance(event, Turn)]
    assert counted == turns[: len(counted)], "and nothing else"
    kept = [record.text for record in records if isinstance(record, NoteRecord)]
    assert kept == notes[: len(kept)]
    hands = [record.turned for record in records if isinstance(record, HandRecord)]
    assert len(counted) <= len(hands) <= len(counted) + 1
    assert (one.unsaved.events, one.unsaved.notes) == (len(counted), len(kept))

    if seed % 10 == 0 or seed == 199:
        with trying(design_file) as terminal:
            terminal.wait_for(f"g resumes {one.format_start()}: {one.unsaved.description}", timeout=30)
            terminal.type_and_wait("g", "continues")
            assert shown_events(terminal.text) >= len(events)
            terminal.type(RIGHT)
            terminal.settle(0.3)
            terminal.process.kill()
        (again,) = offered(design_file)
        assert (again.path, again.unsaved.events) == (one.path, len(counted) + 1)


def test_notes_are_kept_and_a_saved_trace_ends_the_offer(design_file: Path, tmp_path: Path) -> None:
    with trying(design_file) as terminal:
        terminal.wait_for("quit", timeout=30)
        terminal.type(RIGHT)
        terminal.type_and_wait("n", "A note")
        terminal.type_and_wait("too slow\r", "noted")
        terminal.type("q")
        assert terminal.wait() == 0
        assert "Kept, but not saved: 1 note and 1 event. To continue: knobmenu try" in terminal.text.replace("\n", "")
    with trying(design_file, "--resume") as terminal:
        terminal.wait_for("event 1 of 1", timeout=30)
        terminal.wait_for("1✎")
        terminal.type_and_wait("s", "Save the trace")
        terminal.type_and_wait(f"\x15\x0b{tmp_path / 'a.trace'}\r", "is written")
        terminal.type("q")
        assert terminal.wait() == 0
        assert "Kept" not in terminal.text
    assert "too slow" in (tmp_path / "a.trace").read_text(encoding="utf-8")
    assert offered(design_file) == []


def test_a_session_nobody_touched_leaves_no_file(design_file: Path, state_home: Path) -> None:
    with trying(design_file) as terminal:
        terminal.wait_for("? shows the keys", timeout=30)
        terminal.settle(0.3)
        terminal.type("q")
        assert terminal.wait() == 0
    assert list(state_home.rglob("*.jsonl")) == []


def test_a_session_that_runs_in_another_terminal_is_not_offered(design_file: Path) -> None:
    with trying(design_file) as one, trying(design_file) as other:
        for terminal in (one, other):
            terminal.wait_for("? shows the keys", timeout=30)
            terminal.type_and_wait(RIGHT, "event 1 of 1")
        other.type_and_wait("g", "every other session of this design is saved")
        one.process.kill()
        one.process.wait(10)
        other.type_and_wait("g", "continues")


def test_a_design_that_changed_is_taken_when_the_session_goes_on(design_file: Path) -> None:
    text = design_file.read_text(encoding="utf-8")
    with trying(design_file) as terminal:
        terminal.wait_for("quit", timeout=30)
        terminal.type_and_wait(RIGHT, "event 1 of 1")
        terminal.process.kill()
    design_file.write_text(text.replace('name = "', 'name = "New ', 1), encoding="utf-8")
    with trying(design_file, "--resume") as terminal:
        terminal.wait_for("event 2 of 2", timeout=30)
        terminal.wait_for("design changed")
        terminal.wait_for("New ")


def line_mode(design_file: Path, *options: str) -> Terminal:
    return Terminal((*KNOBMENU, "try", str(design_file), "--plain", *options), 100, 30)


def test_line_mode_keeps_and_offers_sessions(design_file: Path) -> None:
    with line_mode(design_file) as terminal:
        terminal.wait_for("> ", timeout=30)
        terminal.type_and_wait("3\r", "Turn")
        terminal.type_and_wait("note too slow\r", "Noted.")
        terminal.process.kill()
    with line_mode(design_file) as terminal:
        terminal.wait_for("is not saved, 1 note and 1 event. Write resume", timeout=30)
        terminal.type_and_wait("resume\r", "Event 1 of 1")
        terminal.type_and_wait("notes\r", "At event 1: too slow")
        terminal.type("quit\r")
        assert terminal.wait() == 0
        terminal.wait_for("Kept, but not saved: 1 note and 1 event.")


def test_without_a_session_that_is_said(design_file: Path) -> None:
    assert run_try(str(design_file), "--sessions").stdout == f"There is no unsaved session of {design_file}.\n"
    done = run_try(str(design_file), "--resume")
    assert done.returncode == 1
    assert f"expected a session of {design_file} that has not been saved, got none" in done.stderr


def test_what_is_piped_in_is_not_kept_and_changes_nothing_for_the_next(design_file: Path, state_home: Path) -> None:
    command = [*KNOBMENU, "try", str(design_file), "--plain"]
    outputs = [
        subprocess.run(command, input="3\nnote a\n", capture_output=True, text=True, timeout=60, check=True).stdout
        for _ in range(2)
    ]
    assert outputs[0] == outputs[1]
    assert not state_home.exists()


def test_a_recording_goes_on_in_its_own_file_and_the_list_names_what_can_go_on(
    design_file: Path, tmp_path: Path
) -> None:
    recording = tmp_path / "mine.jsonl"
    with trying(design_file, "--record", str(recording)) as terminal:
        terminal.wait_for("quit", timeout=30)
        terminal.type_and_wait(RIGHT, "event 1 of 1")
        terminal.type_and_wait("g", "quit first to resume another session")
        terminal.type("q")
        assert terminal.wait() == 0
    assert offered(design_file) == []
    with Terminal((*KNOBMENU, "try", "--resume", str(recording)), 100, 30) as terminal:
        terminal.wait_for("event 1 of 1", timeout=30)
        terminal.type_and_wait(RIGHT, lambda text: shown_events(text) >= 2)
        terminal.process.kill()
    _, records = read_recording(recording)
    assert sum(isinstance(record, EventRecord) for record in records) >= 2

    listed = run_try("--sessions")
    assert listed.stdout == "There is no unsaved session.\n"
    with trying(design_file) as terminal:
        terminal.wait_for("quit", timeout=30)
        terminal.type_and_wait(RIGHT, "event 1 of 1")
        terminal.process.kill()
    (one,) = offered(design_file)
    for words in ((), (str(design_file),)):
        assert run_try("--sessions", *words).stdout == f"{one.format_start()}  lamp.toml: 1 event\n  {one.path}\n"


def run_try(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*KNOBMENU, "try", *words], capture_output=True, text=True, timeout=60, check=False)


def test_what_is_no_session_is_refused_in_a_line_and_left_as_it_is(design_file: Path, tmp_path: Path) -> None:
    before = design_file.read_bytes()
    done = run_try("--resume", str(design_file))
    assert done.returncode == 1
    assert "Name the design before --resume." in done.stderr
    assert design_file.read_bytes() == before
    assert "no file of this name" in run_try("--resume", str(tmp_path / "absent.jsonl")).stderr

    recording = tmp_path / "mine.jsonl"
    subprocess.run(
        [*KNOBMENU, "try", str(design_file), "--plain", "--record", str(recording)],
        input="1\n", capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    done = run_try(str(design_file), str(design_file), "--resume", str(recording))
    assert done.returncode == 1
    assert "expected a session of 2 designs, got one of 1" in done.stderr


# A disk without room.


@pytest.fixture
def small_disk(state_home: Path) -> Iterator[Path]:
    """A state folder on a disk of 256 KiB."""
    with mount_small_disk(state_home, 256) as disk:
        yield disk


@pytest.mark.skipif(sys.platform != "linux", reason="a small disk is a tmpfs")
def test_on_a_full_disk_the_app_goes_on_says_so_and_does_not_lose_what_it_has(
    design_file: Path, small_disk: Path
) -> None:
    with trying(design_file) as terminal:
        terminal.wait_for("? shows the keys", timeout=30)
        terminal.type_and_wait(RIGHT * 3, "event 3 of 3")
        filler = fill(small_disk)
        typed = 3
        while "not kept: no space left on device" not in terminal.text:
            assert typed < 200, "the last page of the file holds no more than 4096 bytes"
            terminal.type(RIGHT if typed % 20 < 10 else LEFT)
            typed += 1
            terminal.wait_for(f"event {typed} of {typed}")
        written = [record for record in records_on_disk(small_disk) if isinstance(record, EventRecord)]
        assert 3 <= len(written) < typed
        terminal.type_and_wait("q", "neither kept nor saved: s saves, q again quits")
        assert terminal.process.poll() is None

        filler.unlink()
        terminal.type_and_wait(RIGHT, "kept again")
        terminal.process.kill()
        terminal.process.wait(10)

    (one,) = offered(design_file)
    assert one.unsaved.events == typed + 1


def records_on_disk(folder: Path) -> list[Record]:
    (path,) = folder.rglob("*.jsonl")
    _, records = read_recording(path)
    return list(records)
