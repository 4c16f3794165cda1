"""A test whether more people left the least way at a place than their own habits explain.

Everybody slips, and some people slip everywhere: a person who turns too far at every value is not evidence against one
of them. So each place is compared with the other attempts of the same people.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Set
from itertools import chain
from typing import TypeVar

import attrs

from knobmenu.review.departures import Kind
from knobmenu.review.measures import adjust_p_values, compute_chance_of_count
from knobmenu.review.study import Trial

Place = TypeVar("Place", bound=Hashable)
"""The identity of a place in a design."""

SLIP_RATE = 0.05
"""The rate at which any person slips at a place, in any design (our own choice)."""

SLIP_WEIGHT = 2
"""The weight of `SLIP_RATE`, relative to a person's own attempts (our own choice). [attempts]"""

RISK = 0.05
"""The probability that habits alone produce one or more problems in a study."""

_CLASSES: tuple[frozenset[Kind], ...] = (
    frozenset(("passed-entry", "overshoot")),
    frozenset(("wrong-turn", "left", "wrong-setting", "refused")),
    frozenset(("wrong-value", "revert")),
)
"""Departures of the same habit: turning too far, choosing hastily, keeping or undoing hastily."""


@attrs.frozen
class Met:
    """A departure at one place of the design, and the people who met it."""

    trial: Trial
    kind: Kind
    people: Set[str]
    """The codes of the people who met it."""


def judge_places(places: Mapping[Place, Met], tried: Mapping[Trial, Set[str]]) -> dict[Place, float]:
    """Compute for each place the probability that at least as many people meet it by their habits alone.

    A person's habit is the rate of departures of the same class in their other attempts, together with `SLIP_WEIGHT`
    attempts at `SLIP_RATE`, and at least that rate. What more than half of the people do in more than half of their
    other attempts is due to the design, not a habit, and explains nothing. The probabilities are adjusted for the
    number of places. Places that are then problems are excluded from the habits, and the others are judged again.

    Args:
        places: The departures, by place.
        tried: For each trial, the codes of the people who tried it.
    """
    judged: dict[Place, float] = {}
    rest = dict(places)
    while rest:
        habits = _Habits(rest.values(), tried)
        adjusted = dict(zip(rest, adjust_p_values([habits.compute_p(met) for met in rest.values()]), strict=True))
        found = {place for place, p in adjusted.items() if p < RISK}
        judged |= adjusted
        if not found:
            break
        rest = {place: met for place, met in rest.items() if place not in found}
    return judged


class _Habits:
    """The number of attempts in which each person left the least way, for each class of departures."""

    def __init__(self, places: Iterable[Met], tried: Mapping[Trial, Set[str]]) -> None:
        self._tried = tried
        self._attempts: dict[str, int] = {}
        for code in chain.from_iterable(tried.values()):
            self._attempts[code] = self._attempts.get(code, 0) + 1
        self._slips: dict[frozenset[Kind], dict[str, set[Trial]]] = {}
        for met in places:
            slips = self._slips.setdefault(_find_class(met.kind), {})
            for code in met.people:
                slips.setdefault(code, set()).add(met.trial)

    def compute_p(self, met: Met) -> float:
        """Compute the probability that at least as many people meet a place by their habits alone."""
        slips = self._slips[_find_class(met.kind)]
        people = sorted(self._tried[met.trial])
        counts = [(len(slips.get(code, set()) - {met.trial}), self._attempts[code] - 1) for code in people]
        if 2 * sum(2 * slipped > others for slipped, others in counts) > len(people):
            return compute_chance_of_count(len(met.people), [SLIP_RATE] * len(people))
        rates = [(slipped + SLIP_WEIGHT * SLIP_RATE) / (others + SLIP_WEIGHT) for slipped, others in counts]
        return compute_chance_of_count(len(met.people), [max(rate, SLIP_RATE) for rate in rates])


def _find_class(kind: Kind) -> frozenset[Kind]:
    return next((kinds for kinds in _CLASSES if kind in kinds), frozenset((kind,)))
