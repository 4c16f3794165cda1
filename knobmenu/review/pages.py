"""Pages that a participant reads and answers, and the page of each stage of a sitting."""

from __future__ import annotations

import re
from typing import assert_never

import attrs

from knobmenu.review.ongoing import OngoingSitting
from knobmenu.review.sitting import AskedQuestion, Consent, Practice
from knobmenu.review.study import Trial
from knobmenu.review.walk import format_end_mark


@attrs.frozen
class Choice:
    """A page with one or more options, of which one is always selected; the answer is its index, from 0.

    A text that does not fit the screen is shown in parts, with the options below the last part.
    """

    title: str
    text: str
    options: tuple[str, ...]
    remark: str = ""
    """What just happened, or what is wrong."""
    chosen: int = 0
    read: int = 0
    """How much of the text precedes the part that is shown. [characters without spaces]"""


@attrs.frozen
class Rating:
    """A page whose answer is a number from 1; no answer is selected at first, so that none is suggested."""

    title: str
    text: str
    answers: int
    lowest: str
    """The meaning of 1."""
    highest: str
    """The meaning of the highest answer."""
    remark: str = ""
    chosen: int | None = None


@attrs.frozen
class Line:
    """A page whose answer is typed."""

    title: str
    text: str
    remark: str = ""
    typed: str = ""


Page = Choice | Rating | Line
Answer = int | str


THANKS = Choice("The end", "That was all. Thank you for taking part!", ("Close",))

PRACTICE = "Try the knob. Nothing counts yet."
"""The text above the device in practice."""

GIVE_UP = ("Continue with the task", "Give up this task")
"""The options when a participant asks to give up a task."""

STOP_PRACTICE = ("Keep trying", "Begin with the tasks")

LEAVE = ("Continue", "Leave")

REFUSE = 1
"""The index of the option by which a participant does not agree."""

REPAIR = ("Try again", "Leave")


def make_page(ongoing: OngoingSitting, remark: str) -> Page:
    """Make the page of the next stage.

    Args:
        ongoing: The sitting.
        remark: What just happened.
    """
    stage = ongoing.stage
    match stage:
        case None:
            return THANKS
        case Consent(text):
            return Choice("Before you begin", _join_lines(text), ("I agree", "I do not agree"), remark)
        case Practice(_, lasts_s):
            text = (
                f"First try the knob for up to {lasts_s} seconds. Turn it with the arrow keys, and press it with Space."
                "\nNothing counts yet."
            )
            return Choice("Practice", text, ("Begin",), remark)
        case Trial():
            return Choice(
                _format_task_title(ongoing, stage),
                _announce_variant(ongoing, stage) + get_task_text(ongoing),
                ("Begin",),
                remark,
            )
        case AskedQuestion(about, _, text, answers, lowest, highest):
            title = _format_question_title(ongoing, about)
            return Rating(title, text, answers, lowest, highest, remark) if answers else Line(title, text, remark)
        case _:
            assert_never(stage)


def get_task_text(ongoing: OngoingSitting) -> str:
    """Return the text of the next task."""
    assert ongoing.task is not None
    return ongoing.task.text


def describe_use(ongoing: OngoingSitting) -> str:
    """Return what stands above the device while it is used: the text of the task, or that nothing counts yet."""
    return PRACTICE if isinstance(ongoing.stage, Practice) else get_task_text(ongoing)


def describe_end(ongoing: OngoingSitting) -> str:
    """Return how the last task ended; nothing where it was given up, and after practice."""
    name = ongoing.session.timeline.marks[-1].name
    ends = {format_end_mark("done"): "Done.", format_end_mark("time-out"): "The time for this task is over."}
    return ends.get(name, "")


def make_stop_page(ongoing: OngoingSitting) -> Choice:
    """Make the page that asks whether practice is over, or whether a participant gives up the task."""
    if isinstance(ongoing.stage, Practice):
        return Choice("Practice", "Do you know how the knob works?", STOP_PRACTICE)
    return Choice("Give up?", get_task_text(ongoing), GIVE_UP)


def make_leave_page(code: str) -> Choice:
    """Make the page on which a moderator ends a sitting early."""
    text = f"For the moderator: leave the sitting of {code}? You can continue it later, where it stopped."
    return Choice("Leave?", text, LEAVE)


def make_repair_page(problem: str) -> Choice:
    """Make the page that is shown while the recording cannot be written."""
    text = (
        "Please call the moderator: the sitting is paused, because it cannot be recorded."
        "\nEverything recorded so far is kept. Make room for the recording, then try again: the unfinished part"
        " begins again."
    )
    return Choice("Paused", text, REPAIR, problem)


def _join_lines(text: str) -> str:
    """Join the lines of each paragraph, with an empty line between paragraphs: the page wraps them itself."""
    return "\n\n".join(" ".join(paragraph.split()) for paragraph in re.split(r"\n\s*\n", text.strip()))


def _format_task_title(ongoing: OngoingSitting, trial: Trial) -> str:
    trials = ongoing.sitting.trials
    return f"Task {trials.index(trial) + 1} of {len(trials)}"


def _announce_variant(ongoing: OngoingSitting, trial: Trial) -> str:
    """Return a sentence if a trial begins another variant, otherwise an empty string."""
    trials = ongoing.sitting.trials
    place = trials.index(trial)
    if place == 0 or trials[place - 1].variant == trial.variant:
        return ""
    return "From now on you use another version of the device.\n"


def _format_question_title(ongoing: OngoingSitting, about: str) -> str:
    variant, _, task = about.partition(" ")
    if task:
        return f"{_format_task_title(ongoing, Trial(variant, task))}: a question"
    asks = [stage for stage in ongoing.sitting.stages if isinstance(stage, AskedQuestion) and stage.about == about]
    place = asks.index(ongoing.stage) + 1 if isinstance(ongoing.stage, AskedQuestion) else 0
    return f"The device that you used last: question {place} of {len(asks)}"
