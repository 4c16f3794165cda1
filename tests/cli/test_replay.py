"""``knobmenu replay`` and ``knobmenu watch`` on a recorded sitting."""

from __future__ import annotations

import json
import os
import xml.etree.ElementTree as ElementTree
from contextlib import suppress
from pathlib import Path

import pytest

from knobmenu.cli.main import main
from knobmenu.files.notes import LARGEST, read_notes
from knobmenu.files.sittings import append_note, get_notes_path
from knobmenu.session.moderator import ModeratorNotes
from tests.session.test_playback import DEMOS, record_sitting


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    path = tmp_path / "sitting.jsonl"
    path.write_text("".join(record_sitting()), encoding="utf-8")
    return path


def test_a_replay_without_a_terminal_prints_what_happened(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", str(recording)]) == 0

    said = capsys.readouterr().out
    assert "0:01.0  mark: task 1" in said
    assert said.count("turn +1") == 5


def test_a_replay_begins_at_a_mark(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", str(recording), "--from", "task 1"]) == 0
    assert capsys.readouterr().out.startswith("   0:00.0  mark: task 1\n")

    assert main(["replay", str(recording), "--from", "task 1", "--to", "svg"]) == 0
    assert 'begin="0.0s"' in capsys.readouterr().out


def test_a_mark_that_is_not_there_is_refused(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", str(recording), "--from", "task 7"]) == 1

    said = capsys.readouterr().err
    assert f"{recording}: expected a mark, " in said
    assert 'got "task 7"' in said


def test_a_replay_ends_at_a_mark(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mark = {"kind": "mark", "real_ms": 9000, "number": 0, "name": "end done"}
    more = {"kind": "mark", "real_ms": 9000, "number": 0, "name": "task 2"}
    with recording.open("a", encoding="utf-8") as stream:
        stream.writelines(json.dumps(one) + "\n" for one in (mark, more, mark))

    assert main(["replay", str(recording), "--until", "end done"]) == 0
    assert capsys.readouterr().out.endswith("mark: end done\n")
    assert main(["replay", str(recording), "--from", "task 2", "--until", "end done"]) == 0
    assert capsys.readouterr().out == "   0:00.0  mark: task 2\n   0:00.0  mark: end done\n"


@pytest.mark.parametrize(
    ("marks", "message"),
    [
        (["--until", "task 7"], 'expected a mark to end at, such as "task 1"; got "task 7". Did you mean "task 1"?'),
        (
            ["--from", "task 1", "--until", "task 1"],
            'expected a mark to end at, got none. Leave the mark "task 1" out.',
        ),
    ],
)
def test_an_end_that_does_not_follow_is_refused(
    marks: list[str], message: str, recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["replay", str(recording), *marks]) == 1
    assert capsys.readouterr().err == f"{recording}: {message}\n"


def test_a_replay_shows_the_notes_of_the_moderator_at_their_time(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    append_note(recording, 20_000, "afterwards: thinks aloud")
    append_note(recording, 2600, "turns \x1b[2J slowly \u202e")
    with get_notes_path(recording).open("ab") as stream:
        stream.write(b'garbage \x1b[2J\xff\n{"real_ms": "soon", "text": ""}\n{"real_ms":30')  # the last was cut off

    assert main(["replay", str(recording), "--from", "task 1"]) == 0

    said = capsys.readouterr()
    lines = said.out.splitlines()
    place = lines.index("   0:01.6  note: turns \\x1b[2J slowly \\x202e")
    assert lines[place - 1] == "   0:01.5  turn +1"
    assert lines[place + 1] == "   0:02.0  turn +1"
    assert lines[-1] == "   0:19.0  note: afterwards: thinks aloud"
    damaged = said.err.splitlines()
    assert damaged[0].startswith(f"{get_notes_path(recording)}:3: expected a note with real_ms and text, got ")
    assert '"garbage \\x1b[2J' in damaged[0]
    assert [line.partition(": ")[0] for line in damaged] == [
        f"{get_notes_path(recording)}:{line}" for line in (3, 4, 5)
    ]


def test_notes_change_no_export(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for format_ in ("asciicast", "svg"):
        main(["replay", str(recording), "--to", format_])
        without = capsys.readouterr().out
        append_note(recording, 0, "before everything")
        main(["replay", str(recording), "--to", format_])
        assert capsys.readouterr().out == without


@pytest.mark.parametrize("there", ["folder", "link", "pipe", "large"])
def test_notes_that_cannot_be_read_do_not_keep_a_recording_from_being_replayed(
    there: str, recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = get_notes_path(recording)
    match there:
        case "folder":
            path.mkdir()
        case "link":
            path.symlink_to("nowhere")
        case "pipe":
            os.mkfifo(path)
        case _:
            path.write_bytes(b"\n" * (LARGEST + 1))

    assert main(["replay", str(recording)]) == 0
    said = capsys.readouterr()
    assert "mark: task 1" in said.out
    assert said.err.startswith(f"{path}: expected ")
    assert said.err.count("\n") == 1


def test_a_replay_is_written_as_an_asciicast(recording: Path, tmp_path: Path) -> None:
    cast = tmp_path / "sitting.cast"

    assert main(["replay", str(recording), "--to", "asciicast", "-o", str(cast)]) == 0
    assert json.loads(cast.read_text(encoding="utf-8").splitlines()[0])["version"] == 2


def test_a_replay_is_written_as_a_picture(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", str(recording), "--to", "svg"]) == 0

    drawn = capsys.readouterr().out
    texts = [
        "".join(node.itertext()) for node in ElementTree.fromstring(drawn).iter("{http://www.w3.org/2000/svg}text")
    ]
    assert "Kitchen\N{NO-BREAK SPACE}radio" in texts
    assert "\\x" not in drawn, "standard output spells out what it cannot show"


def test_the_same_design_does_the_same(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", str(recording), "--design", str(DEMOS / "radio.toml")]) == 0
    assert "this version of the design" in capsys.readouterr().out


def test_another_version_says_where_they_part(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "radio.toml"
    text = (DEMOS / "radio.toml").read_text(encoding="utf-8")
    other.write_text(text.replace('clockwise = "up"', "").replace("initial = 8\n", "initial = 9\n"), encoding="utf-8")

    assert main(["replay", str(recording), "--design", str(other)]) == 1

    said = capsys.readouterr().out
    assert "another version of the design" in said
    assert "they diverge" in said


def test_a_moderator_watches_what_is_there(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with recording.open("a", encoding="utf-8") as stream:
        stream.write('{"kind":"ma')  # in flight

    assert main(["watch", str(recording), "--once"]) == 0

    seen = capsys.readouterr().out
    assert "task: task 1" in seen
    assert ">Station  Valley" in seen


def test_a_moderator_sees_the_earlier_notes(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    append_note(recording, 2600, "turns \x1b[2J slowly")
    with get_notes_path(recording).open("a", encoding="utf-8") as stream:
        stream.write("garbage\n")

    assert main(["watch", str(recording), "--once"]) == 0

    *_, damaged, note = capsys.readouterr().out.splitlines()
    assert note == "   0:02.6  noted: turns \\x1b[2J slowly"
    assert damaged.startswith(f'{get_notes_path(recording)}:2: expected a note with real_ms and text, got "garbage".')


@pytest.mark.parametrize("name", ["/", ".", "..", "", "\udcff", "s.notes"])
def test_any_name_of_a_recording_gives_no_traceback(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert read_notes(name) == ModeratorNotes()
    with suppress(SystemExit):
        assert main(["watch", name, "--once"]) != 0


@pytest.mark.parametrize("command", ["replay", "watch"])
def test_a_recording_that_is_not_there_is_an_error(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command, "nowhere.jsonl"]) == 1
    assert "expected the name of a recording, got no file of this name" in capsys.readouterr().err


@pytest.mark.parametrize("command", [["replay"], ["watch"], ["watch", "--once"]])
@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b'{"format":99,"kind":"header","new":[]}\n', "99"),
        (bytes(range(256)) * 300, ":1: "),
        (b"\x00" * 3_000 + b"\n", ":1: "),
        (b"[" * 100_000 + b"\n", ":1: "),
        (b"format = 1\nname = 'no recording'\n", "got a design. Give it to"),
    ],
)
def test_a_newer_format_and_what_is_not_a_recording_are_refused_in_one_line(
    command: list[str], content: bytes, message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "session.jsonl"
    path.write_bytes(content)

    assert main([*command, str(path)]) == 1

    refusal = capsys.readouterr().err
    assert refusal.count("\n") == 1
    assert message in refusal
    assert refusal[:-1].isprintable()
