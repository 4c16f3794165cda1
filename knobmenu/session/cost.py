"""The user's effort since home: detents, presses and time."""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from knobmenu.events import DoublePress, Event, HeldTurn, LongPress, Press, Turn
from knobmenu.machine.state import Mode, State
from knobmenu.structure import Structure


@attrs.frozen(repr=False)
class Cost(Structure):
    """The user's effort since the device was last at home; leaving home clears what was turned there."""

    detents: int = 0
    presses: int = 0
    long_presses: int = 0
    from_ms: int = 0
    """Time of the user's first event. [ms since power-on]"""
    to_ms: int = 0
    """Time of the user's last event. [ms since power-on]"""
    came_home: bool = True
    """Whether the device is home again; the user's next event then starts a new count."""

    @property
    def lasted_ms(self) -> int:
        """Time from the user's first event to the last. [ms]"""
        return self.to_ms - self.from_ms


_PRESSES: Mapping[type[Event], tuple[int, int]] = {Press: (1, 0), DoublePress: (2, 0), LongPress: (0, 1)}


def add_cost(cost: Cost, before: State, event: Event, after: State) -> Cost:
    """Add an event to the effort since home."""
    came_home = after.mode is Mode.HOME and before.mode is not Mode.HOME
    detents = abs(event.detents) if isinstance(event, Turn | HeldTurn) else 0
    presses, long_presses = _PRESSES.get(type(event), (0, 0))
    if not (detents or presses or long_presses):
        return attrs.evolve(cost, came_home=True) if came_home else cost
    leaves_home = before.mode is Mode.HOME and after.mode is not Mode.HOME
    if cost.came_home or leaves_home:
        cost = Cost(from_ms=event.at_ms)
    return Cost(
        cost.detents + detents,
        cost.presses + presses,
        cost.long_presses + long_presses,
        cost.from_ms,
        event.at_ms,
        came_home,
    )


def list_counts(cost: Cost) -> list[tuple[int, str]]:
    """Return how often the user did what, with the word for it; long presses only where there were some."""
    counts = [(cost.detents, "detent", "detents"), (cost.presses, "press", "presses")]
    if cost.long_presses:
        counts.append((cost.long_presses, "long", "long"))
    return [(number, one if number == 1 else many) for number, one, many in counts]


def format_lasted(cost: Cost) -> str:
    """Write how long it took."""
    return f"{cost.lasted_ms / 1000:.1f} s"
