"""The report finds the problem planted in a design, with people who look and have habits, and none in clean ones."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from functools import cache

import attrs
import pytest
from scipy.stats import binom

from knobmenu import load
from knobmenu.review.report.collection import Collection, collect, read_person
from knobmenu.review.report.comparison import SUCCESS, TIME
from knobmenu.review.report.habits import RISK
from knobmenu.review.report.measures_table import COLUMNS, write_measures_csv
from knobmenu.review.report.problems import FEWEST_WHO_MEET, describe_problem, find_problems
from knobmenu.review.report.results import Results, compute_results, make_recording_table
from knobmenu.review.study_form import Setup
from tests.demos.playing import DEMOS
from tests.review.named import named_study
from tests.review.participants import code_of, sit
from tests.review.planted import Fault, amplifier, planted_study
from tests.review.readers import Reader, exact, hesitant, lost, overshooting
from tests.sampling import sampled

CROWD = (exact, hesitant, overshooting, lost) * 2
"""Eight people, of whom two turn too far at every other place and two stray: slips that are nobody's fault."""

SEEDS = range(1, 100 * sampled(20, 3), 100)
"""Twenty crowds when everything runs."""

CLEAN = ("radio", "instrument", "proofer", "receiver", "study/lamp-a", "study/lamp-b")
"""The demos that have settings which are reached by turning and pressing."""


@cache
def sittings(crowd: tuple[Reader, ...], *faults: Fault, seed: int = 1) -> Collection:
    return sit_all(planted_study(*faults), crowd, seed)


def sit_all(setup: Setup, crowd: Sequence[Reader], seed: int) -> Collection:
    people = [
        read_person(setup, f"{code_of(number)}.jsonl", *sit(setup, who, number, seed + number))
        for number, who in enumerate(crowd)
    ]
    return Collection(setup, tuple(people))


def results(crowd: Sequence[Reader], *faults: Fault, seed: int = 1) -> Results:
    return compute_results(sittings(tuple(crowd), *faults, seed=seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_clean_design_has_no_problem(seed: int) -> None:
    found = results(CROWD, "none", seed=seed)

    assert found.common == ()
    assert "No problems were found, apart from slips that occur with any design." in found.verdict
    assert len(found.problems) >= 2, "the slips are still listed"


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(
    ("fault", "task", "kind", "words"),
    [
        ("mislabelled", "treble", "wrong-turn", 'chose "Tone" in "Menu" instead of "System"'),
        ("slow", "frequency", "long-turn", 'turned the knob more than 2 times around for "Frequency": 200 detents'),
        ("hidden", "contrast", "not-found", "never found the long press at home"),
    ],
)
def test_the_planted_problem_is_the_first(fault: Fault, task: str, kind: str, words: str, seed: int) -> None:
    found = results(CROWD, fault, seed=seed)

    first = found.problems[0]
    assert (first.trial.task, first.kind) == (task, kind)
    assert describe_problem(found.collection, first) == words
    assert first.met >= 6
    assert {problem.trial.task for problem in found.common} == {task}, "no other task has a problem"
    assert any(words in sentence for sentence in found.verdict)


def test_designs_that_name_everything_as_the_task_does_have_problems_no_more_often_than_habits_may_make_them() -> None:
    setups = [named_study(load(DEMOS / f"{demo}.toml")) for demo in CLEAN]
    found = [sit_all(setup, CROWD, seed) for setup in setups for seed in SEEDS]
    alarms = [one for one in found if any(problem.is_common for problem in find_problems(one))]

    assert len(alarms) <= binom.ppf(0.99, len(found), RISK)


def test_whoever_cannot_find_a_gesture_fails_there() -> None:
    found = results(CROWD, "hidden")

    assert 'Task "contrast": 0 of 8 succeeded (95 %: 0 % to 37 %).' in found.verdict


def test_what_everybody_turns_past_is_a_problem() -> None:
    found = results([attrs.evolve(overshooting, too_far=1.0)] * 6, "none")
    common = {(problem.kind, problem.key) for problem in found.common}

    assert {key for kind, key in common if kind == "overshoot"} == {"treble", "frequency", "contrast"}
    assert {kind for kind, key in common} == {"overshoot", "passed-entry"}, "they turn past entries as well"
    assert 'turned "Treble" past 2' in {describe_problem(found.collection, problem) for problem in found.common}


def test_problems_are_ranked_by_failures_then_by_people() -> None:
    problems = find_problems(sittings(CROWD, "mislabelled", "slow", "hidden"))
    ranks = [(problem.is_common, problem.failed, problem.met) for problem in problems]

    assert ranks == sorted(ranks, reverse=True)
    assert all(problem.met >= FEWEST_WHO_MEET for problem in problems if problem.is_common)


def test_the_better_variant_is_named_with_enough_people() -> None:
    found = results(CROWD, "none", "hidden")
    success = next(one for one in found.comparisons if one.measure == SUCCESS and one.task == "contrast")

    assert success.is_beyond_chance
    assert success.better == "none"
    assert any(sentence.startswith('"none" is better than "hidden" in success') for sentence in found.verdict)


def test_two_alike_variants_do_not_differ() -> None:
    found = results(CROWD, "none", "mislabelled")
    frequency = next(one for one in found.comparisons if one.measure == TIME and one.task == "frequency")

    assert not frequency.is_beyond_chance


def test_too_few_people_are_said_to_be_too_few() -> None:
    found = results(CROWD[:3], "none", "hidden")

    said = 'Too few people to compare "none" with "hidden": 3 can be compared, but at least 5 are needed.'
    assert said in found.verdict
    assert not any(one.is_beyond_chance for one in found.comparisons)


def test_one_person_alone_gives_a_report() -> None:
    found = results(CROWD[:1], "mislabelled")

    assert found.common == ()
    assert "A problem that 1 in 10 people meet stays unseen in 90 % of studies this small." in found.verdict


def test_the_table_of_measures_has_a_row_for_each_attempt() -> None:
    collection = sittings(CROWD, "none", "hidden")
    rows = list(csv.DictReader(io.StringIO(write_measures_csv(collection))))

    assert list(rows[0]) == list(COLUMNS)
    assert len(rows) == 8 * 2 * 3
    failed = [row for row in rows if row["outcome"] != "done"]
    assert {(row["variant"], row["task"], row["departures"]) for row in failed} == {("hidden", "contrast", "not-found")}
    assert all(0 <= float(row["usability_score"]) <= 100 for row in rows)


def test_attempts_with_another_version_of_the_design_are_left_out_and_named() -> None:
    old = planted_study("mislabelled")
    changed = attrs.evolve(old, designs={"mislabelled": amplifier("none")})
    header, records = sit(old, exact, 0)
    found = collect(changed, [("p01.jsonl", lambda: (header, iter(records)))])

    (person,) = found.people
    assert person.attempts == ()
    assert len(person.other_version) == 3


def test_recordings_that_cannot_be_used_are_named() -> None:
    setup = planted_study("none")
    header, records = sit(setup, exact, 0)
    other_header, other_records = sit(planted_study("hidden"), exact, 1)
    found = collect(
        setup,
        [
            ("p01.jsonl", lambda: (header, iter(records))),
            ("p02.jsonl", lambda: (other_header, iter(other_records))),
            ("p03.jsonl", lambda: (header, iter(records))),
            ("p04.jsonl", lambda: (header, iter(records[: len(records) // 2]))),
        ],
    )
    rows = {row[2]: row[3] for row in make_recording_table(compute_results(found)).rows}

    assert [person.code for person in found.people] == ["p01"]
    assert rows["p01.jsonl"] == ""
    assert "expected a variant and a task of this study, got 'hidden " in rows["p02.jsonl"]
    assert "the code p01 is already used in p01.jsonl" in rows["p03.jsonl"]
