"""What is recorded is what happened, whatever cuts the recording off."""

import contextlib
import json
from collections.abc import Callable, Sequence

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.codec.identity import compute_identity
from knobmenu.design.settings import Number
from knobmenu.design.whole import Design
from knobmenu.errors import RecordingError
from knobmenu.events import Report, Turn
from knobmenu.session.part import Part
from knobmenu.session.playback import describe_frame, draw_frame, walk_frames
from knobmenu.session.recorder import Recorder
from knobmenu.session.recording import decode, decode_events, decode_visible, encode
from knobmenu.session.records import EventRecord, HandRecord, Header, Record
from knobmenu.session.restoring import find_divergence, restore
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline
from tests.sampling import WHOLE
from tests.session.recorded import Story, record, stories, turned_round

EXAMPLES = 1000 if WHOLE else 25


def read(lines: Sequence[str]) -> tuple[Header, list[Record]]:
    header, records = decode(lines)
    return header, list(records)


def as_it_was(part: Part) -> tuple[object, ...]:
    return part.design, part.moment, part.cost


def collect_everything(timeline: Timeline) -> list[object]:
    """Return all that a timeline holds, for comparison."""
    moments = [
        (timeline.history.get_parent(number), snapshot.remark, snapshot.powered_on, *map(as_it_was, snapshot.parts))
        for number, snapshot in enumerate(timeline.history)
    ]
    present = timeline.history.number, timeline.history.place, timeline.history.branch, timeline.history.branches
    shown = [as_it_was(part) for part in timeline.parts]
    return [moments, present, shown, timeline.designs, timeline.notes, timeline.list_events()]


def assert_restored(trial: Session, lines: Sequence[str]) -> None:
    """Restore a recording in each form that it is read in, and compare it with what happened."""
    for read_form in (decode, decode_events):
        restored = restore(*read_form(lines))

        assert collect_everything(restored.timeline) == collect_everything(trial.timeline)
        assert restored.turned == trial.turned
        assert [mark.name for mark in restored.timeline.marks] == [mark.name for mark in trial.timeline.marks]


@settings(max_examples=EXAMPLES)
@given(stories())
def test_a_recording_is_restored_to_what_happened(story: Story) -> None:
    assert_restored(story.session, story.lines)


@pytest.mark.parametrize(
    "done",
    [
        [("redesign", 1), ("back", 1)],
        [("redesign", 2), ("back", 1)],
        [("redesign", 1), ("redesign", 2), ("back", 1)],
        [("redesign", 1), ("back", 1), ("turn", 7), ("redesign", 2), ("back", 1), ("back", 1)],
    ],
)
def test_a_moment_before_a_changed_design_is_restored_in_that_design(kiln: Design, done: list[tuple[str, int]]) -> None:
    """Going back to the moment at which a design changed shows it carried over into the changed design."""
    assert_restored(*record([kiln, turned_round(kiln)], attrs.evolve(kiln, save_after_ms=500), done))


@pytest.mark.parametrize("was_one", [True, False])
@pytest.mark.parametrize("is_one", [True, False])
def test_variants_of_one_design_are_restored_whether_they_are_one_object_or_two(
    kiln: Design, was_one: bool, is_one: bool
) -> None:
    done = [("click", 20), ("turn", 9), ("redesign", 1), ("redesign", 2), ("back", 2)]
    variants = [kiln, kiln if was_one else attrs.evolve(kiln)]
    trial, lines = record(variants, attrs.evolve(kiln, save_after_ms=500), done)
    header, records = decode(lines)
    first = header.designs[0]
    header = attrs.evolve(header, designs=(first, first if is_one else attrs.evolve(first, design=attrs.evolve(kiln))))

    assert collect_everything(restore(header, records).timeline) == collect_everything(trial.timeline)


@settings(max_examples=EXAMPLES)
@given(stories())
def test_what_is_shown_names_the_moment_that_was_present(story: Story) -> None:
    header, shown = decode_visible(story.lines)
    numbers = [one.number for one in shown]
    _, records = read(story.lines)

    restored = [restore(header, records[: place + 1]).timeline.history.number for place in range(len(records))]

    assert numbers == restored


@settings(max_examples=EXAMPLES)
@given(stories())
def test_what_is_written_is_read_again(story: Story) -> None:
    header, records = read(story.lines)

    assert [encode(header), *map(encode, records)] == story.lines
    assert [recorded.identity for recorded in header.designs] == [compute_identity(design) for design in story.designs]
    assert [one.real_ms for one in records] == sorted(one.real_ms for one in records)
    assert all(line.endswith("\n") and line.count("\n") == 1 for line in story.lines)


@settings(max_examples=EXAMPLES)
@given(stories(), st.data())
def test_a_recording_that_is_cut_off_anywhere_holds_everything_before(story: Story, data: st.DataObject) -> None:
    text = "".join(story.lines)
    cut = data.draw(st.integers(len(story.lines[0]), len(text)))

    _, records = read(text[:cut].splitlines(keepends=True))

    whole = text[:cut].count("\n")
    # A line of which its line end alone is missing is whole.
    assert list(map(encode, records)) in (story.lines[1:whole], story.lines[1 : whole + 1])


@settings(max_examples=EXAMPLES)
@given(stories(redesigned=False))
def test_the_recorded_designs_do_what_was_recorded(story: Story) -> None:
    header, records = read(story.lines)
    assert find_divergence(header, records, story.designs) is None


def test_a_session_goes_on_from_its_recording(kiln: Design) -> None:
    trial, lines = record([kiln], kiln, [("turn", 9), ("click", 20), ("note", 1)])

    restored = restore(*decode(lines))
    again = Session(restored.timeline, 900_000)
    again.turn(1, 900_100)

    assert again.list_events() == (*trial.list_events(), again.list_events()[-1])
    assert again.list_events()[-1] == Turn(trial.at_ms + 100, 1)
    assert [note.text for note in again.notes] == ["note 1"]


def test_the_hand_is_recorded_whatever_is_counted(kiln: Design) -> None:
    _, lines = record([kiln], kiln, [("turn", 8), ("press", 5), ("release", 5)])

    _, records = read(lines)
    hand = [(one.turned, one.down) for one in records if isinstance(one, HandRecord)]

    assert hand == [(1, False), (2, False), (2, True), (2, False)]


def test_a_screen_is_recorded_where_it_changed(kiln: Design) -> None:
    _, lines = record([kiln], kiln, [("turn", 7), ("time", 20), ("time", 20)])

    _, records = read(lines)
    changed = [one.screens[0] is not None for one in records if isinstance(one, EventRecord)]

    assert changed == [True, False], "turning shows another value, and saving it shows nothing"


# Another version of the design.


def widen(kiln: Design) -> Design:
    warm = kiln.settings[0]
    assert isinstance(warm, Number)
    return attrs.evolve(kiln, settings=(attrs.evolve(warm, step=2), *kiln.settings[1:]))


def test_another_version_of_the_design_parts_where_it_does_something_else(kiln: Design) -> None:
    _, lines = record([kiln], kiln, [("click", 20), ("click", 20), ("turn", 7)])
    header, records = decode(lines)

    found = find_divergence(header, records, [widen(kiln)])

    assert found is not None
    assert (found.number, found.variant) == (3, 0)
    assert found.recorded != found.now
    assert "41" in found.recorded
    assert "42" in found.now


def test_an_event_that_cannot_come_any_more_is_where_they_part(kiln: Design) -> None:
    """A readout that is in no menu and at home nowhere is gone."""
    menus = tuple(
        attrs.evolve(menu, entries=tuple(entry for entry in menu.entries if entry.target != "inside"))
        for menu in kiln.menus
    )
    with_readout = attrs.evolve(kiln, menus=menus, home=attrs.evolve(kiln.home, rows=kiln.home.rows[1:]))
    lines: list[str] = []
    timeline = Timeline([with_readout], Recorder(lambda one: lines.append(encode(one)), 0))
    timeline.follow((Report(100, "inside", 300),))

    found = find_divergence(*decode(lines), [attrs.evolve(with_readout, readouts=())])

    assert found is not None
    assert (found.number, found.recorded) == (1, "an event that came")
    assert "inside" in found.now


# What cannot be read.


def get_refusal(read_form: Callable[[Sequence[str]], object], lines: Sequence[str]) -> str:
    """Say why a recording is not read."""
    with pytest.raises(RecordingError) as error:
        read_form(lines)
    return str(error.value)


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ([], "recording:1: expected the header of a recording, got nothing"),
        (['{"kind":"event"}\n'], 'recording:1: expected the header of a recording, got "event"'),
        (["no JSON\n"], 'recording:1: expected the header of a recording, got "no JSON"'),
        (["[1]\n"], 'recording:1: expected the header of a recording, got "[1]"'),
        (['{"kind":"header","format":2}\n'], "format: expected 1, got 2. This recording is from a newer knobmenu."),
        (['{"kind":"header","format":"1"}\n'], 'format: expected 1, got "1".'),
        (['{"kind":"header","format":1}\n'], "recording:1: expected designs, got a line without it"),
        (['{"kind":"header","format":1,"designs":[]}\n'], "expected at least one design, got none"),
        (['{"kind":"header","format":1,"designs":[{"design":{},"identity":""}]}\n'], "the design in this line"),
    ],
)
def test_what_is_not_a_recording_is_refused(lines: list[str], message: str) -> None:
    assert message in get_refusal(decode, lines)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('{"kind":"evnt"}', 'recording:3: kind: expected one of "power-on", "event"'),
        ('{"kind":"go","real_ms":1}', "recording:3: expected number, got a line without it"),
        ('{"kind":"go","real_ms":-1,"number":0,"screens":[]}', "real_ms: expected a whole number from 0, got -1"),
        ('{"kind":"note","real_ms":1,"number":0,"at_ms":1.5,"text":""}', "at_ms: expected a whole number from 0"),
        ('{"kind":"event","real_ms":1,"number":1,"events":[5],"effects":[],"screens":[]}', "expected a table, got 5"),
        ('{"kind":"event","real_ms":1,"number":1,"events":[null],"effects":[[5]],"screens":[null]}', "recording:3: "),
        ('{"kind":"event","real_ms":1,"number":1,"events":[],"effects":[],"screens":[7]}', "recording:3: "),
        *(
            (
                f'{{"kind":"go","real_ms":1,"number":0,"screens":[{screen}]}}',
                "recording:3: expected the fields of this kind of record, got others",
            )
            for screen in (
                '{"rows":["Heat"],"blinking":[[0,2,5]]}',
                '{"rows":["Heat"],"blinking":[[1,0,1]]}',
                '{"rows":["Heat"],"blinking":[[0,-1,1]]}',
                '{"rows":["Heat"],"blinking":[],"points":[4]}',
                '{"rows":[4],"blinking":[]}',
            )
        ),
        ("no JSON", 'recording:3: expected a JSON object, got "no JSON"'),
    ],
)
def test_a_line_that_cannot_be_read_is_named(kiln: Design, line: str, message: str) -> None:
    _, lines = record([kiln], kiln, [])
    assert message in get_refusal(read, [*lines, line + "\n"])


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('{"kind":"go","real_ms":7,"number":3,"screens":[null]}', "go at 7 ms: moment 3: expected 0 to 0"),
        ('{"kind":"note","real_ms":7,"number":3,"at_ms":0,"text":""}', "note at 7 ms: moment 3: expected 0 to 0"),
        (
            '{"kind":"event","real_ms":7,"number":5,"events":[{"event":"press","at_ms":1}],"effects":[[]],"screens":[]}',
            "event at 7 ms: expected the moment 1, got 5: records are missing",
        ),
        ('{"kind":"event","real_ms":7,"number":1,"events":[],"effects":[],"screens":[]}', "event at 7 ms: "),
    ],
)
def test_a_record_that_does_not_follow_is_refused(kiln: Design, line: str, message: str) -> None:
    _, lines = record([kiln], kiln, [])
    assert message in get_refusal(lambda lines: restore(*decode(lines)), [*lines, line + "\n"])


@given(st.data())
def test_any_change_of_a_line_is_read_or_refused(kiln: Design, data: st.DataObject) -> None:
    _, lines = record([kiln], kiln, [("turn", 7), ("click", 9), ("back", 1), ("note", 3), ("mark", 2), ("play", 1)])
    number = data.draw(st.integers(0, len(lines) - 1))
    plain = json.loads(lines[number])
    place = plain
    while isinstance(place, dict | list) and place:
        key = data.draw(st.sampled_from(sorted(place) if isinstance(place, dict) else range(len(place))))
        if data.draw(st.booleans()) or not isinstance(place[key], dict | list) or not place[key]:
            place[key] = data.draw(st.sampled_from([None, True, -1, 2**70, 1.5, "", "warm", [], {}, [[]], {"a": 1}]))
            break
        place = place[key]
    changed = [*lines[:number], json.dumps(plain) + "\n", *lines[number + 1 :]]
    with contextlib.suppress(RecordingError):
        restore(*decode(changed))
    with contextlib.suppress(RecordingError):
        header, shown = decode_visible(changed)
        designs = [recorded.design for recorded in header.designs]
        for frame in walk_frames(header, shown):
            assert draw_frame(designs, frame)
            describe_frame(designs, frame)
