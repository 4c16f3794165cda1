"""Measures a knob from a capture: its pins, wiring and bounce, and how far and how fast it was turned.

A capture is walked twice, or three times where its pins are to be chosen, in pieces; what is kept does not grow with
it. The first walk finds how long a phase may be quiet within a burst; the second one measures.
"""

from __future__ import annotations

import attrs

from knobmenu.bench.capture.bounce import Bounce, BounceMeter
from knobmenu.bench.capture.bursts import Bursts, Flags, Grouping, merge_edges
from knobmenu.bench.capture.clearance import Clearance
from knobmenu.bench.capture.doubts import Certainty, Doubt, Evidence, find_doubts
from knobmenu.bench.capture.gaps import REST_S
from knobmenu.bench.capture.grid import Grid
from knobmenu.bench.capture.pins import choose_pins
from knobmenu.bench.capture.recording import Capture
from knobmenu.bench.capture.turning import TurnMeter
from knobmenu.bench.signal import Signal


@attrs.frozen(eq=False, kw_only=True)
class Measured:
    """What a capture shows, and what it does not."""

    pin_a: str
    """Name of phase A."""
    pin_b: str
    """Name of phase B."""
    closed_is_low: bool
    """Whether a closed contact pulls the pin low, as with a pull-up; taken to be so where the rests do not tell."""
    wiring_is_determined: bool
    """Whether the rests tell so."""
    rests: tuple[int, int, int, int]
    """Rests at each code of the contacts, ``A << 1 | B``, 1 is closed. [rests]"""
    determined_detents_per_period: int
    """1, 2 or 4 as the rests tell; 0 where they do not. [detents per period]"""
    detents_per_period: int
    """The same, or as assumed where the rests do not tell. [detents per period]"""
    up: int
    """Detents turned clockwise, if A leads clockwise. [detents]"""
    down: int
    """Detents turned counter-clockwise, likewise. [detents]"""
    quarters_up: int
    """Quarter periods turned with A leading, whatever the detents. [quarters]"""
    quarters_down: int
    """Quarter periods turned with B leading. [quarters]"""
    on_make: Bounce
    """Bounce where a contact closes, both phases, of the edges that stand clear of their neighbours."""
    on_break: Bounce
    """Bounce where a contact opens, likewise."""
    bounce_is: Certainty
    """What the longest bounce is worth."""
    merged: int
    """Bursts that could not be measured, since they are too close to a neighbour. [bursts]"""
    glitches: int
    """Bursts that ended where they began. [bursts]"""
    double_changes: int
    """Changes of both phases at the same moment. [changes]"""
    fastest_periods_per_s: float
    """The fastest that the knob was turned, over one period; 0 where no whole period can be measured. [periods/s]"""
    longest_gap_s: float
    """The longest gap within a burst; 0 where the gaps do not tell. [s]"""
    quiet_s: float
    """A longer gap between two edges of a phase ends a burst. [s]"""
    longest_at_s: float | None
    """When the longest bounce that was measured begins; None where none was. [s]"""
    sample_s: float
    """The interval of the samples, where the edges lie on a grid; 0 where they do not. [s]"""
    end_s: float
    """When the capture ends. [s]"""
    doubts: tuple[Doubt, ...]
    """What the figures may be wrong about."""

    @property
    def detents(self) -> int:
        """The position at which the knob ends; clockwise is positive. [detents]"""
        return self.up - self.down

    @property
    def longest_bounce_s(self) -> float:
        """The longest bounce that was measured; `bounce_is` states how reliable it is. [s]"""
        return max(self.on_make.longest_s, self.on_break.longest_s)


LEAST_EDGES = 8
"""Real edges from which their bounce is reported: two periods. [edges]"""

UNDETERMINED_S = 0.0, REST_S
"""Longest gap within a burst and quiet time where the gaps do not tell: only what lies at rest is parted. [s, s]"""


def measure(capture: Capture, pin_a: str = "", pin_b: str = "", *, assumed_detents_per_period: int = 1) -> Measured:
    """Measure a capture.

    Args:
        capture: the capture.
        pin_a: phase A; chosen if empty.
        pin_b: phase B; chosen if empty.
        assumed_detents_per_period: 1, 2 or 4; taken where the rests do not tell. [detents per period]

    Raises:
        BenchError: a pin is not there, or fewer than two change; or the capture cannot be read.
    """
    choice = choose_pins(capture, pin_a, pin_b)
    pin_a, pin_b = choice.pins
    times_s = choice.gaps.choose_quiet_time()
    longest_gap_s, quiet_s = times_s or UNDETERMINED_S
    walk: _Walk | None = None
    end_s = 0.0
    for piece in capture.walk_pieces():
        a, b = piece.get_pin(pin_a), piece.get_pin(pin_b)
        if walk is None:
            walk = _Walk(a.first << 1 | b.first, (longest_gap_s, quiet_s), choice.gaps.shortest_s)
        walk.feed(a, b)
        end_s = piece.end_s
    assert walk is not None, "a capture has at least one piece"
    walk.end(end_s)

    meter, turns = walk.bounce, walk.turns
    both = meter.rising + meter.falling
    tight = walk.clearance.count_closer_than(both.longest_s)
    merged = max(meter.merged, tight) if tight else 0
    bounce_is: Certainty = "exact"
    if times_s is None or merged > both.edges or meter.glitches > both.edges or both.edges < LEAST_EDGES:
        bounce_is = "undetermined"
    elif merged:
        bounce_is = "at least"
    determined = turns.find_detents_per_period()
    rest_code = turns.rest_code
    # Rests at 11 alone are open contacts under a pull-up; rests at 00 alone are open contacts under a pull-down.
    # Otherwise a pull-up is assumed: most boards have one (common practice).
    open_is_low = rest_code == 0 and turns.rests[0] > 0
    closed_is_low = not (open_is_low and (determined or assumed_detents_per_period) == 1)
    up, down = turns.count_turned(determined or assumed_detents_per_period, rest_code)
    evidence = Evidence(
        pin_a=pin_a,
        pin_b=pin_b,
        rival=choice.as_good,
        edges=walk.edges,
        double_changes=walk.clearance.double_changes,
        merged=merged,
        bounce_is=bounce_is,
        longest_bounce_s=both.longest_s,
        longest_glitch_s=meter.longest_glitch_s,
        sample_s=walk.grid.interval_s,
        rests=int(turns.rests.sum()),
        determined_detents_per_period=determined,
        assumed_detents_per_period=assumed_detents_per_period,
        fastest_periods_per_s=turns.fastest_periods_per_s,
        end_s=end_s,
    )
    of_contacts = turns.rests[::-1] if closed_is_low else turns.rests
    return Measured(
        pin_a=pin_a,
        pin_b=pin_b,
        closed_is_low=closed_is_low,
        wiring_is_determined=determined == 1 and rest_code in (0, 3),
        rests=tuple(of_contacts.tolist()),
        determined_detents_per_period=determined,
        detents_per_period=determined or assumed_detents_per_period,
        up=up,
        down=down,
        quarters_up=turns.quarters[0],
        quarters_down=turns.quarters[1],
        on_make=meter.falling if closed_is_low else meter.rising,
        on_break=meter.rising if closed_is_low else meter.falling,
        bounce_is=bounce_is,
        merged=merged,
        glitches=meter.glitches,
        double_changes=walk.clearance.double_changes,
        fastest_periods_per_s=turns.fastest_periods_per_s,
        longest_gap_s=longest_gap_s,
        quiet_s=quiet_s,
        longest_at_s=meter.longest_at_s,
        sample_s=walk.grid.interval_s,
        end_s=end_s,
        doubts=find_doubts(evidence),
    )


def read_contact(pin: Signal, closed_is_low: bool) -> Signal:
    """Convert a pin's level (1 is high) to its contact's (1 is closed)."""
    return Signal(1 - pin.first if closed_is_low else pin.first, pin.changes_s)


class _Walk:
    """The second walk: from edges to bursts, and from bursts to measurements."""

    def __init__(self, code: int, times_s: tuple[float, float], shortest_s: float) -> None:
        longest_gap_s, quiet_s = times_s
        self.edges = (0, 0)
        """Edges of A and B. [edges]"""
        self._grouping = Grouping(quiet_s)
        self.clearance = Clearance(longest_gap_s)
        self.bounce = BounceMeter(code)
        self.turns = TurnMeter(code)
        self.grid = Grid(shortest_s)

    def feed(self, a: Signal, b: Signal) -> None:
        """Add the next piece of both phases."""
        at_s, pins = merge_edges(a, b)
        self.edges = (self.edges[0] + len(a.changes_s), self.edges[1] + len(b.changes_s))
        self.grid.feed(at_s)
        self._judge(*self.clearance.feed(self._grouping.feed(at_s, pins)))

    def end(self, end_s: float) -> None:
        """Finish at the end of the capture. [s]"""
        self._judge(*self.clearance.feed(self._grouping.end()))
        self._judge(*self.clearance.end(end_s))
        self.turns.end(end_s)

    def _judge(self, bursts: Bursts, clear: Flags) -> None:
        self.bounce.feed(bursts, clear)
        self.turns.feed(bursts, clear)
