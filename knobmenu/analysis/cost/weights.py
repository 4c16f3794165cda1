"""The weights of gestures when ways are compared.

Ways are compared by one whole number: the fewest reports that the device must make first, then the fewest waits, then
the fewest gestures of the hand, then the fewest milliseconds.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, assert_never

import attrs

from knobmenu.analysis.cost.gestures import Gesture, Kind
from knobmenu.analysis.cost.operators import Operators

if TYPE_CHECKING:
    from knobmenu.design.whole import Design

_GESTURE = 10**9
_WAIT = 10**18
_REPORT = 10**24


@attrs.frozen(cache_hash=True)
class Weights:
    """The weight of each gesture: one for itself, and its typical milliseconds as the tie-break."""

    turn: int
    held: int
    press: int
    hold: int
    double: int
    wait: int
    report: int = _REPORT

    def weigh(self, gesture: Gesture) -> int:
        """Weigh a gesture."""
        return self._weigh_one(gesture.kind) * (gesture.detents or 1)

    def _weigh_one(self, kind: Kind) -> int:
        match kind:
            case "turn":
                return self.turn
            case "press":
                return self.press
            case "held":
                return self.held
            case "hold":
                return self.hold
            case "double":
                return self.double
            case "wait":
                return self.wait
            case "report":
                return self.report
            case _:
                assert_never(kind)

    def weigh_way(self, way: Iterable[Gesture]) -> int:
        """Weigh a way."""
        return sum(map(self.weigh, way))


def count_weighed_gestures(weight: int) -> int:
    """Return how many gestures of the hand a weight contains."""
    return weight % _WAIT // _GESTURE


def weigh_gestures(design: Design, operators: Operators) -> Weights:
    """Weigh the gestures of a design's knob."""

    def get_ms(kind: Kind) -> int:
        return round(1000 * operators.time_gesture(design, Gesture(kind, 1)).typical)

    return Weights(
        turn=_GESTURE + get_ms("turn"),
        held=_GESTURE + get_ms("held"),
        press=_GESTURE + get_ms("press"),
        hold=_GESTURE + get_ms("hold"),
        double=_GESTURE + get_ms("double"),
        wait=_WAIT + design.idle.after_ms,
    )
