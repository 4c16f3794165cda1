"""What a design says about its readouts, run: the surroundings that come with it.

Values follow from whole numbers and from the time of the simulation alone, which is device time multiplied by the
design's speed. A change of the device begins a segment of a behaviour; within a segment its value is a function of the
time, so it does not matter how often the clock is read. `knobmenu.design.simulation` lists what can be described, and
`knobmenu.session.behaviours` gives the values.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import attrs

from knobmenu.design.conditions import Condition, Operand, Resolved, holds, resolve
from knobmenu.design.domains import get_domain
from knobmenu.design.positions import NumberPosition
from knobmenu.design.simulation import Approach, Case, Countdown, Noise, Ramp, SetBy
from knobmenu.design.whole import Design, Index, resolve_operand
from knobmenu.device.moment import Moment
from knobmenu.events import LATEST_MS, Report
from knobmenu.machine.effects import ActionRun
from knobmenu.machine.state import get_number_at
from knobmenu.session.behaviours import (
    FINE,
    Approaching,
    Counting,
    Measuring,
    Ramping,
    Segment,
    fine_value,
    left_ms,
    next_change,
    ramp_value,
)
from knobmenu.session.surroundings import Response


class Next(NamedTuple):
    """What is reported next."""

    due_ms: int
    """When. [ms of the simulation]"""
    report: Report
    waited: bool
    """Whether it is the first of those that wait."""


@attrs.frozen
class Memory:
    """What the simulation remembers."""

    segments: Mapping[str, Segment] = {}
    """For each readout that changes with time, its segment."""
    held: Mapping[str, int | None] = {}
    """For each readout that is set, the value of its condition that held last; None: none did."""
    waiting: tuple[tuple[str, int], ...] = ()
    """What is to be reported now, in order."""
    next: Next | None = None


def simulate_design(design: Design, memory: object, moment: Moment) -> Response:
    """Answer what just happened as the design says; see `knobmenu.session.surroundings.Surroundings`."""
    if not design.simulation:
        return _STILL
    after = _Answer(design, memory if isinstance(memory, Memory) else Memory(), moment).work_out()
    return Response(after, after.next.report if after.next else None)


_STILL = Response()


class _Answer:
    """One answer, while it is worked out."""

    def __init__(self, design: Design, before: Memory, moment: Moment) -> None:
        self.design, self.before, self.moment = design, before, moment
        event, expected = moment.event, before.next
        self.told = event if isinstance(event, Report) else None
        self.waiting = list(before.waiting)
        self.now_ms = moment.at_ms * design.simulation_speed
        self.own = expected is not None and event == expected.report
        if self.own and expected is not None:
            # Several reports may share one millisecond of the device; each keeps its own time in the simulation.
            self.now_ms = expected.due_ms
            del self.waiting[: int(expected.waited)]
        self.actions = {effect.key for effect in moment.effects if isinstance(effect, ActionRun)}
        self.conditions = _conditions(design.index)

    def work_out(self) -> Memory:
        held = {}
        segments: dict[str, Segment] = {}
        for behaviour in self.design.simulation:
            if isinstance(behaviour, SetBy):
                held[behaviour.key] = self._set(behaviour)
        for behaviour in self.design.simulation:
            match behaviour:
                case Approach():
                    segments[behaviour.key] = self._approach(behaviour)
                case Ramp():
                    segments[behaviour.key] = self._ramp(behaviour)
                case Noise():
                    goal, active = self._goal(behaviour.key, behaviour.around, behaviour.rest)
                    segments[behaviour.key] = Measuring(goal, behaviour.spread if active else 0)
                case Countdown():
                    segments[behaviour.key] = self._count(behaviour)
        upcoming = self._next(segments)
        return Memory(segments, held, tuple(self.waiting), upcoming)

    def _value(self, operand: int | str) -> int:
        """Return a value as it is in effect now."""
        if isinstance(operand, int):
            return operand
        return get_number_at(self.design, self.moment.state, self.design.index.numbers[operand])

    def _holds(self, condition: Resolved) -> bool:
        return holds(condition, lambda position: get_number_at(self.design, self.moment.state, position))

    def _is_active(self, key: str) -> bool:
        condition = self.conditions[key][0]
        return condition is None or self._holds(condition)

    def _goal(self, key: str, goal: int | str, rest: int | str | None) -> tuple[int | None, bool]:
        """Return where a readout goes, and whether its condition holds."""
        active = self._is_active(key)
        operand = goal if active else rest
        return None if operand is None else self._value(operand), active

    def _is_overridden(self, key: str) -> bool:
        """Tell whether something other than its own passage through time gave a readout its value."""
        own = self.own and self.before.next is not None and not self.before.next.waited
        return self.told is not None and self.told.key == key and not own

    def _set(self, behaviour: SetBy) -> int | None:
        """Let actions and conditions set a readout; what follows from a report comes before what waits already."""
        self.waiting += [
            (behaviour.key, self._value_of_case(behaviour.key, case))
            for case in behaviour.cases
            if case.action in self.actions
        ]
        conditions = self.conditions[behaviour.key]
        held = next(
            (
                self._value_of_case(behaviour.key, case)
                for case, condition in zip(behaviour.cases, conditions, strict=True)
                if condition is not None and self._holds(condition)
            ),
            None,
        )
        if held is not None and held != self.before.held.get(behaviour.key):
            self.waiting.insert(0, (behaviour.key, held))
        return held

    def _value_of_case(self, key: str, case: Case) -> int:
        if case.step is None:
            return 0 if case.value is None else self._value(case.value)
        waits = [value for waiting, value in self.waiting if waiting == key]
        values = get_domain(self.design, key)
        return min(max((waits[-1] if waits else self._value(key)) + case.step, values[0]), values[-1])

    def _approach(self, behaviour: Approach) -> Approaching:
        goal, active = self._goal(behaviour.key, behaviour.to, behaviour.rest)
        pace_ms = behaviour.time_constant_ms if active else behaviour.rest_time_constant_ms
        pace_ms = pace_ms or behaviour.time_constant_ms
        old = self.before.segments.get(behaviour.key)
        if not isinstance(old, Approaching) or self._is_overridden(behaviour.key):
            return Approaching(goal, pace_ms, self.now_ms, self._value(behaviour.key) << FINE)
        if (old.goal, old.time_constant_ms) == (goal, pace_ms):
            return old
        return Approaching(goal, pace_ms, self.now_ms, fine_value(old, self.now_ms))

    def _ramp(self, behaviour: Ramp) -> Ramping:
        goal, active = self._goal(behaviour.key, behaviour.to, behaviour.rest)
        repeats = active and behaviour.repeats
        old = self.before.segments.get(behaviour.key)
        if not isinstance(old, Ramping) or self._is_overridden(behaviour.key):
            return Ramping(goal, repeats, self.now_ms, self._value(behaviour.key))
        if (old.goal, old.repeats) == (goal, repeats):
            return old
        readout = self.design.index.readouts[behaviour.key]
        return Ramping(goal, repeats, self.now_ms, ramp_value(behaviour, readout, old, self.now_ms))

    def _count(self, behaviour: Countdown) -> Counting:
        """Start, stop, pause and end a countdown."""
        begin_ms = self._value(behaviour.begin) * behaviour.unit_ms
        active = self._is_active(behaviour.key)
        old = self.before.segments.get(behaviour.key)
        if not isinstance(old, Counting):
            old = Counting(False, self.now_ms, begin_ms, stopped=True)
        if not self.actions.isdisjoint(behaviour.started_by):
            return Counting(active, self.now_ms, begin_ms, paused=not active)
        if not self.actions.isdisjoint(behaviour.stopped_by):
            return Counting(False, self.now_ms, begin_ms, stopped=True)
        if self._is_overridden(behaviour.key):
            under_way = old.runs or old.paused
            left = self._value(behaviour.key) * behaviour.unit_ms
            return Counting(under_way and active, self.now_ms, left, paused=under_way and not active)
        left = begin_ms if old.stopped else left_ms(old, self.now_ms)
        if old.runs and left <= 0:
            self.waiting += [(end.readout, end.value) for end in behaviour.ends]
            return Counting(False, self.now_ms, 0)
        if old.runs != active and (old.runs or old.paused):
            return Counting(active, self.now_ms, left, paused=not active)
        return old._replace(left_ms=left) if old.stopped else old

    def _next(self, segments: Mapping[str, Segment]) -> Next | None:
        """Return what is reported next: what waits, then what is due first, in the order of the design."""
        while self.waiting:
            key, value = self.waiting[0]
            if value != self._value(key):
                return self._report(self.now_ms, key, value, waited=True)
            del self.waiting[0]
        changes = []
        for behaviour in self.design.simulation:
            if isinstance(behaviour, SetBy):
                continue
            readout = self.design.index.readouts[behaviour.key]
            shown = self._value(behaviour.key)
            change = next_change(behaviour, readout, segments[behaviour.key], self.now_ms, shown)
            if change is not None:
                changes.append((change, behaviour.key))
        if not changes:
            return None
        change, key = min(changes, key=lambda found: found[0].due_ms)
        return self._report(change.due_ms, key, change.value, waited=False)

    def _report(self, due_ms: int, key: str, value: int, *, waited: bool) -> Next | None:
        # Rounded up: nothing is reported before it is so.
        at_ms = max(-(-due_ms // self.design.simulation_speed), self.moment.at_ms)
        return Next(due_ms, Report(at_ms, key, value), waited) if at_ms <= LATEST_MS else None


@lru_cache(maxsize=16)
def _conditions(index: Index) -> Mapping[str, Sequence[Resolved | None]]:
    """Return the conditions of each behaviour in whole numbers; those of the cases of a readout that is set."""

    def locate(key: str, operand: Operand) -> tuple[NumberPosition, int]:
        return index.numbers[key], resolve_operand(index.settings, key, operand)

    def in_numbers(condition: Condition | None) -> Resolved | None:
        return None if condition is None else resolve(condition, locate)

    return {
        behaviour.key: (
            [in_numbers(case.when) for case in behaviour.cases]
            if isinstance(behaviour, SetBy)
            else [in_numbers(behaviour.when)]
        )
        for behaviour in index.design.simulation
    }
