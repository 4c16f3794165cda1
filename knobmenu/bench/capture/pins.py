"""Which two pins of a capture are the phases: those that change together, not those that change most.

Two phases change by turns, so that real edges go round the four states one way for a while. Next to a clock or another
signal the direction is a matter of chance.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter

import attrs
import numpy as np

from knobmenu.bench.capture.bursts import Bursts, Grouping, Stepping, merge_edges
from knobmenu.bench.capture.gaps import Gaps
from knobmenu.bench.capture.recording import Capture
from knobmenu.bench.errors import BenchError
from knobmenu.bench.signal import Signal
from knobmenu.errors import Problem, one_of

MOST_CANDIDATES = 6
"""So many of the pins that change most are tried in pairs. [pins]"""

AS_GOOD = 0.8
"""A pair that goes round the states so much as the chosen one, in proportion, is as good. [unitless]"""


@attrs.frozen(eq=False)
class Choice:
    """The pins of the phases, and what the gaps between their edges say."""

    pins: tuple[str, str]
    """Names of the phases, A and B."""
    gaps: Gaps
    """The gaps between their edges."""
    as_good: tuple[str, str] | None = None
    """Another pair that could be the phases as well."""


class _Pair:
    """How two pins change together, so far."""

    def __init__(self) -> None:
        self.gaps = Gaps()
        self.progress = 0
        """Steps that continue in the direction of the one before, less those that turn back. [steps]"""
        self._grouping = Grouping(math.inf)
        self._stepping: Stepping | None = None
        self._step = 0

    def feed(self, a: Signal, b: Signal) -> None:
        """Add the next piece of both."""
        if self._stepping is None:
            self._stepping = Stepping(a.first << 1 | b.first)
        at_s, pins = merge_edges(a, b)
        self.gaps.feed(at_s, pins)
        self._count(self._grouping.feed(at_s, pins), self._stepping)

    def _count(self, bursts: Bursts, stepping: Stepping) -> None:
        _, steps = stepping.feed(bursts[bursts.are_real])
        if len(steps):
            self.progress += int((steps * np.concatenate(([self._step], steps[:-1]))).sum())
            self._step = int(steps[-1])


def choose_pins(capture: Capture, pin_a: str = "", pin_b: str = "") -> Choice:
    """Choose the pins of the phases, the first of them by name as A, and survey the gaps between their edges.

    Args:
        capture: the capture; it is read once more if it has more than two pins and one is to be chosen.
        pin_a: phase A; chosen if empty.
        pin_b: phase B; chosen if empty.

    Raises:
        BenchError: a pin is not there or is given twice, or fewer than two change.
    """
    given = [name for name in (pin_a, pin_b) if name]
    if len(given) == 2 and pin_a == pin_b:
        raise BenchError([Problem("pins", f'"{pin_a}" twice', "two different pins")])
    names = given if len(given) == 2 else _list_candidates(capture, given)
    pairs = {pair: _Pair() for pair in itertools.combinations(names, 2) if set(given) <= set(pair)}
    for piece in capture.walk_pieces():
        for (one, other), survey in pairs.items():
            survey.feed(piece.get_pin(one), piece.get_pin(other))
    ranked = sorted(pairs, key=lambda pair: pairs[pair].progress, reverse=True)
    best = ranked[0]
    rival = next((pair for pair in ranked[1:] if 0 < pairs[best].progress * AS_GOOD <= pairs[pair].progress), None)
    first, second = sorted(best)
    if given:
        first = pin_a or next(name for name in best if name != pin_b)
        second = pin_b or next(name for name in best if name != pin_a)
    return Choice((first, second), pairs[best].gaps, rival)


def _list_candidates(capture: Capture, given: list[str]) -> list[str]:
    """Name the pins that change most, and those given."""
    changes: Counter[str] = Counter()
    for piece in capture.walk_pieces():
        for name in given:
            piece.get_pin(name)
        changes.update({name: len(pin.changes_s) for name, pin in piece.pins.items() if len(pin.changes_s)})
    if len({*changes, *given}) < 2:
        found = one_of(changes) if changes else "no pin that changes"
        raise BenchError([Problem("pins", found, "at least two pins that change", "capture while the knob is turned")])
    most = [name for name, _ in changes.most_common(MOST_CANDIDATES) if name not in given]
    return [*given, *most]
