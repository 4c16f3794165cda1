"""How readouts behave while a design is tried out: the simulated surroundings of the device.

The simulation is not part of the device: exports omit it, and the firmware never receives it. It acts on a device only
through reports. `knobmenu.session.simulation` runs it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import assert_never

import attrs

from knobmenu.design import fields
from knobmenu.design.conditions import CONDITIONS, Condition
from knobmenu.design.kinds import Setting, count_decimals
from knobmenu.design.menu import Action, Readout
from knobmenu.design.pairs import find_cycles
from knobmenu.design.settings import TextSetting
from knobmenu.errors import DesignError, Problem, nearest, one_of
from knobmenu.structure import Structure

LONGEST_MS = 30 * 86_400_000
"""The longest time in a behaviour, 30 days. [ms]"""

FASTEST = 3600
"""The greatest speed-up: an hour in a second."""

FREE_KEYS = ("f2", "f3", "f4", "f5", "f6", "f7", "f8", "f9")
"""The keys that can be bound; the terminal app does not use them."""

_WHEN = fields.Optional(fields.Instance(CONDITIONS, "a condition"))


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Case(Structure):
    """A value for a readout: set when an action runs, or while a condition holds."""

    action: str = attrs.field(default="", validator=fields.Key(optional=True))
    """The action that sets the value; empty: a condition does."""
    when: Condition | None = attrs.field(default=None, validator=_WHEN)
    """The condition under which the readout has the value; of several cases, the first that holds applies."""
    value: int | str | None = attrs.field(default=None, validator=fields.Optional(fields.WholeOrKey()))
    """The value, or the key of the setting or readout that has it."""
    step: int | None = attrs.field(default=None, validator=fields.Optional(fields.Whole()))
    """In place of a value: by how much the action changes the readout, such as 1 to count. [units of the last place]"""

    def __attrs_post_init__(self) -> None:
        """Refuse a case without exactly one cause and exactly one value."""
        problems = []
        if bool(self.action) == (self.when is not None):
            problems.append(Problem("action", "both" if self.action else "neither", "one of action and when"))
        if (self.value is None) == (self.step is None):
            problems.append(Problem("value", "neither" if self.value is None else "both", "one of value and step"))
        elif self.step is not None and self.when is not None:
            problems.append(
                Problem("step", str(self.step), "a value, since a condition can hold for any length of time")
            )
        DesignError.raise_any(problems)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class SetBy(Structure):
    """A readout that is set by actions and conditions."""

    key: str = attrs.field(validator=fields.Key())
    cases: tuple[Case, ...] = attrs.field(
        converter=fields.to_tuple, validator=fields.Each(fields.Instance((Case,), "a case"), 1, 64)
    )
    """The cases that set it."""


@attrs.frozen(kw_only=True, init=False, eq=False, repr=False)
class _Moving(Structure):
    """Fields of a readout that moves towards another value over time. Only subclasses are instantiated."""

    key: str = attrs.field(validator=fields.Key())
    to: int | str = attrs.field(validator=fields.WholeOrKey())
    """Its target while the condition holds: a value, or the key of a setting or readout."""
    when: Condition | None = attrs.field(default=None, validator=_WHEN)
    """When it moves towards `to`; nothing: always."""
    rest: int | str | None = attrs.field(default=None, validator=fields.Optional(fields.WholeOrKey()))
    """Its target while the condition does not hold; nothing: it stays as it is."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Approach(_Moving):
    """A readout that approaches another value as a first-order system: heating, filling, a motor running up."""

    time_constant_ms: int = attrs.field(validator=fields.Whole(1, LONGEST_MS))
    """The time in which it covers 63 % of the distance. [ms]"""
    rest_time_constant_ms: int = attrs.field(default=0, validator=fields.Whole(0, LONGEST_MS))
    """The time constant towards `rest`; 0: the same. [ms]"""
    every_ms: int = attrs.field(default=1000, validator=fields.Whole(1, LONGEST_MS))
    """The measuring interval; the device reports values that changed. [ms]"""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class End(Structure):
    """A report of the device at the end of a countdown."""

    readout: str = attrs.field(validator=fields.Key())
    """The readout."""
    value: int = attrs.field(validator=fields.Whole())
    """Its value. [units of the last place]"""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Countdown(Structure):
    """A readout that counts down to 0, by one per unit of time."""

    key: str = attrs.field(validator=fields.Key())
    begin: int | str = attrs.field(validator=fields.WholeOrKey())
    """The start: a value, or the key of a setting or readout. The readout shows it while the countdown is stopped."""
    unit_ms: int = attrs.field(validator=fields.Whole(1, LONGEST_MS))
    """How long one unit of the readout lasts. [ms]"""
    started_by: tuple[str, ...] = attrs.field(
        default=(), converter=fields.to_tuple, validator=fields.Each(fields.Key(), 1, 64)
    )
    """The actions that start it, or restart it while it runs."""
    stopped_by: tuple[str, ...] = attrs.field(
        default=(), converter=fields.to_tuple, validator=fields.Each(fields.Key(), 0, 64)
    )
    """The actions that stop it."""
    when: Condition | None = attrs.field(default=None, validator=_WHEN)
    """When it counts; it pauses while this does not hold. Nothing: always."""
    ends: tuple[End, ...] = attrs.field(
        default=(), converter=fields.to_tuple, validator=fields.Each(fields.Instance((End,), "a report"), 0, 64)
    )
    """What the device reports when it reaches 0, in this order."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Ramp(_Moving):
    """A readout that moves in equal steps at equal intervals."""

    step: int = attrs.field(default=1, validator=fields.Whole(1, fields.INT32_HIGH))
    """The size of a step. [units of the last place]"""
    every_ms: int = attrs.field(default=1000, validator=fields.Whole(1, LONGEST_MS))
    """The interval between steps. [ms]"""
    repeats: bool = attrs.field(default=False, validator=fields.Boolean())
    """Whether it starts again at the readout's initial value after reaching `to`."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Noise(Structure):
    """A readout that measures a value with noise, uniformly distributed around it."""

    key: str = attrs.field(validator=fields.Key())
    around: int | str = attrs.field(validator=fields.WholeOrKey())
    """The measured value, or the key of the setting or other readout that has it."""
    spread: int = attrs.field(validator=fields.Whole(0, 1_000_000))
    """The largest error of a measurement, in either direction. [units of the last place]"""
    when: Condition | None = attrs.field(default=None, validator=_WHEN)
    """When it measures; nothing: always."""
    rest: int | str | None = attrs.field(default=None, validator=fields.Optional(fields.WholeOrKey()))
    """Its value while the condition does not hold; nothing: it stays as it is."""
    every_ms: int = attrs.field(default=1000, validator=fields.Whole(1, LONGEST_MS))
    """The measuring interval. [ms]"""
    seed: int = attrs.field(default=0, validator=fields.Whole(0, fields.INT32_HIGH))
    """The random seed; readouts with different seeds have different noise."""


Behaviour = SetBy | Approach | Countdown | Ramp | Noise
BEHAVIOURS = (SetBy, Approach, Countdown, Ramp, Noise)


@attrs.frozen(kw_only=True, eq=False, repr=False)
class SimulationKey(Structure):
    """A key with which a moderator makes the device report something, such as that its door opens."""

    key: str = attrs.field(validator=fields.OneOf(FREE_KEYS))
    """The key on the keyboard."""
    label: str = attrs.field(validator=fields.Text(1, 40))
    """Its meaning; shown to the moderator only."""
    readout: str = attrs.field(validator=fields.Key())
    """The readout."""
    values: tuple[int, ...] = attrs.field(converter=fields.to_tuple, validator=fields.Each(fields.Whole(), 1, 64))
    """The values: each press reports the next one, and after the last the first again. [units of the last place]"""


def walk_simulation_conditions(simulation: Iterable[Behaviour]) -> Iterator[tuple[str, Condition]]:
    """Walk the conditions of a simulation, each with its path."""
    for behaviour in simulation:
        path = f"simulation.{behaviour.key}"
        if isinstance(behaviour, SetBy):
            for number, case in enumerate(behaviour.cases):
                if case.when is not None:
                    yield f"{path}.cases[{number}].when", case.when
        elif behaviour.when is not None:
            yield f"{path}.when", behaviour.when


def find_simulation_problems(
    simulation: Sequence[Behaviour],
    settings: Mapping[str, Setting],
    actions: Mapping[str, Action],
    readouts: Mapping[str, Readout],
) -> Iterator[Problem]:
    """Find everything in a simulation that does not fit the parts of its design, except for conditions."""
    for number, behaviour in enumerate(simulation):
        path = f"simulation.{behaviour.key}"
        if behaviour.key not in readouts:
            yield _report_unknown(path, behaviour.key, "a readout", readouts)
        elif any(behaviour.key == other.key for other in simulation[:number]):
            yield Problem(path, f'"{behaviour.key}" again', "each readout once")
        else:
            for name, operand in walk_operands(behaviour):
                yield from _check_operand(f"{path}.{name}", operand, readouts[behaviour.key], settings, readouts)
        for name, action in walk_actions(behaviour):
            if action not in actions:
                yield _report_unknown(f"{path}.{name}", action, "an action", actions)
        if isinstance(behaviour, Countdown):
            for place, end in enumerate(behaviour.ends):
                yield from _check_report(f"{path}.ends[{place}]", end.readout, end.value, "value", readouts)
    yield from _find_value_cycles(simulation)


def find_key_problems(keys: Sequence[SimulationKey], readouts: Mapping[str, Readout]) -> Iterator[Problem]:
    """Find the keys of a moderator that are bound twice or report a value that their readout cannot have."""
    for number, bound in enumerate(keys):
        path = f"simulation_keys[{number}]"
        if any(bound.key == other.key for other in keys[:number]):
            yield Problem(f"{path}.key", f'"{bound.key}" again', "each key once")
        for place, value in enumerate(bound.values):
            yield from _check_report(path, bound.readout, value, f"values[{place}]", readouts)
            if bound.readout not in readouts:
                break


def walk_operands(behaviour: Behaviour) -> Iterator[tuple[str, int | str]]:
    """Walk the values that a behaviour refers to, each with its path inside the behaviour."""
    match behaviour:
        case SetBy():
            for number, case in enumerate(behaviour.cases):
                if case.value is not None:
                    yield f"cases[{number}].value", case.value
        case Countdown():
            yield "begin", behaviour.begin
        case Noise():
            yield "around", behaviour.around
        case Approach() | Ramp():
            yield "to", behaviour.to
        case _:
            assert_never(behaviour)
    if isinstance(behaviour, Approach | Ramp | Noise) and behaviour.rest is not None:
        yield "rest", behaviour.rest


def walk_actions(behaviour: Behaviour) -> Iterator[tuple[str, str]]:
    """Walk the actions that a behaviour responds to, each with its path inside the behaviour."""
    if isinstance(behaviour, SetBy):
        for number, case in enumerate(behaviour.cases):
            if case.action:
                yield f"cases[{number}].action", case.action
    elif isinstance(behaviour, Countdown):
        for name, keys in (("started_by", behaviour.started_by), ("stopped_by", behaviour.stopped_by)):
            yield from ((f"{name}[{number}]", key) for number, key in enumerate(keys))


def _find_value_cycles(simulation: Sequence[Behaviour]) -> Iterator[Problem]:
    """Find readouts that copy their values from each other in a cycle, so that no value has a source.

    An approach or a ramp has a value of its own and takes time, so two of them can refer to each other; an action
    copies a value only once.
    """
    place = {behaviour.key: number for number, behaviour in enumerate(simulation)}
    copies = [(source, behaviour.key) for behaviour in simulation for source in _list_sources(behaviour)]
    for cycle in find_cycles((source, key) for source, key in copies if source != key):
        members = cycle[:0:-1]
        first = members.index(min(members, key=place.__getitem__))
        chain = (*members[first:], *members[: first + 1])
        names = " from ".join(f'"{name}"' for name in chain)
        yield Problem(f"simulation.{chain[0]}", names, "values that come from outside of this cycle")


def _list_sources(behaviour: Behaviour) -> tuple[str, ...]:
    """List the settings and readouts whose values a readout follows without delay."""
    if isinstance(behaviour, SetBy):
        return tuple(case.value for case in behaviour.cases if case.when is not None and isinstance(case.value, str))
    if isinstance(behaviour, Noise):
        return tuple(operand for _, operand in walk_operands(behaviour) if isinstance(operand, str))
    return ()


def _check_operand(
    path: str, operand: int | str, readout: Readout, settings: Mapping[str, Setting], readouts: Mapping[str, Readout]
) -> Iterator[Problem]:
    if isinstance(operand, int):
        yield from _check_range(path, operand, readout)
        return
    part = settings.get(operand) or readouts.get(operand)
    if part is None or isinstance(part, TextSetting):
        numbers = [key for key, setting in settings.items() if not isinstance(setting, TextSetting)]
        yield _report_unknown(path, operand, "a setting or a readout", [*numbers, *readouts])
    elif operand == readout.key:
        yield Problem(path, f'"{operand}"', "another value than the readout's own")
    elif (decimals := part.decimals if isinstance(part, Readout) else count_decimals(part)) != readout.decimals:
        got = f'"{operand}", which has {decimals} decimals'
        yield Problem(path, got, f'a value with {readout.decimals} decimals, as "{readout.key}" has')


def _check_report(path: str, key: str, value: int, place: str, readouts: Mapping[str, Readout]) -> Iterator[Problem]:
    if key not in readouts:
        yield _report_unknown(f"{path}.readout", key, "a readout", readouts)
    else:
        yield from _check_range(f"{path}.{place}", value, readouts[key])


def _check_range(path: str, value: int, readout: Readout) -> Iterator[Problem]:
    low = fields.INT32_LOW if readout.low is None else readout.low
    high = fields.INT32_HIGH if readout.high is None else readout.high
    if not low <= value <= high:
        yield Problem(path, str(value), f'a value from {low} to {high}, as "{readout.key}" reports')


def _report_unknown(path: str, key: str, kind: str, known: Iterable[str]) -> Problem:
    keys = sorted(known)
    return Problem(path, f'"{key}"', f"{kind}: {one_of(keys)}" if keys else kind, nearest(key, keys))
