"""A session reads any knob in the same way."""

from collections.abc import Sequence

import attrs

from knobmenu.design.whole import Design
from knobmenu.events import Press, Turn
from knobmenu.session.session import Session
from knobmenu.session.source import IdealEncoder, KnobSource, Reading
from knobmenu.session.timeline import Timeline


class RealKnob:
    """A knob beside the computer: what it counts comes by itself, and keys and mouse work the ideal encoder."""

    bounces = False

    def __init__(self) -> None:
        self.received: list[Reading] = []
        self.ideal = IdealEncoder()

    @property
    def due_ms(self) -> int | None:
        return self.received[0].at_ms if self.received else None

    def turn(self, clockwise: int, real_ms: int) -> Sequence[Reading]:
        return (*self.wait(real_ms), *self.ideal.turn(clockwise, real_ms))

    def push(self, down: bool, real_ms: int) -> Sequence[Reading]:
        return (*self.wait(real_ms), *self.ideal.push(down, real_ms))

    def wait(self, real_ms: int) -> Sequence[Reading]:
        now = [reading for reading in self.received if reading.at_ms <= real_ms]
        self.received = self.received[len(now) :]
        return now

    def reset(self) -> None:
        """Nothing is under way but what the hand does."""


def with_real_knob(kiln: Design) -> tuple[Session, RealKnob]:
    trial, knob = Session(Timeline([kiln]), 10_000), RealKnob()
    source: KnobSource = knob
    trial.take_source(source, 10_000)
    return trial, knob


def test_what_a_real_knob_counts_happens_when_it_was_counted(kiln: Design) -> None:
    trial, knob = with_real_knob(kiln)
    knob.received = [Reading(10_100, 1), Reading(10_400, -2), Reading(10_600, 0, True), Reading(10_700, 0, False)]

    assert trial.find_due_ms() == 10_100
    assert trial.pass_time(10_800)

    assert trial.list_events() == (Turn(100, 1), Turn(400, -2), Press(700))


def test_keys_and_a_real_knob_work_the_same_device(kiln: Design) -> None:
    trial, knob = with_real_knob(kiln)
    knob.received = [Reading(10_100, 1)]
    trial.turn(1, 10_200)

    assert trial.list_events() == (Turn(100, 1), Turn(200, 1))


def test_a_real_knob_that_is_turned_in_the_past_begins_a_branch(kiln: Design) -> None:
    trial, knob = with_real_knob(kiln)
    trial.turn(1, 10_100)
    trial.turn(1, 10_200)
    trial.go_back(10_300)
    knob.received = [Reading(20_000, -1)]

    assert trial.find_due_ms() == 20_000, "device time stands still, but the knob is still read"
    assert trial.pass_time(20_000)
    assert trial.list_events() == (Turn(100, 1), Turn(200, -1))
    assert (trial.history.branches, trial.live) == (2, True)


def test_a_switch_that_bounces_is_debounced_by_the_device(kiln: Design) -> None:
    design = attrs.evolve(kiln, knob=attrs.evolve(kiln.knob, debounce_ms=20))
    trial, knob = with_real_knob(design)
    knob.bounces = True
    levels = [(10_100, True), (10_103, False), (10_105, True), (10_300, False)]
    knob.received = [Reading(at_ms, 0, down) for at_ms, down in levels]
    trial.pass_time(10_500)

    assert trial.list_events() == (Press(320),), "one press, reported 20 ms after the release"
