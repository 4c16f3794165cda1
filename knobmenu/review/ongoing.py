"""A sitting in progress: the device in front of the participant, and the stages that they finish.

This module neither waits nor draws. The program that shows the sitting passes on the participant's actions with their
real times, and calls `OngoingSitting.pass_time` after each and at the time of `OngoingSitting.find_due_ms`. Each
finished stage is a mark in the recording, so that a sitting continues from its recording; see
`knobmenu.review.sitting`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import assert_never

import attrs

from knobmenu.design.whole import Design
from knobmenu.errors import RecordingError
from knobmenu.events import Report, Wait
from knobmenu.review.sitting import (
    CONSENT_GIVEN,
    PRACTICE_ENDED,
    Ask,
    Consent,
    Practice,
    Sitting,
    Step,
    answer_mark,
    follow_mark,
    participant_mark,
    resume,
    steps_of,
)
from knobmenu.review.study import Task, Trial, trials_of
from knobmenu.review.study_form import Setup, is_done, stage
from knobmenu.review.walk import Outcome, begin_mark, end_mark
from knobmenu.session.recorder import Recorder, Sink
from knobmenu.session.restoring import RestoredRecording
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline

SETTLE_MS = 1000
"""How long a task's condition must hold while nobody touches the knob, so that a value that is only passed does not
count, and the participant sees what they have done. [ms]"""


@attrs.frozen
class _Held:
    """Since when a task's condition holds and nobody touches the knob."""

    since_ms: int
    """[ms of real time]"""
    number: int
    """The number of the moment then."""


@attrs.frozen
class _Use:
    """What the participant has the device for."""

    step: Practice | Trial
    began_ms: int
    """[ms of real time]"""


class OngoingSitting:
    """One participant's sitting while it goes on.

    Every time that a method takes is real time in milliseconds, of any clock that does not go back.
    """

    def __init__(self, setup: Setup, sitting: Sitting, session: Session) -> None:
        """Continue a sitting; `begin_sitting` and `continue_sitting` make its session.

        Args:
            setup: The study.
            sitting: How far it has come.
            session: What records it.
        """
        self.setup = setup
        self.sitting = sitting
        self.session = session
        """The device that is before the participant, or was last, and their hand on its knob."""
        self._use: _Use | None = None
        """Why and since when the participant has the device; None while something else is before them."""
        self._held: _Held | None = None

    @property
    def step(self) -> Step | None:
        """What comes next; None when the sitting is over."""
        return self.sitting.step

    @property
    def has_device(self) -> bool:
        """Whether the participant has the device before them, in practice or for a task."""
        return self._use is not None

    @property
    def task(self) -> Task | None:
        """The task that comes next; None where another step does."""
        return self._task_of(self.step) if isinstance(self.step, Trial) else None

    def elapsed_ms(self, real_ms: int) -> int:
        """Return for how long the participant has had the device; 0 while they have not. [ms]"""
        return 0 if self._use is None else real_ms - self._use.began_ms

    # What the participant does, besides working the device.

    def agree(self, real_ms: int) -> None:
        """Record that the participant agrees.

        Raises:
            RecordingError: They were not asked.
        """
        self._mark(CONSENT_GIVEN, real_ms)

    def put_device(self, real_ms: int) -> None:
        """Put the device before the participant, for practice or for the next task.

        Raises:
            RecordingError: Neither comes next.
        """
        match self.step:
            case Practice() as step:
                self._switch_on(step, self.setup.designs[step.variant], "practice", real_ms)
            case Trial() as step:
                self._switch_on(step, stage(self.setup.designs[step.variant], self._task_of(step)), "task", real_ms)
                self._mark(begin_mark(step), real_ms)
            case Consent() | Ask() | None:
                raise RecordingError("expected practice or a task to be next, got another step")
            case _:
                assert_never(self.step)

    def _switch_on(self, step: Practice | Trial, design: Design, why: str, real_ms: int) -> None:
        timeline = self.session.timeline
        if design is not timeline.designs[0]:
            timeline.redesign(0, design, real_ms)
        timeline.switch_on(why, real_ms)
        self.session = Session(timeline, real_ms)
        self._use, self._held = _Use(step, real_ms), None

    def end_practice(self, real_ms: int) -> None:
        """Record that the participant has tried the knob.

        Raises:
            RecordingError: Practice does not come next.
        """
        self._mark(PRACTICE_ENDED, real_ms)
        self._use = None

    def give_up(self, real_ms: int) -> None:
        """Record that the participant gives the task up."""
        self._end("gave-up", real_ms)

    def answer(self, answer: int | str, real_ms: int) -> None:
        """Record an answer.

        Raises:
            ValueError: It is not one of the question's answers.
            RecordingError: No question comes next.
        """
        match self.step:
            case Ask() as ask:
                self._mark(answer_mark(ask, answer), real_ms)
            case Consent() | Practice() | Trial() | None:
                raise RecordingError("expected a question to be next, got another step")
            case _:
                assert_never(self.step)

    # Time.

    def pass_time(self, real_ms: int) -> None:
        """Let the device do what is due, and end the practice or the task when that is over."""
        if self._use is None:
            return
        self.session.pass_time(real_ms)
        match self._use.step:
            case Practice(_, lasts_s):
                if self.elapsed_ms(real_ms) >= 1000 * lasts_s:
                    self.end_practice(real_ms)
            case Trial() as trial:
                task = self._task_of(trial)
                self._held = self._holding(task, real_ms)
                if self._held is not None:
                    if real_ms - self._held.since_ms >= SETTLE_MS:
                        self._end("done", self._held.since_ms)
                elif self.elapsed_ms(real_ms) >= 1000 * task.give_up_s:
                    self._end("time-out", real_ms)
            case _:
                assert_never(self._use.step)

    def find_due_ms(self) -> int | None:
        """Return when `pass_time` has something to do next; None where it has not. [ms of real time]"""
        if self._use is None:
            return None
        step = self._use.step
        lasts_s = step.lasts_s if isinstance(step, Practice) else self._task_of(step).give_up_s
        until = self._use.began_ms + 1000 * lasts_s if self._held is None else self._held.since_ms + SETTLE_MS
        device = self.session.find_due_ms()
        return until if device is None else min(until, device)

    def _holding(self, task: Task, real_ms: int) -> _Held | None:
        """Return since when the condition of a task holds and nobody touches the knob."""
        session = self.session
        number = session.history.number
        if session.hand.down or not is_done(session.designs[0], session.parts[0].state, task):
            return None
        if self._held is None or self._was_touched(range(self._held.number + 1, number + 1)):
            return _Held(real_ms, number)
        return attrs.evolve(self._held, number=number)

    def _was_touched(self, numbers: Iterable[int]) -> bool:
        """Tell whether the hand did anything at some moments."""
        events = (self.session.history[number].parts[0].event for number in numbers)
        return any(not isinstance(event, Wait | Report) for event in events)

    # Marks.

    def _end(self, outcome: Outcome, real_ms: int) -> None:
        self._mark(end_mark(outcome), real_ms)
        self._use = self._held = None

    def _mark(self, name: str, real_ms: int) -> None:
        self.sitting = follow_mark(self.sitting, name)
        self.session.timeline.mark(name, real_ms)

    # The study.

    def _task_of(self, trial: Trial) -> Task:
        return next(task for task in self.setup.study.tasks if task.key == trial.task)


def begin_sitting(setup: Setup, code: str, number: int, recorder: Recorder, real_ms: int) -> OngoingSitting:
    """Begin a sitting.

    Args:
        setup: The study.
        code: The participant's code, a key such as ``p07``.
        number: Which participant of the study, counted from 0.
        recorder: Records it.
        real_ms: Real time now. [ms]

    Raises:
        ValueError: It is not a code.
    """
    name = participant_mark(code, number)
    first = trials_of(setup.study, number)[0]
    timeline = Timeline([setup.designs[first.variant]], recorder)
    timeline.mark(name, real_ms)
    return OngoingSitting(setup, Sitting(code, number, steps_of(setup.study, number)), Session(timeline, real_ms))


def continue_sitting(
    setup: Setup, code: str, number: int, restored: RestoredRecording, sink: Sink, real_ms: int
) -> OngoingSitting:
    """Continue a sitting that was interrupted, at the step that was not finished.

    Args:
        setup: The study.
        code: The participant's code, for a sitting that was interrupted before it was recorded.
        number: Which participant, likewise.
        restored: What was recorded.
        sink: Takes the further records.
        real_ms: Real time now. [ms]

    Raises:
        RecordingError: It is not a sitting of this study.
    """
    timeline = restored.timeline
    marks = [mark.name for mark in timeline.marks]
    has_begun = bool(marks) or len(timeline.history) > 1
    sitting = resume(setup.study, marks if has_begun else [participant_mark(code, number)])
    # Between the last record and now nothing happened that counts.
    timeline.recorder = Recorder(sink, real_ms - restored.lasted_ms)
    if not has_begun:
        timeline.mark(participant_mark(code, number), real_ms)
    return OngoingSitting(setup, sitting, Session(timeline, real_ms))
