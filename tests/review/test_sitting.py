"""A sitting knows from its marks alone what comes next, wherever it was cut off."""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import pytest

from knobmenu.errors import RecordingError
from knobmenu.review.measures import ITEMS, score_usability
from knobmenu.review.sitting import (
    USABILITY_ITEMS,
    Ask,
    Consent,
    Practice,
    Step,
    answer_mark,
    finish_mark,
    participant_mark,
    resume,
    steps_of,
)
from knobmenu.review.study import FreeText, Study, Task, Trial, Variant, trials_of
from knobmenu.review.study_form import STUDY
from knobmenu.review.walk import begin_mark, end_mark

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


def marks_of(step: Step) -> Iterator[str]:
    match step:
        case Trial():
            yield begin_mark(step)
            yield end_mark("done")
        case Ask():
            yield answer_mark(step, 2 if step.answers else 'I "saw" it\n')
        case _:
            yield finish_mark(step)


def whole(number: int = 0) -> tuple[list[str], list[int]]:
    """Return all marks of a sitting, and how many steps are finished after each."""
    marks, finished = [participant_mark("p07", number)], [0]
    for place, step in enumerate(steps_of(STUDY_OF_TWO, number)):
        for mark in marks_of(step):
            marks.append(mark)
            finished.append(place)
        finished[-1] = place + 1
    return marks, finished


def test_a_sitting_asks_after_each_task_and_at_the_end_of_each_variant() -> None:
    steps = steps_of(STUDY_OF_TWO, 0)

    assert isinstance(steps[0], Consent)
    assert isinstance(steps[1], Practice)
    asked = ["ease", "why"]
    scale = [f"usability_{number}" for number in range(1, 11)]
    expected = [*["task", *asked] * 2, *scale, "liked"] * 2
    assert [step.key if isinstance(step, Ask) else "task" for step in steps[2:]] == expected
    assert tuple(step for step in steps if isinstance(step, Trial)) == trials_of(STUDY_OF_TWO, 0)


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

    assert steps_of(study, 0) == (Trial("one", "dark"), Ask("one", "liked", "?", 0))


@pytest.mark.parametrize("number", range(4))
def test_a_sitting_resumes_after_every_mark(number: int) -> None:
    marks, finished = whole(number)

    for count in range(1, len(marks) + 1):
        sitting = resume(STUDY_OF_TWO, marks[:count])
        assert (sitting.code, sitting.number, sitting.finished) == ("p07", number, finished[count - 1])
    assert sitting.step is None


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
        answer_mark(Ask("one", "usability_1", "?", 5), answer)


@pytest.mark.parametrize("code", ["", "Ann Other", "p 1", "P7"])
def test_a_name_is_not_a_code(code: str) -> None:
    with pytest.raises(ValueError, match="Ask for no names"):
        participant_mark(code, 0)


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
    with pytest.raises(RecordingError, match="no mark after the last step"):
        resume(STUDY_OF_TWO, [*whole()[0], "end done"])
    with pytest.raises(RecordingError, match="mark 1: expected the participant's code"):
        resume(STUDY_OF_TWO, [])


def test_a_study_changed_in_between_is_refused() -> None:
    changed = attrs.evolve(STUDY_OF_TWO, ease=False)

    with pytest.raises(RecordingError, match="a sitting of another study"):
        resume(changed, whole()[0])
