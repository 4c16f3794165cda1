"""The causes of departures: what follows from leaving the least way at one place counts there, and only once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs

from knobmenu.review.departures import Departure, Kind

DETOURS: frozenset[Kind] = frozenset(("wrong-turn", "left", "wrong-setting", "wrong-value", "revert", "time-out"))
"""Departures that last; other departures before their end are part of them."""

SEARCHES: frozenset[Kind] = frozenset(("left", "passed-entry"))
"""Departures that are also symptoms of a wrong entry chosen because the right one was not recognized."""


@attrs.frozen
class Cause:
    """One departure of a participant from the least way, with the departures that it explains."""

    departure: Departure
    """The departure that began it, or that explains it."""
    following: tuple[Departure, ...] = ()
    """The departures that it explains; none of them is part of another."""

    @property
    def seconds(self) -> float:
        """The time that it cost, with what followed. [s]"""
        return self.departure.seconds + sum(one.seconds for one in self.following)

    @property
    def gestures(self) -> int:
        """Detents and presses that it cost, with what followed."""
        return self.departure.gestures + sum(one.gestures for one in self.following)


def find_causes(departures: Sequence[Departure]) -> Iterator[Cause]:
    """Walk the causes of the departures of one attempt, in order.

    A departure within a detour is part of the detour. If a participant chose a wrong entry of a list, turning past the
    right one and leaving the list are symptoms of the same cause: the wrong turn nearest in time explains them.
    """
    whole = [one for one in departures if not any(_encloses(other, one) for other in departures)]
    following: dict[int, list[Departure]] = {}
    for place, one in enumerate(whole):
        wrong_turns = (at for at, other in enumerate(whole) if _explains(other, one))
        cause = min(wrong_turns, key=lambda at: abs(whole[at].begun_ms - one.begun_ms), default=place)
        following.setdefault(cause, [])
        if cause != place:
            following[cause].append(one)
    return (Cause(whole[place], tuple(following[place])) for place in sorted(following))


def _encloses(detour: Departure, other: Departure) -> bool:
    """Return whether a departure is within a detour; of two with equal times, the first by kind encloses the other."""
    if detour is other or detour.kind not in DETOURS:
        return False
    outer, inner = (detour.begun_ms, detour.ended_ms), (other.begun_ms, other.ended_ms)
    if outer == inner:
        return other.kind not in DETOURS or (detour.kind, detour.key) < (other.kind, other.key)
    return outer[0] <= inner[0] and inner[1] <= outer[1]


def _explains(wrong_turn: Departure, symptom: Departure) -> bool:
    """Return whether a wrong turn explains that the right entry was passed, or its list left."""
    if wrong_turn.kind != "wrong-turn" or symptom.kind not in SEARCHES or not symptom.expected:
        return False
    return (wrong_turn.screen, wrong_turn.expected) == (symptom.screen, symptom.expected)
