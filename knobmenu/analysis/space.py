"""Sets of joint states as the bits of an integer: conditions are masks, edits are shifts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import product

import attrs

from knobmenu.analysis.abstraction import Abstraction, Relation, TooLargeError, Variable
from knobmenu.design.conditions import Resolved, holds
from knobmenu.design.positions import NumberPosition

MOST_REPORTS = 4096
"""The greatest number of combinations of reported values for which one condition is evaluated."""

Bits = int
"""A set of states at one site: bit n is set if state n belongs to it."""

Operation = tuple[int, Relation]
"""A variable's place among the variables of the space, and what happens to it."""


@attrs.frozen(eq=False)
class Space:
    """The joint states of some variables, numbered, and sets of them as bits."""

    abstraction: Abstraction
    variables: tuple[Variable, ...]
    strides: tuple[int, ...] = attrs.field(init=False)
    size: int = attrs.field(init=False)
    """The number of joint states."""
    _masks: dict[tuple[Resolved, bool], Bits] = attrs.field(init=False, factory=dict, repr=False)
    _slices: dict[tuple[int, int], Bits] = attrs.field(init=False, factory=dict, repr=False)

    def __attrs_post_init__(self) -> None:
        """Number the states: the first variable changes fastest."""
        strides, size = [], 1
        for variable in self.variables:
            strides.append(size)
            size *= len(variable.states)
        object.__setattr__(self, "strides", tuple(strides))
        object.__setattr__(self, "size", size)

    @property
    def full(self) -> Bits:
        """All states."""
        return (1 << self.size) - 1

    def split_number(self, number: int) -> tuple[int, ...]:
        """Return the state of each variable in a joint state."""
        return tuple(
            number // stride % len(variable.states)
            for stride, variable in zip(self.strides, self.variables, strict=True)
        )

    def join_number(self, states: Iterable[int]) -> int:
        """Return the joint state of a state of each variable."""
        return sum(state * stride for state, stride in zip(states, self.strides, strict=True))

    def get_slice(self, place: int, state: int) -> Bits:
        """Return the joint states in which a variable has a state."""
        if (place, state) not in self._slices:
            stride = self.strides[place]
            block = ((1 << stride) - 1) << (state * stride)
            self._slices[place, state] = _repeat(block, stride * len(self.variables[place].states), self.size)
        return self._slices[place, state]

    def mask(self, condition: Resolved, reports: bool) -> Bits:
        """Return the states in which a condition can hold.

        Args:
            condition: Over settings of these variables, and readouts.
            reports: Whether readouts can have any of their values; else they have their initial ones.

        Raises:
            TooLargeError: It reads too many readouts.
        """
        if (condition, reports) not in self._masks:
            bits = 0
            for values in self._walk_reports(condition, reports):
                bits |= self._judge(condition, values)
                if bits == self.full:
                    break
            self._masks[condition, reports] = bits
        return self._masks[condition, reports]

    def image(self, bits: Bits, operations: Iterable[Operation]) -> Bits:
        """Return the states that operations lead to, one after the other."""
        for place, relation in operations:
            bits = self._spread(bits, place) if relation is None else self._relate(bits, place, relation)
        return bits

    def preimage(self, bits: Bits, operations: Sequence[Operation]) -> Bits:
        """Return the states from which operations can lead into a set."""
        for place, relation in reversed(operations):
            bits = self._spread(bits, place) if relation is None else self._find_origins(bits, place, relation)
        return bits

    def _spread(self, bits: Bits, place: int) -> Bits:
        stride, base = self.strides[place], 0
        count = len(self.variables[place].states)
        if count == 1:
            return bits
        for state in range(count):
            base |= (bits & self.get_slice(place, state)) >> (state * stride)
        spread, done = base, 1
        while done < count:
            step = min(done, count - done)
            spread |= spread << (step * stride)
            done += step
        return spread

    def _relate(self, bits: Bits, place: int, relation: Sequence[Sequence[int]]) -> Bits:
        stride, ends = self.strides[place], 0
        for state, targets in enumerate(relation):
            if part := (bits & self.get_slice(place, state)) >> (state * stride):
                for target in targets:
                    ends |= part << (target * stride)
        return ends

    def _find_origins(self, bits: Bits, place: int, relation: Sequence[Sequence[int]]) -> Bits:
        stride, starts = self.strides[place], 0
        parts = [
            (bits & self.get_slice(place, state)) >> (state * stride)
            for state in range(len(self.variables[place].states))
        ]
        for state, targets in enumerate(relation):
            part = 0
            for target in targets:
                part |= parts[target]
            starts |= part << (state * stride)
        return starts

    def _walk_reports(self, condition: Resolved, reports: bool) -> Iterator[dict[int, int]]:
        """Walk the values that the readouts in a condition can have together, by their position."""
        design = self.abstraction.design
        positions = sorted({at for at in walk_positions(condition) if at >= len(design.settings)})
        keys = [design.readouts[position - len(design.settings)].key for position in positions]
        each = [self.abstraction.list_readout_values(key)[: None if reports else 1] for key in keys]
        count = 1
        for values in each:
            count *= len(values)
        if count > MOST_REPORTS:
            raise TooLargeError(count * self.size)
        return (dict(zip(positions, values, strict=True)) for values in product(*each))

    def _judge(self, condition: Resolved, reported: dict[int, int]) -> Bits:
        if condition.operator == "not":
            return self.full & ~self._judge(condition.parts[0], reported)
        if condition.operator == "all":
            bits = self.full
            for part in condition.parts:
                bits &= self._judge(part, reported)
            return bits
        if condition.operator == "any":
            bits = 0
            for part in condition.parts:
                bits |= self._judge(part, reported)
            return bits
        if condition.position in reported:
            return self.full if holds(condition, reported.__getitem__) else 0
        key = self.abstraction.design.settings[condition.position].key
        place = next(number for number, variable in enumerate(self.variables) if key in variable.keys)
        variable, bits = self.variables[place], 0
        for state in range(len(variable.states)):
            low = variable.find_class(key, state).low
            if holds(condition, lambda _, low=low: low):  # type: ignore[misc]
                bits |= self.get_slice(place, state)
        return bits


def walk_positions(condition: Resolved) -> Iterator[NumberPosition]:
    """Walk the positions that a condition compares."""
    if condition.operator in ("all", "any", "not"):
        for part in condition.parts:
            yield from walk_positions(part)
    else:
        yield condition.position


def _repeat(block: Bits, period: int, size: int) -> Bits:
    """Repeat a block of bits every `period` bits up to `size`."""
    bits, done = block, period
    while done < size:
        bits |= bits << done
        done *= 2
    return bits & ((1 << size) - 1)
