"""Habits of a few people explain what they do everywhere; what people do at one place only, they do not."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobmenu.review.measures import compute_chance_of_count
from knobmenu.review.report.habits import RISK, Met, judge_places
from knobmenu.review.study import Trial
from tests.sampling import sampled

PEOPLE = [f"p{number}" for number in range(8)]
TRIALS = [Trial("only", task) for task in "abcd"]
TRIED = {trial: set(PEOPLE) for trial in TRIALS}


def problems(places: dict[str, Met]) -> set[object]:
    return {place for place, p in judge_places(places, TRIED).items() if p < RISK}


def test_what_two_people_do_everywhere_is_no_problem_of_a_place() -> None:
    assert problems({trial.task: Met(trial, "overshoot", set(PEOPLE[:2])) for trial in TRIALS}) == set()


def test_what_most_people_do_at_one_place_is_a_problem() -> None:
    places = {"a": Met(TRIALS[0], "overshoot", set(PEOPLE[:6]))}
    places |= {trial.task: Met(trial, "overshoot", set(PEOPLE[:2])) for trial in TRIALS[1:]}

    assert problems(places) == {"a"}


def test_what_everybody_does_everywhere_is_the_designs() -> None:
    assert problems({trial.task: Met(trial, "overshoot", set(PEOPLE)) for trial in TRIALS}) == set("abcd")


def test_one_problem_does_not_hide_another_of_its_class() -> None:
    places = {trial.task: Met(trial, "wrong-turn", set(PEOPLE[:7])) for trial in TRIALS[:2]}

    assert problems(places) == {"a", "b"}


def test_nothing_met_is_nothing_judged() -> None:
    assert judge_places({}, TRIED) == {}


@pytest.mark.parametrize("people", [5, 8, 20][: sampled(3, 1)])
def test_habits_alone_make_a_problem_in_one_study_of_twenty_at_most(people: int) -> None:
    """Of people who each slip at a rate of their own, alike at all places."""
    codes = [f"p{number}" for number in range(people)]
    random, alarms, studies = Random(people), 0, sampled(400, 20)
    for _ in range(studies):
        rates = [random.choice([0.02, 0.02, 0.05, 0.5]) for _ in codes]
        places = {}
        for trial in TRIALS:
            met = {code for code, rate in zip(codes, rates, strict=True) if random.random() < rate}
            if met:
                places[trial.task] = Met(trial, "overshoot", met)
        judged = judge_places(places, {trial: set(codes) for trial in TRIALS})
        alarms += any(p < RISK for p in judged.values())

    assert alarms <= 0.05 * studies + 2 * (0.05 * 0.95 * studies) ** 0.5


@given(st.integers(0, 12), st.integers(1, 12), st.floats(0, 1))
def test_people_alike_follow_the_binomial_distribution(count: int, people: int, rate: float) -> None:
    from scipy.stats import binom

    assert compute_chance_of_count(count, [rate] * people) == pytest.approx(
        float(binom.sf(count - 1, people, rate)), abs=1e-9
    )


def test_people_who_differ_follow_what_counting_all_outcomes_gives() -> None:
    # Counted by hand: both meet it in 0.5 * 0.2, nobody in 0.5 * 0.8.
    assert compute_chance_of_count(2, [0.5, 0.2]) == pytest.approx(0.1)
    assert compute_chance_of_count(1, [0.5, 0.2]) == pytest.approx(0.6)
