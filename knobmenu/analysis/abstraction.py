"""Values in classes: exactly what conditions, limits and gestures can distinguish.

The number of a design's values is the product of the ranges of all its settings, most of which no condition
distinguishes. The *cuts* of a value are the points at which a comparison changes its result: the thresholds of the
conditions that read the value and, where settings limit each other, the cuts of its partners, carried over. Between two
cuts is a *class*: an interval of values that behave alike.

A *variable* is one setting, or all settings that are tied together by limits, since the values that one of them can
take depend on the others. A variable's *states* are the combinations of classes that its settings can have together,
and its *assignments* list the states in which assigning a value to a setting can end. docs/explanation/soundness.md
shows why the classes are a bisimulation of the machine, which makes every answer about classes an answer about values.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from heapq import heapify, heappop, heappush

import attrs

from knobmenu.design.domains import find_all_thresholds, get_domain
from knobmenu.design.kinds import Limited, get_initial_value
from knobmenu.design.limits import find_step_at_least, find_step_at_most, move_by_steps
from knobmenu.design.settings import Number, Scale, TextSetting
from knobmenu.design.whole import Design
from knobmenu.machine.actions import COARSE

MOST_STATES = 100_000
"""A variable with more states than this is not analysed."""

MOST_TRANSITIONS = 2_000_000
"""A variable with more transitions than this is not analysed."""

MOST_CELLS = 1_000_000
"""A variable whose states hold more classes than this, over all of its settings, is not analysed."""


class TooLargeError(Exception):
    """A question about more states than can be searched; `states` is their number."""

    def __init__(self, states: int) -> None:
        self.states = states
        super().__init__(states)


@attrs.frozen
class ValueClass:
    """Values of one setting that behave alike: all of its steps from `low` to `high`."""

    low: int
    """The lowest. [units of the last place]"""
    high: int
    """The highest. [units of the last place]"""


Combination = tuple[int, ...]
"""For each setting of a variable, the number of its class."""

Relation = tuple[tuple[int, ...], ...] | None
"""For each state of a variable, the states in which an operation can end; None: in any, from any."""


@attrs.frozen(eq=False)
class Variable:
    """One setting, or all settings that limits tie together, with the classes of their values."""

    keys: tuple[str, ...]
    """The settings, in the design's order."""
    classes: tuple[tuple[ValueClass, ...], ...]
    """The classes of each, ascending."""
    states: tuple[Combination, ...]
    """The combinations of classes that edits can reach; the first one is that of a new device."""
    assignments: Mapping[str, Relation]
    """For each setting, the states in which a single assignment can end."""
    held_turns: Mapping[str, Relation]
    """For each setting that only held turns adjust at home: the states in which one such turn can end."""

    def find_class(self, key: str, state: int) -> ValueClass:
        """Return the class of a setting in a state."""
        place = self.keys.index(key)
        return self.classes[place][self.states[state][place]]

    def find_state(self, values: Mapping[str, int]) -> int:
        """Return the state that contains some values.

        Raises:
            KeyError: No sequence of edits leads to these values together.
        """
        return self.numbers[
            tuple(
                bisect_left(classes, values[key], key=lambda item: item.high)
                for key, classes in zip(self.keys, self.classes, strict=True)
            )
        ]

    @cached_property
    def numbers(self) -> Mapping[Combination, int]:
        """The number of each state."""
        return {state: number for number, state in enumerate(self.states)}


@attrs.frozen(eq=False)
class Abstraction:
    """The cuts of a design's values, and the variables that follow from them."""

    design: Design
    extra_cuts: Mapping[str, tuple[int, ...]] = attrs.field(factory=dict)
    """Further values at which classes begin, for specific questions."""
    _variables: dict[str, Variable] = attrs.field(init=False, factory=dict, repr=False)

    @cached_property
    def cuts(self) -> Mapping[str, tuple[int, ...]]:
        """For each setting and readout, the values at which its classes begin, without the lowest."""
        design = self.design
        cuts = {key: set(values) for key, values in find_all_thresholds(design).items()}
        for key, values in self.extra_cuts.items():
            cuts.setdefault(key, set()).update(values)
        for key in find_held_alone(design):
            for partner in find_tied(design, key):
                domain = get_domain(design, partner)
                if any(cuts.get(other) for other in find_tied(design, key)) and len(domain) <= MOST_STATES:
                    cuts.setdefault(partner, set()).update(domain[1:])
        _carry_cuts(design, cuts)
        return {key: tuple(sorted(values)) for key, values in cuts.items()}

    def list_readout_values(self, key: str) -> tuple[int, ...]:
        """List one value of each class of a readout; the first is its initial value."""
        cuts, initial = self.cuts.get(key, ()), self.design.index.readouts[key].initial
        above = bisect_right(cuts, initial)
        # Of each class, take the value nearest to the initial one, which is the most plausible.
        return (initial, *cuts[above:], *(cut - 1 for cut in reversed(cuts[:above])))

    def get_variable(self, key: str) -> Variable:
        """Return the variable of a setting.

        Raises:
            TooLargeError: It has too many states.
        """
        if key not in self._variables:
            variable = _build_variable(self, find_tied(self.design, key))
            self._variables.update(dict.fromkeys(variable.keys, variable))
        return self._variables[key]


def find_tied(design: Design, key: str) -> tuple[str, ...]:
    """Find the settings that limits tie to a setting, directly or through others, including itself, in order."""
    limits = design.index.limits
    found, ahead = {key}, [key]
    while ahead:
        at = limits.get(ahead.pop())
        if at is None:
            continue
        for other in (*at.pushed_down, *at.pushed_up):
            if other not in found:
                found.add(other)
                ahead.append(other)
    return tuple(sorted(found, key=design.index.positions.__getitem__))


def find_held_alone(design: Design) -> tuple[str, ...]:
    """Find the setting that only held turns adjust at home, by several steps."""
    key = design.home.held_turn
    coarse = bool(key) and key != design.home.turn and isinstance(design.index.settings[key], Number | Scale)
    return (key,) if coarse else ()


def _carry_cuts(design: Design, cuts: dict[str, set[int]]) -> None:
    """Carry cuts across limits until none is added.

    If A <= B and a class of A begins at a value, B can make room for it only from that value on; and where a class of B
    begins, A can leave the class below only from beyond that class's highest value on.
    """
    pairs = design.index.pairs if any(cuts.values()) else ()
    before = -1
    while before != (before := sum(len(cuts.get(pair.lower, ())) + len(cuts.get(pair.upper, ())) for pair in pairs)):
        # Each walk carries as far as the limits lead; unequal steps can call for more walks.
        for lower, upper in pairs:
            below, above = get_domain(design, lower), get_domain(design, upper)
            places = {bisect_left(above, cut) for cut in cuts.get(lower, ())}
            cuts.setdefault(upper, set()).update(above[place] for place in places if 0 < place < len(above))
        for lower, upper in reversed(pairs):
            below, above = get_domain(design, lower), get_domain(design, upper)
            places = {bisect_right(below, above[bisect_left(above, cut) - 1]) for cut in cuts.get(upper, ())}
            cuts.setdefault(lower, set()).update(below[place] for place in places if 0 < place < len(below))


def _build_variable(abstraction: Abstraction, keys: tuple[str, ...]) -> Variable:
    design = abstraction.design
    if any(isinstance(design.index.settings[key], TextSetting) for key in keys):
        return Variable(keys, ((),), ((0,),), {keys[0]: None}, {})
    classes = tuple(_make_classes(get_domain(design, key), abstraction.cuts.get(key, ())) for key in keys)
    initial = tuple(
        bisect_left(of, int(get_initial_value(design.index.settings[key])), key=lambda item: item.high)
        for key, of in zip(keys, classes, strict=True)
    )
    coarse = find_held_alone(design)
    told_apart = all(item.low == item.high for of in classes for item in of)
    if any(key in coarse for key in keys) and not told_apart and any(len(of) > 1 for of in classes):
        raise TooLargeError(max(len(get_domain(design, key)) for key in keys))
    if len(keys) == 1 and keys[0] not in coarse:
        if len(classes[0]) > MOST_STATES:
            raise TooLargeError(len(classes[0]))
        rest = ((number,) for number in range(len(classes[0])) if number != initial[0])
        return Variable(keys, classes, (initial, *rest), {keys[0]: None}, {})
    return _tie(_Ties.of(design, keys, classes), initial, coarse)


def _make_classes(domain: Sequence[int], cuts: Sequence[int]) -> tuple[ValueClass, ...]:
    lows = (domain[0], *cuts)
    highs = (*(domain[bisect_left(domain, cut) - 1] for cut in cuts), domain[-1])
    return tuple(map(ValueClass, lows, highs))


_PlacedPair = tuple[int, int, int]
"""A pair in the order of pushing: its rank, and the places of the lower and the upper setting."""


@attrs.frozen
class _Ties:
    """Settings that limits tie together, and how an assignment to one changes the classes of the others."""

    design: Design
    keys: tuple[str, ...]
    classes: tuple[tuple[ValueClass, ...], ...]
    limited: tuple[Limited, ...]
    """The settings themselves."""
    places: Mapping[str, int]
    """The place of each setting."""
    pairs_above: tuple[tuple[_PlacedPair, ...], ...]
    """For each setting, the pairs that it pushes up in, with their rank among all."""
    pairs_below: tuple[tuple[_PlacedPair, ...], ...]
    """For each setting, the pairs that it pushes down in, with their rank among all."""

    @classmethod
    def of(cls, design: Design, keys: tuple[str, ...], classes: tuple[tuple[ValueClass, ...], ...]) -> _Ties:
        """Look up the settings and how they push each other."""
        places = {key: place for place, key in enumerate(keys)}
        settings = (design.index.settings[key] for key in keys)
        limited = tuple(setting for setting in settings if isinstance(setting, Limited))
        above: list[list[_PlacedPair]] = [[] for _ in keys]
        below: list[list[_PlacedPair]] = [[] for _ in keys]
        for rank, (lower, upper) in enumerate(design.index.limits[keys[0]].pairs):
            above[places[lower]].append((rank, places[lower], places[upper]))
            below[places[upper]].append((-rank, places[lower], places[upper]))
        return cls(design, keys, classes, limited, places, tuple(map(tuple, above)), tuple(map(tuple, below)))

    def assign(self, state: Combination, place: int, wanted: int) -> Combination | None:
        """Assign a value of a class to a setting and push others; None if a limit that it declares prevents that."""
        index, key = self.design.index, self.keys[place]
        limits, setting, item = index.limits[key], self.limited[place], self.classes[place][wanted]
        if limits.low_from and find_step_at_least(setting, self._get_class(state, limits.low_from).low) > item.high:
            return None
        if limits.high_from and find_step_at_most(setting, self._get_class(state, limits.high_from).high) < item.low:
            return None
        return self._push(state, place, wanted)

    def _push(self, state: Combination, place: int, wanted: int) -> Combination:
        """Set a setting to a class, and push others in the order of `knobmenu.machine.changing.assign`.

        Only the pairs of settings that moved are examined, so the cost of a push depends on what it moves.
        """
        if wanted == state[place]:
            return state
        rises, numbers = wanted > state[place], list(state)
        numbers[place] = wanted
        following = self.pairs_above if rises else self.pairs_below
        ahead = list(following[place])
        heapify(ahead)
        while ahead:
            _, lower, upper = heappop(ahead)
            low, high = self.classes[lower][numbers[lower]].low, self.classes[upper][numbers[upper]].high
            if low <= high:
                continue
            pushed = upper if rises else lower
            step = (
                find_step_at_least(self.limited[upper], low) if rises else find_step_at_most(self.limited[lower], high)
            )
            numbers[pushed] = self._find_number(pushed, step)
            for pair in following[pushed]:
                heappush(ahead, pair)
        return tuple(numbers)

    def hold_and_turn(self, state: Combination, place: int) -> list[Combination]:
        """Turn a setting by one held detent in each direction; every class is a single value."""
        limits, setting = self.design.index.limits[self.keys[place]], self.limited[place]
        low, high = limits.low, limits.high
        if limits.low_from:
            low = max(low, find_step_at_least(setting, self._get_class(state, limits.low_from).low))
        if limits.high_from:
            high = min(high, find_step_at_most(setting, self._get_class(state, limits.high_from).low))
        value = self.classes[place][state[place]].low
        ends = {move_by_steps(setting, value, steps, low, high) for steps in (COARSE, -COARSE)}
        return [self._push(state, place, self._find_number(place, end)) for end in sorted(ends)]

    def _get_class(self, state: Combination, key: str) -> ValueClass:
        place = self.places[key]
        return self.classes[place][state[place]]

    def _find_number(self, place: int, value: int) -> int:
        return bisect_left(self.classes[place], value, key=lambda item: item.high)


def _tie(ties: _Ties, initial: Combination, coarse: Iterable[str]) -> Variable:
    """Find the states that assignments can reach from the first one, and the result of each assignment."""
    numbers = {initial: 0}
    ahead = [initial]
    steps: list[list[tuple[int, ...]]] = [[] for _ in ties.keys]
    held: dict[str, list[tuple[int, ...]]] = {key: [] for key in coarse if key in ties.keys}
    transitions = 0

    def number_ends(ends: Iterable[Combination]) -> tuple[int, ...]:
        found = []
        for end in ends:
            if end not in numbers:
                numbers[end] = len(ahead)
                ahead.append(end)
            found.append(numbers[end])
        return tuple(sorted(set(found)))

    for state in ahead:  # grows while it is walked
        for place, classes in enumerate(ties.classes):
            reached = (ties.assign(state, place, wanted) for wanted in range(len(classes)))
            steps[place].append(number_ends(end for end in reached if end is not None))
            transitions += len(steps[place][-1])
        for key, ends in held.items():
            ends.append(number_ends(ties.hold_and_turn(state, ties.keys.index(key))))
        cells = len(ahead) * len(ties.keys)
        if len(ahead) > MOST_STATES or cells > MOST_CELLS or transitions > MOST_TRANSITIONS:
            raise TooLargeError(len(ahead))
    assignments = {key: tuple(ends) for key, ends in zip(ties.keys, steps, strict=True)}
    return Variable(
        ties.keys, ties.classes, tuple(ahead), assignments, {key: tuple(ends) for key, ends in held.items()}
    )
