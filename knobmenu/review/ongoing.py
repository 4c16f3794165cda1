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
    AskedQuestion,
    Consent,
    Practice,
    Sitting,
    Stage,
    apply_mark,
    format_answer_mark,
    format_participant_mark,
    list_stages,
    resume,
)
from knobmenu.review.study import Task, Trial, list_trials
from knobmenu.review.study_form import Setup, is_done, prepare_design
from knobmenu.review.walk import Outcome, format_begin_mark, format_end_mark
from knobmenu.session.recorder import Recorder, Sink
from knobmenu.session.restoring import RestoredRecording
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline

SETTLE_MS = 1000
"""How long a task's condition must hold with the knob untouched, so that a value that is only passed does not count,
and the participant sees the result. [ms]"""


@attrs.frozen
class _Hold:
    """Since when a task's condition has held with the knob untouched."""

    since_ms: int
    """The start. [ms of real time]"""
    number: int
    """The number of the present moment."""


@attrs.frozen
class _Use:
    """The stage for which the participant has the device."""

    stage: Practice | Trial
    began_ms: int
    """The start. [ms of real time]"""


class OngoingSitting:
    """One participant's sitting in progress.

    All times passed to methods are real times in milliseconds, of any monotonic clock.
    """

    def __init__(self, setup: Setup, sitting: Sitting, session: Session) -> None:
        """Continue a sitting; `begin_sitting` and `continue_sitting` make its session.

        Args:
            setup: The study.
            sitting: The progress of the sitting.
            session: The session, which records it.
        """
        self.setup = setup
        self.sitting = sitting
        self.session = session
        """The device in front of the participant, or the last one, and their hand on its knob."""
        self._use: _Use | None = None
        """Why and since when the participant has the device; None while they do not have it."""
        self._held: _Hold | None = None

    @property
    def stage(self) -> Stage | None:
        """The next stage; None when the sitting is over."""
        return self.sitting.stage

    @property
    def has_device(self) -> bool:
        """Whether the participant has the device, in practice or for a task."""
        return self._use is not None

    @property
    def task(self) -> Task | None:
        """The task of the next stage; None if that is not a trial."""
        return self._get_task(self.stage) if isinstance(self.stage, Trial) else None

    def measure_elapsed_ms(self, real_ms: int) -> int:
        """Return how long the participant has had the device; 0 while they do not have it. [ms]"""
        return 0 if self._use is None else real_ms - self._use.began_ms

    # Actions of the participant other than on the device.

    def agree(self, real_ms: int) -> None:
        """Record that the participant agrees.

        Raises:
            RecordingError: Consent is not the next stage.
        """
        self._mark(CONSENT_GIVEN, real_ms)

    def put_device(self, real_ms: int) -> None:
        """Give the participant the device, for practice or for the next task.

        Raises:
            RecordingError: Neither is the next stage.
        """
        match self.stage:
            case Practice() as stage:
                self._switch_on(stage, self.setup.designs[stage.variant], "practice", real_ms)
            case Trial() as stage:
                self._switch_on(
                    stage, prepare_design(self.setup.designs[stage.variant], self._get_task(stage)), "task", real_ms
                )
                self._mark(format_begin_mark(stage), real_ms)
            case Consent() | AskedQuestion() | None:
                raise RecordingError("expected practice or a task to be next, got another stage")
            case _:
                assert_never(self.stage)

    def _switch_on(self, stage: Practice | Trial, design: Design, why: str, real_ms: int) -> None:
        timeline = self.session.timeline
        if design is not timeline.designs[0]:
            timeline.redesign(0, design, real_ms)
        timeline.switch_on(why, real_ms)
        self.session = Session(timeline, real_ms)
        self._use, self._held = _Use(stage, real_ms), None

    def end_practice(self, real_ms: int) -> None:
        """Record that the participant has tried the knob.

        Raises:
            RecordingError: Practice is not the next stage.
        """
        self._mark(PRACTICE_ENDED, real_ms)
        self._use = None

    def give_up(self, real_ms: int) -> None:
        """Record that the participant gives the task up."""
        self._end("gave-up", real_ms)

    def answer(self, answer: int | str, real_ms: int) -> None:
        """Record an answer.

        Raises:
            ValueError: The answer is not one of the question's answers.
            RecordingError: A question is not the next stage.
        """
        match self.stage:
            case AskedQuestion() as ask:
                self._mark(format_answer_mark(ask, answer), real_ms)
            case Consent() | Practice() | Trial() | None:
                raise RecordingError("expected a question to be next, got another stage")
            case _:
                assert_never(self.stage)

    # Time.

    def pass_time(self, real_ms: int) -> None:
        """Let the device do what is due, and end practice or the task when it is over."""
        if self._use is None:
            return
        self.session.pass_time(real_ms)
        match self._use.stage:
            case Practice(_, lasts_s):
                if self.measure_elapsed_ms(real_ms) >= 1000 * lasts_s:
                    self.end_practice(real_ms)
            case Trial() as trial:
                task = self._get_task(trial)
                self._held = self._track_condition(task, real_ms)
                if self._held is not None:
                    if real_ms - self._held.since_ms >= SETTLE_MS:
                        self._end("done", self._held.since_ms)
                elif self.measure_elapsed_ms(real_ms) >= 1000 * task.give_up_s:
                    self._end("time-out", real_ms)
            case _:
                assert_never(self._use.stage)

    def find_due_ms(self) -> int | None:
        """Return when to call `pass_time` next; None if nothing is due. [ms of real time]"""
        if self._use is None:
            return None
        stage = self._use.stage
        lasts_s = stage.lasts_s if isinstance(stage, Practice) else self._get_task(stage).give_up_s
        until = self._use.began_ms + 1000 * lasts_s if self._held is None else self._held.since_ms + SETTLE_MS
        device = self.session.find_due_ms()
        return until if device is None else min(until, device)

    def _track_condition(self, task: Task, real_ms: int) -> _Hold | None:
        """Return since when the condition of a task has held with the knob untouched; None if it does not hold."""
        session = self.session
        number = session.history.number
        if session.hand.down or not is_done(session.designs[0], session.parts[0].state, task):
            return None
        if self._held is None or self._is_any_by_hand(range(self._held.number + 1, number + 1)):
            return _Hold(real_ms, number)
        return attrs.evolve(self._held, number=number)

    def _is_any_by_hand(self, numbers: Iterable[int]) -> bool:
        """Return whether any of some moments is an event by hand."""
        events = (self.session.history[number].parts[0].event for number in numbers)
        return any(not isinstance(event, Wait | Report) for event in events)

    # Marks.

    def _end(self, outcome: Outcome, real_ms: int) -> None:
        self._mark(format_end_mark(outcome), real_ms)
        self._use = self._held = None

    def _mark(self, name: str, real_ms: int) -> None:
        self.sitting = apply_mark(self.sitting, name)
        self.session.timeline.mark(name, real_ms)

    # The study.

    def _get_task(self, trial: Trial) -> Task:
        return next(task for task in self.setup.study.tasks if task.key == trial.task)


def begin_sitting(setup: Setup, code: str, number: int, recorder: Recorder, real_ms: int) -> OngoingSitting:
    """Begin a sitting.

    Args:
        setup: The study.
        code: The participant's code, a key such as ``p07``.
        number: The number of the participant, from 0.
        recorder: The recorder of the sitting.
        real_ms: Real time now. [ms]

    Raises:
        ValueError: The code is not a key.
    """
    name = format_participant_mark(code, number)
    first = list_trials(setup.study, number)[0]
    timeline = Timeline([setup.designs[first.variant]], recorder)
    timeline.mark(name, real_ms)
    return OngoingSitting(setup, Sitting(code, number, list_stages(setup.study, number)), Session(timeline, real_ms))


def continue_sitting(
    setup: Setup, code: str, number: int, restored: RestoredRecording, sink: Sink, real_ms: int
) -> OngoingSitting:
    """Continue an interrupted sitting at its first unfinished stage.

    Args:
        setup: The study.
        code: The participant's code, for a sitting that was interrupted before it was recorded.
        number: The number of the participant, for the same case.
        restored: The contents of the recording.
        sink: Receives the further records.
        real_ms: Real time now. [ms]

    Raises:
        RecordingError: The recording is not a sitting of this study.
    """
    timeline = restored.timeline
    marks = [mark.name for mark in timeline.marks]
    has_begun = bool(marks) or len(timeline.history) > 1
    sitting = resume(setup.study, marks if has_begun else [format_participant_mark(code, number)])
    # The clock of the recording continues at its last record: the interruption does not count.
    timeline.recorder = Recorder(sink, real_ms - restored.lasted_ms)
    if not has_begun:
        timeline.mark(format_participant_mark(code, number), real_ms)
    return OngoingSitting(setup, sitting, Session(timeline, real_ms))
