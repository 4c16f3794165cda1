"""Simulated participants: seeded, and driving a session as a hand would, without a terminal.

None of them is a model of people; each makes one kind of mistake whose count is known.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from random import Random
from typing import assert_never

import attrs

from knobmenu.analysis.cost.gestures import HOLD, PRESS, Gesture
from knobmenu.analysis.cost.routes import Model, find_least_route_to_condition
from knobmenu.cli.sittings import open_sitting
from knobmenu.files.studies import load_study
from knobmenu.machine.state import Editing, State
from knobmenu.review.ongoing import SETTLE_MS, OngoingSitting, begin_sitting
from knobmenu.review.sitting import AskedQuestion, Consent, Practice
from knobmenu.review.study import Task, Trial
from knobmenu.review.study_form import Setup, is_done, read_study
from knobmenu.review.walk import format_end_mark
from knobmenu.session.recorder import Recorder
from knobmenu.session.records import Header, Record
from knobmenu.session.session import Session

DETENT_MS = 150
"""From one detent to the next: slower than any acceleration of the test designs. [ms]"""


@attrs.frozen
class Soon:
    """One detent or one press, so long after what was done before; no time passes after it."""

    gesture: Gesture
    after_ms: int


Plan = Iterator[Gesture | Soon | int]
"""Gestures, each with the time that it takes, or at a time of its own; and pauses in milliseconds."""


@attrs.frozen
class Seat:
    """What a participant sees of a task before it begins, and of the device at every moment."""

    model: Model
    task: Task
    state: Callable[[], State]

    def way(self) -> tuple[Gesture, ...]:
        """Return the least way from the present moment."""
        route = find_least_route_to_condition(self.model, self.state(), self.task.done)
        assert route is not None
        return route.way


Participant = Callable[[Seat, Random], Plan]


def least(seat: Seat, random: Random) -> Plan:
    """Do the least."""
    yield from seat.way()


def pausing(seat: Seat, random: Random) -> Plan:
    """Do the least, with a pause before each gesture."""
    for gesture in seat.way():
        yield random.randint(800, 2500)
        yield gesture


def one_too_far(seat: Seat, random: Random) -> Plan:
    """Turn one detent too far in each edit, and back."""
    for gesture in seat.way():
        yield gesture
        if gesture.kind == "turn" and isinstance(seat.state().focus, Editing):
            sign = 1 if gesture.amount > 0 else -1
            yield Gesture("turn", sign)
            yield Gesture("turn", -sign)


def astray(seat: Seat, random: Random) -> Plan:
    """Open the wrong menu first, go home, and then do the least."""
    yield PRESS
    yield Gesture("turn", 3)
    yield PRESS
    yield HOLD
    yield from seat.way()


def sit(setup: Setup, participant: Participant, number: int, seed: int = 1) -> tuple[Header, list[Record]]:
    """Put a participant before a whole sitting of a study.

    Returns:
        The recording.
    """
    written: list[Header | Record] = []
    ongoing = begin_sitting(setup, code_of(number), number, Recorder(written.append, 0), 0)
    take_part(ongoing, participant, Random(seed), 0)
    header = written[0]
    assert isinstance(header, Header)
    return header, [record for record in written[1:] if isinstance(record, Record)]


def sit_on_disk(study: Path, participant: Participant, number: int, seed: int = 1) -> Path:
    """Put a participant before a whole sitting of a study, recorded as `knobmenu study` records it.

    Args:
        study: The study's file.
        participant: Who.
        number: Which participant, from 0; their code is `code_of` it.
        seed: Of what they do by chance.

    Returns:
        The file of the sitting.
    """
    setup = load_study(study, read_study)
    opened = open_sitting(setup, study, code_of(number), 0)
    with opened.file:
        take_part(opened.ongoing, participant, Random(seed), 0)
    assert opened.recording.error is None
    return opened.file.path


EIGHT: tuple[Participant, ...] = (least, pausing, one_too_far, astray, pausing, least, astray, one_too_far)
"""Who takes part in a whole study."""


def run_study(study: Path, participants: Sequence[Participant] = EIGHT, seed: int = 1) -> list[Path]:
    """Put participants before a study, one after the other; return the files of their sittings.

    Args:
        study: The study's file; the sittings go into its folder beside it.
        participants: Who takes part.
        seed: Of what they do by chance.
    """
    return [sit_on_disk(study, participant, number, seed + number) for number, participant in enumerate(participants)]


def code_of(number: int) -> str:
    """Return the code of a participant: ``p01`` for the number 0."""
    return f"p{number + 1:02}"


def take_part(ongoing: OngoingSitting, participant: Participant, random: Random, real_ms: int) -> int:
    """Do everything from where a sitting is to its end; return the real time after it."""
    smooth: dict[str, list[bool]] = {}
    """For each variant, and each variant with a task, whether the tasks went smoothly."""
    while (stage := ongoing.stage) is not None:
        real_ms += 1000
        match stage:
            case Consent():
                ongoing.agree(real_ms)
            case Practice():
                ongoing.put_device(real_ms)
                ongoing.session.turn(1, real_ms + 500)
                real_ms += 4000
                ongoing.pass_time(real_ms)
                ongoing.end_practice(real_ms)
            case Trial():
                before = ongoing.session.history.last
                real_ms = _try(ongoing, participant, random, real_ms)
                moments = ongoing.session.history.last - before
                route = ongoing.setup.least[stage.variant, stage.task]
                assert route is not None
                done = ongoing.session.timeline.marks[-1].name == format_end_mark("done")
                went_well = done and moments < 2 * route.tally.gestures + 6
                for about in (stage.variant, f"{stage.variant} {stage.task}"):
                    smooth.setdefault(about, []).append(went_well)
            case AskedQuestion():
                real_ms += 2000
                tasks = smooth.get(stage.about, [True])
                ongoing.answer(_opinion(stage, tasks.count(True) > 0.7 * len(tasks), random), real_ms)
            case _:
                assert_never(stage)
    return real_ms


def _try(ongoing: OngoingSitting, participant: Participant, random: Random, real_ms: int) -> int:
    """Do one task; return the real time after it."""
    ongoing.put_device(real_ms)
    task = ongoing.task
    assert task is not None
    seat = Seat(Model(ongoing.session.designs[0]), task, lambda: ongoing.session.parts[0].state)
    for part in participant(seat, random):
        if isinstance(part, int):
            real_ms += part
        elif isinstance(part, Soon):
            real_ms += part.after_ms
            _do(ongoing.session, part.gesture, real_ms)
        else:
            real_ms = _do(ongoing.session, part, real_ms)
        ongoing.pass_time(real_ms)
        if ongoing.has_device and is_done(ongoing.session.designs[0], seat.state(), task):
            # Whoever sees that it is done stops.
            real_ms += SETTLE_MS
            ongoing.pass_time(real_ms)
        if not ongoing.has_device:
            return real_ms
    if ongoing.has_device:
        ongoing.give_up(real_ms)
    return real_ms


def _opinion(ask: AskedQuestion, well: bool, random: Random) -> int | str:
    """Answer a question; the items of the usability scale are favourable and unfavourable in turn."""
    if not ask.answers:
        return "It did what I expected." if well else "I looked for it in another place."
    good = ask.answers - random.randint(0, 1) if well else random.randint(1, 2)
    unfavourable = ask.key.startswith("usability_") and int(ask.key.removeprefix("usability_")) % 2 == 0
    return ask.answers + 1 - good if unfavourable else good


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
