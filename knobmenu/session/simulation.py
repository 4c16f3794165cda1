"""The surroundings that a design describes: the simulation of its readouts.

All arithmetic is in integers. Simulation time is device time multiplied by the design's speed. A change of the device
begins a segment of a behaviour; within a segment its value is a function of time, so the result does not depend on how
often the clock is read. `knobmenu.design.simulation` defines the behaviours, and `knobmenu.session.behaviours` computes
their values.
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
    ApproachSegment,
    CountdownSegment,
    NoiseSegment,
    RampSegment,
    Segment,
    compute_fine_value,
    compute_left_ms,
    compute_ramp_value,
    find_next_change,
)
from knobmenu.session.surroundings import Response


class NextReport(NamedTuple):
    """The next report."""

    due_ms: int
    """Its time. [ms of simulation time]"""
    report: Report
    waited: bool
    """Whether it is the first of the waiting reports."""


@attrs.frozen
class Memory:
    """The state of a simulation."""

    segments: Mapping[str, Segment] = {}
    """The segment of each readout that changes with time."""
    held: Mapping[str, int | None] = {}
    """For each readout of kind `set`, the value of the case whose condition held last; None: none did."""
    waiting: tuple[tuple[str, int], ...] = ()
    """Readouts and values to be reported now, in order."""
    next: NextReport | None = None


def simulate_design(design: Design, memory: object, moment: Moment) -> Response:
    """Simulate what a design describes; see `knobmenu.session.surroundings.Surroundings`."""
    if not design.simulation:
        return _STILL
    after = _Answer(design, memory if isinstance(memory, Memory) else Memory(), moment).work_out()
    return Response(after, after.next.report if after.next else None)


_STILL = Response()


class _Answer:
    """One response of the simulation, while it is computed."""

    def __init__(self, design: Design, before: Memory, moment: Moment) -> None:
        self.design, self.before, self.moment = design, before, moment
        event, expected = moment.event, before.next
        self.reported = event if isinstance(event, Report) else None
        self.waiting = list(before.waiting)
        self.now_ms = moment.at_ms * design.simulation_speed
        self.own = expected is not None and event == expected.report
        if self.own and expected is not None:
            # Several reports may share one millisecond of device time; each keeps its own simulation time.
            self.now_ms = expected.due_ms
            del self.waiting[: int(expected.waited)]
        self.actions = {effect.key for effect in moment.effects if isinstance(effect, ActionRun)}
        self.conditions = _resolve_conditions(design.index)

    def work_out(self) -> Memory:
        held = {}
        segments: dict[str, Segment] = {}
        for behaviour in self.design.simulation:
            if isinstance(behaviour, SetBy):
                held[behaviour.key] = self._apply_cases(behaviour)
        for behaviour in self.design.simulation:
            match behaviour:
                case Approach():
                    segments[behaviour.key] = self._update_approach(behaviour)
                case Ramp():
                    segments[behaviour.key] = self._update_ramp(behaviour)
                case Noise():
                    goal, active = self._choose_goal(behaviour.key, behaviour.around, behaviour.rest)
                    segments[behaviour.key] = NoiseSegment(goal, behaviour.spread if active else 0)
                case Countdown():
                    segments[behaviour.key] = self._update_countdown(behaviour)
        upcoming = self._find_next(segments)
        return Memory(segments, held, tuple(self.waiting), upcoming)

    def _read_value(self, operand: int | str) -> int:
        """Return the present value of an operand."""
        if isinstance(operand, int):
            return operand
        return get_number_at(self.design, self.moment.state, self.design.index.numbers[operand])

    def _is_met(self, condition: Resolved) -> bool:
        return holds(condition, lambda position: get_number_at(self.design, self.moment.state, position))

    def _is_active(self, key: str) -> bool:
        condition = self.conditions[key][0]
        return condition is None or self._is_met(condition)

    def _choose_goal(self, key: str, goal: int | str, rest: int | str | None) -> tuple[int | None, bool]:
        """Return the target of a readout, and whether its condition holds."""
        active = self._is_active(key)
        operand = goal if active else rest
        return None if operand is None else self._read_value(operand), active

    def _is_overridden(self, key: str) -> bool:
        """Return whether something other than its own behaviour gave a readout its value."""
        own = self.own and self.before.next is not None and not self.before.next.waited
        return self.reported is not None and self.reported.key == key and not own

    def _apply_cases(self, behaviour: SetBy) -> int | None:
        """Queue the values that actions and conditions set; one set by a condition precedes those that wait already."""
        self.waiting += [
            (behaviour.key, self._compute_case_value(behaviour.key, case))
            for case in behaviour.cases
            if case.action in self.actions
        ]
        conditions = self.conditions[behaviour.key]
        held = next(
            (
                self._compute_case_value(behaviour.key, case)
                for case, condition in zip(behaviour.cases, conditions, strict=True)
                if condition is not None and self._is_met(condition)
            ),
            None,
        )
        if held is not None and held != self.before.held.get(behaviour.key):
            self.waiting.insert(0, (behaviour.key, held))
        return held

    def _compute_case_value(self, key: str, case: Case) -> int:
        if case.step is None:
            return 0 if case.value is None else self._read_value(case.value)
        waits = [value for waiting, value in self.waiting if waiting == key]
        values = get_domain(self.design, key)
        return min(max((waits[-1] if waits else self._read_value(key)) + case.step, values[0]), values[-1])

    def _update_approach(self, behaviour: Approach) -> ApproachSegment:
        goal, active = self._choose_goal(behaviour.key, behaviour.to, behaviour.rest)
        pace_ms = behaviour.time_constant_ms if active else behaviour.rest_time_constant_ms
        pace_ms = pace_ms or behaviour.time_constant_ms
        old = self.before.segments.get(behaviour.key)
        if not isinstance(old, ApproachSegment) or self._is_overridden(behaviour.key):
            return ApproachSegment(goal, pace_ms, self.now_ms, self._read_value(behaviour.key) << FINE)
        if (old.goal, old.time_constant_ms) == (goal, pace_ms):
            return old
        return ApproachSegment(goal, pace_ms, self.now_ms, compute_fine_value(old, self.now_ms))

    def _update_ramp(self, behaviour: Ramp) -> RampSegment:
        goal, active = self._choose_goal(behaviour.key, behaviour.to, behaviour.rest)
        repeats = active and behaviour.repeats
        old = self.before.segments.get(behaviour.key)
        if not isinstance(old, RampSegment) or self._is_overridden(behaviour.key):
            return RampSegment(goal, repeats, self.now_ms, self._read_value(behaviour.key))
        if (old.goal, old.repeats) == (goal, repeats):
            return old
        readout = self.design.index.readouts[behaviour.key]
        return RampSegment(goal, repeats, self.now_ms, compute_ramp_value(behaviour, readout, old, self.now_ms))

    def _update_countdown(self, behaviour: Countdown) -> CountdownSegment:
        """Start, stop, pause and end a countdown."""
        segment = self._move_countdown(behaviour)
        if not segment.runs or compute_left_ms(segment, self.now_ms) > 0:
            return segment
        if segment is not self.before.segments.get(behaviour.key) and self._read_value(behaviour.key) > 0:
            # It begins at zero, which is reported first.
            return segment
        self.waiting += [(end.readout, end.value) for end in behaviour.ends]
        return CountdownSegment(False, self.now_ms, 0)

    def _move_countdown(self, behaviour: Countdown) -> CountdownSegment:
        """Start, stop and pause a countdown."""
        begin_ms = self._read_value(behaviour.begin) * behaviour.unit_ms
        active = self._is_active(behaviour.key)
        old = self.before.segments.get(behaviour.key)
        if not isinstance(old, CountdownSegment):
            old = CountdownSegment(False, self.now_ms, begin_ms, stopped=True)
        if not self.actions.isdisjoint(behaviour.started_by):
            return CountdownSegment(active, self.now_ms, begin_ms, paused=not active)
        if not self.actions.isdisjoint(behaviour.stopped_by):
            return CountdownSegment(False, self.now_ms, begin_ms, stopped=True)
        if self._is_overridden(behaviour.key):
            under_way = old.runs or old.paused
            left = self._read_value(behaviour.key) * behaviour.unit_ms
            return CountdownSegment(under_way and active, self.now_ms, left, paused=under_way and not active)
        left = begin_ms if old.stopped else compute_left_ms(old, self.now_ms)
        if old.runs and left <= 0:
            return old
        if old.runs != active and (old.runs or old.paused):
            return CountdownSegment(active, self.now_ms, left, paused=not active)
        return old._replace(left_ms=left) if old.stopped else old

    def _find_next(self, segments: Mapping[str, Segment]) -> NextReport | None:
        """Return the next report: the first that waits, otherwise the first that is due, in the order of the design."""
        while self.waiting:
            key, value = self.waiting[0]
            if value != self._read_value(key):
                return self._schedule(self.now_ms, key, value, waited=True)
            del self.waiting[0]
        changes = []
        for behaviour in self.design.simulation:
            if isinstance(behaviour, SetBy):
                continue
            readout = self.design.index.readouts[behaviour.key]
            shown = self._read_value(behaviour.key)
            change = find_next_change(behaviour, readout, segments[behaviour.key], self.now_ms, shown)
            if change is not None:
                changes.append((change, behaviour.key))
        if not changes:
            return None
        change, key = min(changes, key=lambda found: found[0].due_ms)
        return self._schedule(change.due_ms, key, change.value, waited=False)

    def _schedule(self, due_ms: int, key: str, value: int, *, waited: bool) -> NextReport | None:
        # Rounded up, so that a value is never reported early.
        at_ms = max(-(-due_ms // self.design.simulation_speed), self.moment.at_ms)
        return NextReport(due_ms, Report(at_ms, key, value), waited) if at_ms <= LATEST_MS else None


@lru_cache(maxsize=16)
def _resolve_conditions(index: Index) -> Mapping[str, Sequence[Resolved | None]]:
    """Return the conditions of each behaviour with operands as integers; for kind `set`, those of its cases."""

    def locate(key: str, operand: Operand) -> tuple[NumberPosition, int]:
        return index.numbers[key], resolve_operand(index.settings, key, operand)

    def resolve_operands(condition: Condition | None) -> Resolved | None:
        return None if condition is None else resolve(condition, locate)

    return {
        behaviour.key: (
            [resolve_operands(case.when) for case in behaviour.cases]
            if isinstance(behaviour, SetBy)
            else [resolve_operands(behaviour.when)]
        )
        for behaviour in index.design.simulation
    }
