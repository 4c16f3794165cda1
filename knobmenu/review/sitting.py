"""One participant's sitting: its stages, and its progress according to the marks recorded so far.

The marks of its recording hold the whole state of a sitting: the participant, each answer, and where each task begins
and ends. So an interrupted sitting continues from its recording at the first unfinished stage; a task that had begun
starts again.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any, assert_never, get_args

import attrs

from knobmenu.design.fields import is_key
from knobmenu.errors import RecordingError, quote_value
from knobmenu.review.measures import SCALE
from knobmenu.review.study import Scale, Study, Trial, list_trials
from knobmenu.review.walk import Outcome, format_begin_mark, format_end_mark

EASE = Scale(
    key="ease",
    text="Overall, how easy or difficult was this task?",
    answers=7,
    lowest="very difficult",
    highest="very easy",
    when="task",
)
"""The single ease question, seven answers (J. Sauro and J. S. Dumas, CHI 2009; all from memory)."""

USABILITY_ITEMS = (
    "I think that I would like to use this system frequently.",
    "I found the system unnecessarily complex.",
    "I thought the system was easy to use.",
    "I think that I would need the support of a technical person to be able to use this system.",
    "I found the various functions in this system were well integrated.",
    "I thought there was too much inconsistency in this system.",
    "I would imagine that most people would learn to use this system very quickly.",
    "I found the system very cumbersome to use.",
    "I felt very confident using the system.",
    "I needed to learn a lot of things before I could get going with this system.",
)
"""The items of the ten-item usability scale (J. Brooke, 1996; their wording from memory)."""


@attrs.frozen
class Consent:
    """The stage in which the participant agrees, or the sitting ends."""

    text: str


@attrs.frozen
class Practice:
    """The stage in which the participant tries the knob."""

    variant: str
    lasts_s: int
    """Its longest duration. [s]"""


@attrs.frozen
class AskedQuestion:
    """The stage in which the participant answers a question."""

    about: str
    """The key of the variant and, if the question is about a task, a space and the key of the task."""
    key: str
    text: str
    answers: int
    """The highest answer, from 1; 0 for free text."""
    lowest: str = ""
    """The meaning of 1."""
    highest: str = ""
    """The meaning of the highest answer."""


Stage = Consent | Practice | Trial | AskedQuestion


def list_stages(study: Study, participant: int) -> tuple[Stage, ...]:
    """Return all stages of a participant's sitting, in order.

    Args:
        study: The study.
        participant: The number of the participant, from 0, which decides the order.
    """
    trials = list_trials(study, participant)
    stages: list[Stage] = [Consent(study.consent)] if study.consent else []
    if study.practice_s:
        stages.append(Practice(trials[0].variant, study.practice_s))
    for place, trial in enumerate(trials):
        stages.append(trial)
        stages += _walk_task_questions(study, trial)
        if place + 1 == len(trials) or trials[place + 1].variant != trial.variant:
            stages += _walk_variant_questions(study, trial.variant)
    return tuple(stages)


def _walk_task_questions(study: Study, trial: Trial) -> Iterator[AskedQuestion]:
    about = f"{trial.variant} {trial.task}"
    if study.ease:
        yield _make_question(about, EASE)
    yield from (_make_question(about, question) for question in study.questions if question.when == "task")


def _walk_variant_questions(study: Study, variant: str) -> Iterator[AskedQuestion]:
    if study.usability_scale:
        for number, text in enumerate(USABILITY_ITEMS, 1):
            yield AskedQuestion(variant, f"usability_{number}", text, SCALE, "strongly disagree", "strongly agree")
    yield from (_make_question(variant, question) for question in study.questions if question.when == "end")


def _make_question(about: str, question: Any) -> AskedQuestion:
    if isinstance(question, Scale):
        return AskedQuestion(about, question.key, question.text, question.answers, question.lowest, question.highest)
    return AskedQuestion(about, question.key, question.text, 0)


# Marks.


def format_participant_mark(code: str, number: int) -> str:
    """Format the name of the mark that identifies the participant.

    Args:
        code: A code, never a name: a key such as ``p07``.
        number: The number of the participant, from 0.

    Raises:
        ValueError: The code is not a key.
    """
    if not is_key(code):
        raise ValueError(f"expected a code such as p07, got {quote_value(code)}. Use a code, not a name.")
    return f"participant {code} {number}"


def read_participant_mark(mark: str) -> tuple[str, int] | None:
    """Parse the code and the number of a participant's mark; None if it is another mark."""
    fields = mark.split(" ")
    if len(fields) != 3 or fields[0] != "participant" or not is_key(fields[1]) or not fields[2].isdecimal():
        return None
    return fields[1], int(fields[2])


CONSENT_GIVEN = "consent given"
"""The name of the mark at the end of consent."""

PRACTICE_ENDED = "practice ended"
"""The name of the mark at the end of practice; trials have marks of their own."""


def format_finish_mark(stage: Consent | Practice) -> str:
    """Format the name of the mark at the end of a stage that is neither a trial nor a question."""
    return CONSENT_GIVEN if isinstance(stage, Consent) else PRACTICE_ENDED


def format_answer_mark(ask: AskedQuestion, answer: int | str) -> str:
    """Format the name of the mark that holds an answer.

    Raises:
        ValueError: The answer is not one of the question's answers.
    """
    if ask.answers and not (type(answer) is int and 1 <= answer <= ask.answers):
        raise ValueError(f"expected a whole number from 1 to {ask.answers}, got {quote_value(answer)}")
    if not ask.answers and not isinstance(answer, str):
        raise ValueError(f"expected text, got {quote_value(answer)}")
    return "answer " + json.dumps([ask.about, ask.key, answer], ensure_ascii=False)


_ENDS = frozenset(map(format_end_mark, get_args(Outcome)))


@attrs.frozen
class Sitting:
    """The progress of a sitting."""

    code: str
    number: int
    """The number of the participant, from 0."""
    stages: tuple[Stage, ...]
    finished: int = 0
    """The number of finished stages."""
    begun: bool = False
    """Whether the next task has begun."""
    answers: tuple[tuple[AskedQuestion, int | str], ...] = ()
    """The answers so far."""

    @property
    def stage(self) -> Stage | None:
        """The next stage; None when the sitting is over."""
        return self.stages[self.finished] if self.finished < len(self.stages) else None

    @property
    def trials(self) -> tuple[Trial, ...]:
        """All its tasks, in order."""
        return tuple(stage for stage in self.stages if isinstance(stage, Trial))


def resume(study: Study, marks: Iterable[str]) -> Sitting:
    """Restore the progress of a sitting from the names of its marks.

    Args:
        study: The study, as it was when the sitting began.
        marks: The names, in order; the first identifies the participant.

    Raises:
        RecordingError: The marks are not those of a sitting of this study; the message states the mark.
    """
    rest = iter(enumerate(marks, 1))
    place, mark = next(rest, (1, "nothing"))
    try:
        if (whose := read_participant_mark(mark)) is None:
            raise _make_error("the participant's code and number", mark)
        code, number = whose
        sitting = Sitting(code, number, list_stages(study, number))
        for place, mark in rest:  # noqa: B007 - the error says at which place
            sitting = apply_mark(sitting, mark)
    except RecordingError as error:
        raise RecordingError(f"mark {place}: {error}. Is it a sitting of another study?") from None
    return sitting


def apply_mark(sitting: Sitting, mark: str) -> Sitting:
    """Return the progress of a sitting after one more mark.

    Raises:
        RecordingError: The mark is not the expected one.
    """
    stage = sitting.stage
    match stage:
        case None:
            raise _make_error("no mark after the last stage", mark)
        case Consent() | Practice():
            if mark != format_finish_mark(stage):
                raise _make_error(f'"{format_finish_mark(stage)}"', mark)
        case AskedQuestion():
            sitting = attrs.evolve(sitting, answers=(*sitting.answers, (stage, _parse_answer(stage, mark))))
        case Trial():
            # A trial that was interrupted begins again.
            if mark == format_begin_mark(stage):
                return attrs.evolve(sitting, begun=True)
            if not sitting.begun or mark not in _ENDS:
                raise _make_error("the end of the task" if sitting.begun else f'"{format_begin_mark(stage)}"', mark)
        case _:
            assert_never(stage)
    return attrs.evolve(sitting, finished=sitting.finished + 1, begun=False)


def _parse_answer(ask: AskedQuestion, mark: str) -> int | str:
    word, _, text = mark.partition(" ")
    try:
        given: Any = json.loads(text) if word == "answer" else None
        about, key, answer = given
        if (about, key) == (ask.about, ask.key) and format_answer_mark(ask, answer):
            return answer  # type: ignore[no-any-return]  # judged by format_answer_mark
    except (ValueError, TypeError, RecursionError):
        pass
    raise _make_error(f'an answer to "{ask.key}" about {ask.about}', mark)


def _make_error(expected: str, mark: str) -> RecordingError:
    return RecordingError(f"expected {expected}, got {quote_value(mark)}")
