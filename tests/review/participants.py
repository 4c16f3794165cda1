"""Simulated participants: seeded, and driving a session as a hand would, without a terminal.

None of them is a model of people; each makes one kind of mistake whose count is known.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from random import Random

import attrs

from knobmenu.analysis.cost.gestures import HOLD, PRESS, Gesture
from knobmenu.analysis.cost.routes import Model, least_route_to_condition
from knobmenu.machine.state import Editing, State
from knobmenu.review.study import Task, Trial, trials_of
from knobmenu.review.study_form import Setup, is_done, stage
from knobmenu.review.walk import Outcome, begin_mark, end_mark
from knobmenu.session.recorder import Recorder
from knobmenu.session.recording import Header, Record
from knobmenu.session.session import Session
from knobmenu.session.timeline import Timeline

DETENT_MS = 150
"""From one detent to the next: slower than any acceleration of the test designs. [ms]"""

Plan = Iterator[Gesture | int]
"""Gestures, and pauses in milliseconds."""


@attrs.frozen
class Seat:
    """What a participant sees of a task before it begins, and of the device at every moment."""

    model: Model
    task: Task
    state: Callable[[], State]

    def way(self) -> tuple[Gesture, ...]:
        """Return the least way from the present moment."""
        route = least_route_to_condition(self.model, self.state(), self.task.done)
        assert route is not None
        return route.way


Participant = Callable[[Seat, Random], Plan]


def exact(seat: Seat, random: Random) -> Plan:
    """Do the least."""
    yield from seat.way()


def hesitant(seat: Seat, random: Random) -> Plan:
    """Do the least, with a pause before each gesture."""
    for gesture in seat.way():
        yield random.randint(800, 2500)
        yield gesture


def overshooting(seat: Seat, random: Random) -> Plan:
    """Turn one detent too far in each edit, and back."""
    for gesture in seat.way():
        yield gesture
        if gesture.kind == "turn" and isinstance(seat.state().focus, Editing):
            sign = 1 if gesture.amount > 0 else -1
            yield Gesture("turn", sign)
            yield Gesture("turn", -sign)


def lost(seat: Seat, random: Random) -> Plan:
    """Open the wrong menu first, go home, and then do the least."""
    yield PRESS
    yield Gesture("turn", 3)
    yield PRESS
    yield HOLD
    yield from seat.way()


def sit(setup: Setup, participant: Participant, number: int, seed: int = 1) -> tuple[Header, list[Record]]:
    """Put a participant before all trials of a study.

    Returns:
        The recording.
    """
    written: list[Header | Record] = []
    random = Random(seed)
    trials = trials_of(setup.study, number)
    tasks = {task.key: task for task in setup.study.tasks}
    timeline = Timeline([setup.designs[trials[0].variant]], Recorder(written.append, 0))
    real_ms = 0
    for trial in trials:
        real_ms = _try(setup, timeline, trial, tasks[trial.task], participant, random, real_ms)
    header = written[0]
    assert isinstance(header, Header)
    return header, [record for record in written[1:] if isinstance(record, Record)]


def _try(
    setup: Setup,
    timeline: Timeline,
    trial: Trial,
    task: Task,
    participant: Participant,
    random: Random,
    real_ms: int,
) -> int:
    """Do one trial; return the real time after it."""
    design = stage(setup.designs[trial.variant], task)
    timeline.redesign(0, design, real_ms)
    timeline.switch_on("task", real_ms)
    session = Session(timeline, real_ms)
    began_ms = real_ms
    timeline.mark(begin_mark(trial), real_ms)
    outcome: Outcome = "gave-up"
    for part in participant(Seat(Model(design), task, lambda: timeline.parts[0].state), random):
        if isinstance(part, int):
            real_ms += part
        else:
            real_ms = _do(session, part, real_ms)
        session.pass_time(real_ms)
        if is_done(design, timeline.parts[0].state, task):
            outcome = "done"
            break
        if real_ms - began_ms >= 1000 * task.give_up_s:
            outcome = "time-out"
            break
    timeline.mark(end_mark(outcome), real_ms)
    return real_ms + 1000


def _do(session: Session, gesture: Gesture, real_ms: int) -> int:
    """Do one gesture; return the real time after it."""
    match gesture.kind:
        case "turn":
            for _ in range(gesture.detents):
                session.turn(1 if gesture.amount > 0 else -1, real_ms)
                real_ms += DETENT_MS
            return real_ms
        case "press":
            session.click(real_ms)
            return real_ms + 2 * DETENT_MS
        case "hold":
            session.long_press(real_ms)
            return real_ms + session.measured_ms + DETENT_MS
        case _:
            raise AssertionError(f"no participant does {gesture.kind}")
