"""Notes of a moderator are read whatever stands in their file, and stand at their time in what is shown."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.session.moderator import MOST_PROBLEMS, ModeratorNote, add_notes, decode_notes
from knobmenu.session.playback import Player, describe_frame, go_to_mark, walk_frames
from knobmenu.session.recording import decode_visible
from tests.session.test_playback import record_sitting


@given(st.lists(st.tuples(st.integers(0, 2**63 - 1), st.text(max_size=20)), max_size=8))
def test_notes_are_read_in_order_of_time_and_printable(written: list[tuple[int, str]]) -> None:
    lines = [json.dumps({"real_ms": at, "text": text}) + "\n" for at, text in written]
    read = decode_notes(lines, "p01.notes")

    assert read.problems == ()
    assert [note.real_ms for note in read.notes] == sorted(at for at, _ in written)
    assert all(note.text.isprintable() for note in read.notes)
    plain = {text for _, text in written if text.isprintable()}
    assert plain <= {note.text for note in read.notes}


DAMAGED = (
    "garbage",
    "[1, 2]",
    "[" * 100_000,
    '{"real_ms": 1}',
    '{"text": "x"}',
    '{"real_ms": true, "text": "x"}',
    '{"real_ms": -1, "text": "x"}',
    '{"real_ms": 1.5, "text": "x"}',
    '{"real_ms": 9223372036854775808, "text": "x"}',
    '{"real_ms": 1, "text": null}',
    '{"real_ms": 1, "text": "x"',
)


@pytest.mark.parametrize("line", DAMAGED)
def test_a_damaged_line_is_reported_and_the_others_are_read(line: str) -> None:
    whole = '{"real_ms": 7, "text": "hesitates"}\n'
    read = decode_notes([whole, line + "\n", "\n", whole], "p\x1b.notes")

    assert read.notes == (ModeratorNote(7, "hesitates"),) * 2
    (problem,) = read.problems
    assert problem.startswith("p\\x1b.notes:2: expected a note with real_ms and text, got ")
    assert problem.endswith("Correct or remove the line; the others are used.")
    assert len(problem) < 200


def test_of_many_damaged_lines_the_first_are_named() -> None:
    problems = decode_notes(["?\n"] * 100, "p01.notes").problems

    assert len(problems) == MOST_PROBLEMS + 1
    assert problems[-1] == f"p01.notes: … and {100 - MOST_PROBLEMS} more lines that cannot be read"


def test_a_player_jumps_to_a_note_as_to_a_mark() -> None:
    header, shown = decode_visible(record_sitting())
    notes = (ModeratorNote(2500, "looks away"), ModeratorNote(99_000, "asks"))
    player = Player(tuple(walk_frames(header, add_notes(shown, notes))))
    designs = [one.design for one in header.designs]
    said = []
    for _ in range(5):
        player = go_to_mark(player, forward=True)
        said.append((player.frame.real_ms, describe_frame(designs, player.frame)))

    assert said[:3] == [(1000, "mark: task 1"), (2500, "note: looks away"), (5000, "note: hesitates")]
    assert said[3:] == [(99_000, "note: asks")] * 2
    assert go_to_mark(go_to_mark(player, forward=False), forward=False).frame.real_ms == 2500


@given(st.lists(st.integers(0, 12_000), max_size=6))
def test_a_note_stands_behind_what_had_happened_and_changes_nothing_else(times: list[int]) -> None:
    header, shown = decode_visible(record_sitting())
    every = list(shown)
    notes = [ModeratorNote(at, f"\N{BULLET} {at}") for at in sorted(times)]
    both = list(add_notes(every, notes))

    assert [one for one in both if one.place] == every
    assert [one.real_ms for one in both] == sorted(one.real_ms for one in both)
    for place, one in enumerate(both):
        if not one.place:
            assert all(after.real_ms > one.real_ms for after in both[place:] if after.place)
    played = list(walk_frames(header, both))
    assert played[-1].screens == list(walk_frames(header, every))[-1].screens
