"""Pages and plots hold for any design, any label and any participant: what people do by chance is reported, too."""

from __future__ import annotations

from random import Random
from xml.etree import ElementTree

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.analysis.cost.gestures import HOLD, PRESS, Gesture
from knobmenu.design.menu import Menu
from knobmenu.design.whole import Design
from knobmenu.review.report.collection import Collection, read_person
from knobmenu.review.report.contents import compose
from knobmenu.review.report.document import Document, Heading, Picture, write_html, write_markdown
from knobmenu.review.report.flow import MOST_UNVISITED, find_flow
from knobmenu.review.report.flow_plot import plot_flow
from knobmenu.review.report.measures_table import write_measures_csv
from knobmenu.review.report.notes import make_note_table, place_notes
from knobmenu.review.report.results import Table, compute_results
from knobmenu.review.study import Trial
from knobmenu.review.study_form import Setup, read_study
from knobmenu.review.walk import format_begin_mark
from knobmenu.session.moderator import ModeratorNote, ModeratorNotes
from knobmenu.session.recording import decode_visible, encode
from tests.review.designs import clean
from tests.review.participants import Participant, Plan, Seat, astray, least, sit
from tests.review.planted import planted_study
from tests.review.readers import exact
from tests.sampling import sampled

LABELS = ("$5 & <b>$", "音量", "a|b", "\\frac", 'say "x"', "_*`#")


def walker(seed: int) -> Participant:
    """Return somebody who turns, presses and waits by chance."""

    def plan(seat: Seat, random: Random) -> Plan:
        chance = Random(seed)
        for _ in range(chance.randint(0, 40)):
            turn, pause = Gesture("turn", chance.choice([-3, -1, 1, 2, 7])), chance.choice([100, 3000, 40_000])
            some: list[Gesture | int] = [PRESS, PRESS, HOLD, turn, turn, pause]
            yield chance.choice(some)

    return plan


def collected(setup: Setup, *participants: Participant) -> tuple[Collection, dict[str, list[str]]]:
    people, lines = [], {}
    for number, who in enumerate(participants):
        header, records = sit(setup, who, number, number)
        file = f"{number}.jsonl"
        lines[file] = [encode(header), *map(encode, records)]
        people.append(read_person(setup, file, header, records))
    return Collection(setup, tuple(people)), lines


def document(setup: Setup, *participants: Participant) -> Document:
    collection, lines = collected(setup, *participants)
    return compose(compute_results(collection), lambda file: decode_visible(lines[file], file))


@given(
    st.lists(st.integers(0, 10**6), min_size=1, max_size=3), st.sampled_from(["none", "mislabelled", "slow", "hidden"])
)
@settings(deadline=None, max_examples=sampled(100, 6))
def test_what_people_do_by_chance_is_reported(seeds: list[int], fault: str) -> None:
    setup = planted_study(fault)  # type: ignore[arg-type]  # a fault
    written = document(setup, *map(walker, seeds))

    assert "NaN" not in write_html(written)
    for part in written.parts:
        if isinstance(part, Picture):
            ElementTree.fromstring(part.svg)
        if isinstance(part, Table):
            assert all(len(row) == len(part.columns) for row in part.rows)


@given(st.integers(0, 10**6))
@settings(deadline=None, max_examples=sampled(500, 20))
def test_departures_lie_within_their_attempt_and_cost_no_more_than_it(seed: int) -> None:
    collection, _ = collected(planted_study("mislabelled"), walker(seed))

    for attempt in collection.people[0].attempts:
        for one in attempt.departures:
            assert attempt.begun_ms <= one.begun_ms <= one.ended_ms
            assert one.gestures <= attempt.gestures
        assert attempt.succeeded or attempt.departures, "every failure has a place"
    assert write_measures_csv(collection).count("\n") == 1 + 3


def relabelled(label: str) -> Design:
    """Return the clean design with a label that is not plain words."""
    design = clean()
    settings_ = tuple(attrs.evolve(one, label=label) if one.key == "volume" else one for one in design.settings)
    return attrs.evolve(design, settings=settings_, name=label)


PLAIN = {
    "name": "Amplifier",
    "variants": {"only": {"design": "clean.toml", "label": "<i>only</i>"}},
    "tasks": {"louder": {"text": "Set *it* to <12>.", "done": {"equal": ["volume", 12]}}},
}


@pytest.mark.parametrize("label", LABELS)
def test_labels_are_text_in_every_output(label: str) -> None:
    setup = read_study(PLAIN, lambda file: relabelled(label))
    written = document(setup, astray, astray, astray)
    page, (text, pictures) = write_html(written), write_markdown(written, "r.pictures")

    assert "<b>" not in page
    assert "<12>" not in page
    assert "<12>" not in text
    for picture in pictures.values():
        ElementTree.fromstring(picture)


def test_the_sections_stand_in_the_order_in_which_they_are_read() -> None:
    written = document(planted_study("none", "mislabelled"), exact, exact)
    words = [part.text for part in written.parts if isinstance(part, Heading)]
    sections = [
        "Problems",
        "Tasks",
        "Deviation from the least way",
        "Paths",
        "Variants",
        "Usability scale",
        "Recordings",
    ]

    assert [one for one in words if one in sections] == sections


def test_a_task_whose_least_way_is_not_known_is_reported_without_it() -> None:
    setup = planted_study("none")
    unknown = attrs.evolve(setup, least=dict.fromkeys(setup.least))
    header, records = sit(setup, astray, 0)
    person = read_person(unknown, "p01.jsonl", header, records)
    results = compute_results(Collection(unknown, (person,)))

    assert all(attempt.departures == () for attempt in person.attempts)
    assert results.tasks[0].extra_gestures is None
    lines = [encode(header), *map(encode, records)]
    assert "unknown" in write_html(compose(results, lambda file: decode_visible(lines, file)))


# The flow.


def test_the_flow_counts_people_and_marks_the_least_way() -> None:
    collection, _ = collected(planted_study("mislabelled"), exact, exact, least)
    flow = find_flow(collection, Trial("mislabelled", "treble"))
    people = {(one.start, one.end): one.people for one in flow.passages if one.forward}
    way = [(one.start, one.end) for one in flow.passages if one.on_way and one.forward]

    assert flow.tried == 3
    assert people == {("", "main"): 3, ("main", "tone"): 3, ("main", "sounds"): 2, ("tone", "treble"): 3}
    assert set(way) == {("", "main"), ("main", "tone"), ("tone", "treble")}
    assert {place.key: place.people for place in flow.places if place.people} == {
        "": 3, "main": 3, "tone": 3, "sounds": 2, "treble": 3,
    }  # fmt: skip


def test_no_two_places_of_the_map_stand_upon_each_other() -> None:
    collection, _ = collected(planted_study("hidden"), *map(walker, range(6)))
    for task in ("treble", "frequency", "contrast"):
        flow = find_flow(collection, Trial("hidden", task))
        places = [(place.depth, place.row) for place in flow.places]
        assert len(places) == len(set(places))
        known = {place.key for place in flow.places}
        assert {one.start for one in flow.passages} | {one.end for one in flow.passages} <= known


def test_many_entries_that_nobody_chose_are_counted_in_one_row() -> None:
    design = clean()
    menus = tuple(Menu(key=f"more{number}", label=f"More {number}", entries=("light", "back")) for number in range(20))
    main = attrs.evolve(design.menus[0], entries=("volume", *(menu.key for menu in menus), "tone", "back"))
    many = attrs.evolve(design, menus=(main, *design.menus[1:], *menus))
    collection, _ = collected(read_study(PLAIN, lambda file: many), least)
    flow = find_flow(collection, Trial("only", "louder"))

    labels = [place.label for place in flow.places]
    assert len(labels) == 2 + 1 + MOST_UNVISITED + 1
    assert "15 more" in labels
    ElementTree.fromstring(plot_flow(flow))


# The notes of moderators.


def test_notes_stand_with_their_task_and_time() -> None:
    header, records = sit(planted_study("none", "mislabelled"), astray, 0)
    person = read_person(planted_study("none", "mislabelled"), "p01.jsonl", header, records)
    first, second = person.attempts[:2]
    times = [0, first.begun_ms, first.begun_ms + 1500, first.begun_ms + first.lasted_ms, second.begun_ms, 10**9]
    notes = tuple(ModeratorNote(at, f"note {number}") for number, at in enumerate(times))
    noted = attrs.evolve(person, notes=ModeratorNotes(notes))
    placed = list(place_notes(noted))
    last = person.attempts[-1].trial

    assert [one.note for one in placed] == list(notes)
    assert [one.trial for one in placed] == [None, first.trial, first.trial, first.trial, second.trial, last]
    assert [one.since_ms for one in placed] == [None, 0, 1500, None, 0, None]

    setup = planted_study("none", "mislabelled")
    table = make_note_table(compute_results(Collection(setup, (noted,))), 5)
    assert table is not None
    assert table.columns == ("participant", "time", "task", "variant", "in the task", "note")
    assert len(table.rows) == 5
    assert table.rows[0] == ("p01", "0:00.0", "before the first", "", "", "note 0")
    assert table.rows[2][2:] == (first.trial.task, table.rows[1][3], "0:01.5", "note 2")
    assert table.rows[3][2] == f"after {first.trial.task}"


def test_a_task_that_began_again_counts_from_its_last_begin() -> None:
    setup = planted_study("none")
    person = read_person(setup, "p01.jsonl", *sit(setup, astray, 0))
    trial = person.trials[0]
    marks = ((1000, format_begin_mark(trial)), (5000, format_begin_mark(trial)), (4900, "end done"))
    notes = tuple(ModeratorNote(at, "") for at in (1500, 5000, 9000))
    placed = place_notes(attrs.evolve(person, marks=marks[:2], notes=ModeratorNotes(notes)))
    assert [one.since_ms for one in placed] == [500, 0, 4000]
    placed = place_notes(attrs.evolve(person, marks=marks, notes=ModeratorNotes(notes)))
    assert [one.since_ms for one in placed] == [500, None, None], "an end may be dated back"


def test_a_report_without_notes_has_no_section_for_them() -> None:
    written = document(planted_study("none"), exact)
    assert "Notes" not in [part.text for part in written.parts if isinstance(part, Heading)]
