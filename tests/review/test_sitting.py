"""A sitting knows from its marks alone what comes next, wherever it was cut off."""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import pytest

from knobmenu.errors import RecordingError
from knobmenu.review.measures import ITEMS, score_usability
from knobmenu.review.sitting import (
    USABILITY_ITEMS,
    AskedQuestion,
    Consent,
    Practice,
    Stage,
    format_answer_mark,
    format_finish_mark,
    format_participant_mark,
    list_stages,
    resume,
)
from knobmenu.review.study import FreeText, Study, Task, Trial, Variant, list_trials
from knobmenu.review.study_form import STUDY
from knobmenu.review.walk import format_begin_mark, format_end_mark

STUDY_OF_TWO: Study = STUDY.build(
    {
        "name": "Two amplifiers",
        "consent": "Turns and presses are recorded under a code.",
        "variants": {"one": "one.toml", "two": "two.toml"},
        "tasks": {
            "louder": {"text": "Set the volume to 12.", "done": {"equal": ["volume", 12]}},
            "dark": {"text": "Switch the light off.", "done": {"equal": ["light", False]}},
        },
        "questions": {"why": {"kind": "text", "text": "Why?", "when": "task"}, "liked": {"kind": "text", "text": "?"}},
    }
)


def marks_of(stage: Stage) -> Iterator[str]:
    match stage:
        case Trial():
            yield format_begin_mark(stage)
            yield format_end_mark("done")
        case AskedQuestion():
            yield format_answer_mark(stage, 2 if stage.answers else 'I "saw" it\n')
        case _:
            yield format_finish_mark(stage)


def whole(number: int = 0) -> tuple[list[str], list[int]]:
    """Return all marks of a sitting, and how many stages are finished after each."""
    marks, finished = [format_participant_mark("p07", number)], [0]
    for place, stage in enumerate(list_stages(STUDY_OF_TWO, number)):
        for mark in marks_of(stage):
            marks.append(mark)
            finished.append(place)
        finished[-1] = place + 1
    return marks, finished


def test_a_sitting_asks_after_each_task_and_at_the_end_of_each_variant() -> None:
    stages = list_stages(STUDY_OF_TWO, 0)

    assert isinstance(stages[0], Consent)
    assert isinstance(stages[1], Practice)
    asked = ["ease", "why"]
    scale = [f"usability_{number}" for number in range(1, 11)]
    expected = [*["task", *asked] * 2, *scale, "liked"] * 2
    assert [stage.key if isinstance(stage, AskedQuestion) else "task" for stage in stages[2:]] == expected
    assert tuple(stage for stage in stages if isinstance(stage, Trial)) == list_trials(STUDY_OF_TWO, 0)


def test_what_a_study_leaves_out_is_not_asked() -> None:
    study = Study(
        name="Bare",
        variants=(Variant("one", "one.toml"),),
        tasks=(Task("dark", "Switch it off.", STUDY_OF_TWO.tasks[1].done),),
        questions=(FreeText("liked", "?"),),
        practice_s=0,
        ease=False,
        usability_scale=False,
    )

    assert list_stages(study, 0) == (Trial("one", "dark"), AskedQuestion("one", "liked", "?", 0))


@pytest.mark.parametrize("number", range(4))
def test_a_sitting_resumes_after_every_mark(number: int) -> None:
    marks, finished = whole(number)

    for count in range(1, len(marks) + 1):
        sitting = resume(STUDY_OF_TWO, marks[:count])
        assert (sitting.code, sitting.number, sitting.finished) == ("p07", number, finished[count - 1])
    assert sitting.stage is None


def test_an_interrupted_task_is_put_again() -> None:
    marks, _ = whole()
    begin = next(place for place, mark in enumerate(marks) if mark.startswith("begin"))
    again = [*marks[: begin + 1], *marks[begin:]]

    assert resume(STUDY_OF_TWO, again) == resume(STUDY_OF_TWO, marks)


def test_answers_come_back_as_they_were_given() -> None:
    answers = resume(STUDY_OF_TWO, whole()[0]).answers

    assert {answer for ask, answer in answers if ask.key == "why"} == {'I "saw" it\n'}
    scale = [answer for ask, answer in answers if ask.about == "one" and ask.key.startswith("usability")]
    assert len(scale) == ITEMS == len(USABILITY_ITEMS)
    assert score_usability([answer for answer in scale if isinstance(answer, int)]) == 50  # all alike are neutral


@pytest.mark.parametrize("answer", [0, 6, "3", True, 2.0])
def test_an_answer_beside_the_scale_is_refused(answer: int | str) -> None:
    with pytest.raises(ValueError, match="expected a whole number from 1 to 5"):
        format_answer_mark(AskedQuestion("one", "usability_1", "?", 5), answer)


@pytest.mark.parametrize("code", ["", "Ann Other", "p 1", "P7"])
def test_a_name_is_not_a_code(code: str) -> None:
    with pytest.raises(ValueError, match="Use a code, not a name"):
        format_participant_mark(code, 0)


@pytest.mark.parametrize(
    ("place", "mark"),
    [
        (0, "participant Ann 0"),
        (0, "begin one louder"),
        (1, "practice ended"),
        (3, "begin one other"),
        (3, "end done"),
        (4, "end won"),
        (5, "answer"),
        (5, "answer [1]"),
        (5, 'answer ["one louder", "ease", 9]'),
        (5, 'answer ["one dark", "ease", 3]'),
    ],
)
def test_marks_of_another_study_are_refused(place: int, mark: str) -> None:
    marks, _ = whole()
    marks[place] = mark

    with pytest.raises(RecordingError, match=f"mark {place + 1}: expected"):
        resume(STUDY_OF_TWO, marks)


def test_a_mark_after_the_end_and_no_mark_at_all_are_refused() -> None:
    with pytest.raises(RecordingError, match="no mark after the last stage"):
        resume(STUDY_OF_TWO, [*whole()[0], "end done"])
    with pytest.raises(RecordingError, match="mark 1: expected the participant's code"):
        resume(STUDY_OF_TWO, [])


def test_a_study_changed_in_between_is_refused() -> None:
    changed = attrs.evolve(STUDY_OF_TWO, ease=False)

    with pytest.raises(RecordingError, match="a sitting of another study"):
        resume(changed, whole()[0])
