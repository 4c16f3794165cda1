"""A recording is played, watched and exported as it was recorded."""

from __future__ import annotations

import json
import re
from contextlib import suppress
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.errors import RecordingError
from knobmenu.files import load
from knobmenu.session.animation import animate
from knobmenu.session.playback import (
    Player,
    WatchState,
    change_speed,
    draw_frame,
    draw_player,
    draw_watched,
    format_asciicast,
    format_clock,
    go_to_mark,
    go_to_place,
    run_player,
    walk_frames,
    watch,
)
from knobmenu.session.recorder import Recorder
from knobmenu.session.recording import decode, decode_visible, encode
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from tests.session.recorded import moves, record

DEMOS = Path(__file__).parents[2] / "demos"


def record_sitting() -> list[str]:
    """A recorded sitting at the radio: a task is begun, the volume turned, a note written."""
    lines: list[str] = []
    recorder = Recorder(lambda one: lines.append(encode(one)), 0)
    trial = Session(Timeline([load(DEMOS / "radio.toml")], recorder), 0)
    trial.timeline.mark("task 1", 1000)
    for number in range(5):
        trial.turn(1, 2000 + 500 * number)
    trial.timeline.note("hesitates", 5000)
    trial.click(6000)
    trial.pass_time(9000)
    return lines


def make_player() -> Player:
    header, shown = decode_visible(record_sitting())
    return Player(tuple(walk_frames(header, shown)))


@settings(max_examples=40, deadline=None)
@given(st.lists(moves, max_size=15))
def test_the_screens_of_the_frames_are_those_of_the_session(done: list[tuple[str, int]]) -> None:
    radio = load(DEMOS / "radio.toml")
    trial, lines = record([radio], radio, done)
    header, shown = decode_visible(lines)
    last = list(walk_frames(header, shown))[-1]

    assert last.screens[0].rows == trial.parts[0].screen.rows
    _, records = decode(lines)
    assert [one.real_ms for one in records] == [frame.real_ms for frame in walk_frames(*decode_visible(lines))]


def test_a_player_takes_as_long_as_the_session_at_its_own_speed() -> None:
    player, ran_ms = change_speed(make_player(), 1), 0
    while not player.ended:
        player = run_player(player, 10)
        ran_ms += 10

    assert player.speed == 2
    assert abs(ran_ms - player.frames[-1].real_ms / 2) <= 10


def test_a_player_jumps_to_marks_and_notes_and_stands_there() -> None:
    player = go_to_mark(make_player(), forward=True)
    assert player.frame.shown.plain["name"] == "task 1"
    assert not player.plays

    player = go_to_mark(player, forward=True)
    assert player.frame.shown.plain["text"] == "hesitates"
    assert go_to_mark(player, forward=False).frame.shown.plain["name"] == "task 1"
    assert go_to_mark(player, forward=True).ended


def test_a_player_steps_and_stays_within_its_ends() -> None:
    player = make_player()

    assert go_to_place(player, 3).frame is player.frames[3]
    assert go_to_place(player, -1).place == 0
    assert go_to_place(player, 10_000).ended


def test_a_player_shows_its_clock_the_device_and_what_happened_last() -> None:
    designs = [load(DEMOS / "radio.toml")]
    player = make_player()
    head, empty, name, *_ = draw_player(designs, change_speed(player, 1))
    seen = draw_player(designs, go_to_mark(go_to_mark(player, forward=True), forward=True))

    ends = format_clock(player.frames[-1].real_ms)

    assert (head, empty, name) == (f"0:00.0 of {ends}   playing, speed 2", "", designs[0].name)
    assert seen[0].startswith(f"0:05.0 of {ends}   stopped")
    assert any(line.endswith("  turn +1") for line in seen)
    assert seen[-1] == "   0:05.0  note: hesitates"


def test_an_asciicast_is_one_of_version_2() -> None:
    """As docs.asciinema.org describes asciicast v2 (from memory): a header, then [time, "o", data] in order of time."""
    header, shown = decode_visible(record_sitting())
    first, *events = [json.loads(line) for line in format_asciicast(header, walk_frames(header, shown))]

    assert first["version"] == 2
    assert first["width"] >= 20
    assert [event[1] for event in events] == ["o"] * len(events)
    assert [event[0] for event in events] == sorted(event[0] for event in events)
    assert len(events) > 5
    widest = max(len(line) for event in events for line in re.sub(r"\x1b\[\w+", "", event[2]).split("\r\n"))
    assert widest <= first["width"]
    assert max(event[2].count("\r\n") + 1 for event in events) <= first["height"]


def test_an_animated_picture_shows_one_frame_at_a_time() -> None:
    header, shown = decode_visible(record_sitting())
    picture = ElementTree.fromstring(animate([one.design for one in header.designs], walk_frames(header, shown)))
    sets = picture.findall(".//{http://www.w3.org/2000/svg}set")
    begins = [float(one.get("begin", "")[:-1]) for one in sets]
    ends = [begin + float(one.get("dur", "")[:-1]) for begin, one in zip(begins, sets[:-1], strict=False)]

    assert begins == sorted(begins)
    assert ends == pytest.approx(begins[1:])
    assert sets[-1].get("fill") == "freeze"


def test_a_moderator_sees_the_task_the_clock_the_device_and_the_notes() -> None:
    header, shown = decode_visible(record_sitting())
    designs = [one.design for one in header.designs]
    watched = WatchState()
    for frame in walk_frames(header, shown):
        watched, _ = watch(watched, designs, frame)
    seen = "\n".join(draw_watched(designs, watched, 12))

    assert "task: task 1" in seen
    assert "note: hesitates" in seen
    assert "knob: +5 detents, released" in seen
    assert "│" in seen
    assert format_clock(125_130) == "2:05.1"


def test_a_truncated_recording_is_read_up_to_its_last_whole_line() -> None:
    lines = record_sitting()
    cut = [*lines[:-1], lines[-1][:20]]

    assert len(list(decode_visible(cut)[1])) == len(lines) - 2


def test_a_newer_format_is_refused() -> None:
    lines = record_sitting()
    newer = json.loads(lines[0]) | {"format": 2}

    with pytest.raises(RecordingError, match="newer knobmenu"):
        decode_visible([json.dumps(newer) + "\n", *lines[1:]])


@settings(max_examples=60)
@given(st.data())
def test_no_broken_record_gives_a_traceback(data: st.DataObject) -> None:
    lines = record_sitting()
    number = data.draw(st.integers(1, len(lines) - 1))
    plain = json.loads(lines[number])
    plain[data.draw(st.sampled_from(sorted(plain)))] = data.draw(st.sampled_from((None, -1, "x", [], {}, [1], [{}])))
    lines[number] = json.dumps(plain) + "\n"
    with suppress(RecordingError):
        header, shown = decode_visible(lines)
        designs = [one.design for one in header.designs]
        watched = WatchState()
        for frame in walk_frames(header, shown):
            draw_frame(designs, frame)
            watched, _ = watch(watched, designs, frame)
        draw_watched(designs, watched, 5)
