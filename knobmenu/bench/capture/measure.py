"""What a capture says of a knob: which pins, how it is wired, how it bounces, how fast it was turned.

A capture is walked once, or once more where its pins are to be found out, in pieces; what is kept does not grow with
it.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.capture.bursts import Bounce, Bursts
from knobmenu.bench.capture.recording import Capture
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.errors import BenchError
from knobmenu.bench.signal import Bytes, Floats, Signal, codes, moments
from knobmenu.design.hardware import Knob
from knobmenu.errors import Problem, one_of
from knobmenu.knob import quadrature

QUIET_S = 0.004
"""After so long without an edge a burst is over; longer than most contacts' gaps, shorter than a fast quarter. [s]"""

REST_S = 0.1
"""After so long without an edge the knob rests. [s]"""


@attrs.frozen(eq=False, kw_only=True)
class Measured:
    """What a capture says."""

    pin_a: str
    """Name of phase A."""
    pin_b: str
    """Name of phase B."""
    closed_is_low: bool
    """Whether a closed contact pulls the pin low, judged by where the knob rests; with a pull-up it does."""
    rest_codes: tuple[int, ...]
    """Codes at which the knob rested, ``A << 1 | B``, 1 is closed."""
    detents_per_period: int
    """1, 2 or 4; 0 where the capture holds too few rests to say."""
    up: int
    """Detents turned clockwise, if A leads clockwise, by the transition table, from rest to rest. [detents]"""
    down: int
    """Detents turned counter-clockwise, likewise. [detents]"""
    on_make: Bounce
    """Bounce where a contact closes, both phases."""
    on_break: Bounce
    """Bounce where a contact opens, both phases."""
    glitches: int
    """Bursts that ended where they began. [bursts]"""
    fastest_periods_per_s: float
    """The fastest that the knob was turned, over one period; 0 where it was not. [periods/s]"""
    end_s: float
    """When the capture ends. [s]"""

    @property
    def detents(self) -> int:
        """Where the knob ends; clockwise is positive. [detents]"""
        return self.up - self.down


def phases(capture: Capture) -> tuple[str, str]:
    """Name the two pins that are most likely the phases: those that change most, the first of them by name as A.

    Raises:
        BenchError: fewer than two pins change.
    """
    changes: Counter[str] = Counter()
    for piece in capture.pieces():
        changes.update({name: len(pin.changes_s) for name, pin in piece.pins.items() if len(pin.changes_s)})
    if len(changes) < 2:
        found = one_of(changes) if changes else "no pin that changes"
        raise BenchError([Problem("pins", found, "at least two pins that change", "capture while the knob is turned")])
    first, second = sorted(name for name, _ in changes.most_common(2))
    return first, second


def measure(
    capture: Capture, pin_a: str = "", pin_b: str = "", *, quiet_s: float = QUIET_S, rest_s: float = REST_S
) -> Measured:
    """Measure a capture.

    Args:
        capture: the capture.
        pin_a: phase A; found out if empty.
        pin_b: phase B; found out if empty.
        quiet_s: when a burst is over. [s]
        rest_s: when the knob rests. [s]

    Raises:
        BenchError: a pin is not there, or fewer than two change; or the capture cannot be read.
    """
    guess_a, guess_b = phases(capture) if not (pin_a and pin_b) else (pin_a, pin_b)
    pin_a, pin_b = pin_a or guess_a, pin_b or guess_b
    bursts: list[Bursts] = []
    walk: _Walk | None = None
    end_s = 0.0
    for piece in capture.pieces():
        a, b = piece.pin(pin_a), piece.pin(pin_b)
        if walk is None:
            walk = _Walk(a.first << 1 | b.first, rest_s)
            bursts = [Bursts(pin.first, quiet_s) for pin in (a, b)]
        walk.take(a, b)
        for one, pin in zip(bursts, (a, b), strict=True):
            one.take(pin.changes_s)
        end_s = piece.end_s
    assert walk is not None, "a capture has at least one piece"
    walk.end(end_s)
    for one in bursts:
        one.end()
    # Rests at 11 alone are open contacts under a pull-up; rests at 00 alone are open contacts under a pull-down. Both,
    # or none, do not tell: a pull-up is what most boards have (common practice).
    closed_is_low = not (walk.rests[0] and not walk.rests[3])
    rests = walk.rests[::-1] if closed_is_low else walk.rests
    # A hand that stops between two detents now and then is no detent.
    rest_codes = tuple(code for code in range(4) if rests[code] and rests[code] * 20 >= sum(rests))
    detents_per_period = len(rest_codes) if len(rest_codes) in (1, 2, 4) else 0
    up, down = walk.turned(closed_is_low, detents_per_period or 1)
    rising, falling = (bursts[0].rising + bursts[1].rising), (bursts[0].falling + bursts[1].falling)
    return Measured(
        pin_a=pin_a,
        pin_b=pin_b,
        closed_is_low=closed_is_low,
        rest_codes=rest_codes,
        detents_per_period=detents_per_period,
        up=up,
        down=down,
        on_make=falling if closed_is_low else rising,
        on_break=rising if closed_is_low else falling,
        glitches=sum(one.glitches for one in bursts),
        fastest_periods_per_s=1 / min(one.shortest_period_s for one in bursts),
        end_s=end_s,
    )


def closed(pin: Signal, closed_is_low: bool) -> Signal:
    """Turn a pin's level, 1 is high, into its contact's, 1 is closed."""
    return Signal(1 - pin.first if closed_is_low else pin.first, pin.changes_s)


def fit(measured: Measured) -> Contact:
    """Make a contact that bounces as the captured one did."""
    return Contact(on_make=_fit(measured.on_make), on_break=_fit(measured.on_break))


def nearest_preset(measured: Measured) -> str:
    """Name the preset that covers the captured bursts and no more, or the longest one there is."""
    longest_ms = 1000 * max(measured.on_make.longest_s, measured.on_break.longest_s)
    if not longest_ms:
        return "clean"
    reach = {name: preset.on_make.longest_ms for name, preset in PRESETS.items() if preset.on_make is not None}
    enough = [name for name in reach if reach[name] >= longest_ms * 0.999]
    return min(enough, key=lambda name: reach[name]) if enough else max(reach, key=lambda name: reach[name])


def _fit(bounce: Bounce) -> Burst | None:
    if not bounce.bounced:
        return None
    return Burst(
        mean_ms=bounce.mean_s * 1000,
        longest_ms=bounce.longest_s * 1000,
        bounces=bounce.bounces / bounce.bounced,
        clean_share=1 - bounce.bounced / bounce.edges,
    )


class _Walk:
    """Both phases so far: where they rest, and what each form of the transition table makes of them.

    How the contacts are wired and how many detents are in a period is known only at the end, so every table decodes,
    for open pins that are low and for open pins that are high. The table needs no debouncing: it sees every edge.
    """

    def __init__(self, code: int, rest_s: float) -> None:
        self._code = code
        self._rest_s = rest_s
        self._last_s = 0.0
        self.rests = [0, 0, 0, 0]
        """How often the pins rested at each code; of the pins, 1 is high."""
        self._decoders = {
            (low, form): _Decoder(form, code ^ 3 if low else code)
            for low in (False, True)
            for form in quadrature.TABLES
        }

    def take(self, a: Signal, b: Signal) -> None:
        """Go on by a piece."""
        at_s = moments(a, b)
        seen = codes(a, b, at_s)
        if not len(at_s):
            return
        rested = np.flatnonzero(self._rest(np.append(self._code, seen[:-1]), np.diff(at_s, prepend=self._last_s)))
        self._last_s, self._code = float(at_s[-1]), int(seen[-1])
        for (low, _), decoder in self._decoders.items():
            decoder.take((seen ^ 3 if low else seen).astype(np.uint8), rested)

    def end(self, end_s: float) -> None:
        """Come to the end of the capture. [s]"""
        self._rest(np.array([self._code]), np.array([end_s - self._last_s]))

    def turned(self, closed_is_low: bool, detents_per_period: int) -> tuple[int, int]:
        """Give the detents up and down that one form of the table has told. [detents]"""
        decoder = self._decoders[closed_is_low, detents_per_period]
        return decoder.up + max(decoder.moving, 0), decoder.down + max(-decoder.moving, 0)

    def _rest(self, held: NDArray[np.integer[Any]], for_s: Floats) -> NDArray[np.bool_]:
        """Count the codes that were held for long enough, and say which those were."""
        rested = for_s >= self._rest_s
        for code in held[rested].tolist():
            self.rests[code] += 1
        return rested


class _Decoder:
    """One form of the transition table, and what it told from rest to rest."""

    def __init__(self, detents_per_period: int, code: int) -> None:
        self._knob = Knob(pulses_per_turn=1, detents_per_period=detents_per_period, detents_per_turn=detents_per_period)
        self._state = quadrature.start(self._knob, code >> 1, code & 1)
        self.up = self.down = 0
        self.moving = 0
        """Told since the last rest, signed. [detents]"""

    def take(self, seen: Bytes, rested: NDArray[np.intp]) -> None:
        """Go on by codes; before some of them the knob had rested."""
        self._state, told = quadrature.decode(self._knob, self._state, seen.tobytes())
        told_by = np.concatenate(([0], np.cumsum(told)))
        moves = np.diff(told_by[rested], prepend=-self.moving)
        self.up += int(moves[moves > 0].sum())
        self.down -= int(moves[moves < 0].sum())
        self.moving = int(told_by[-1] - told_by[rested[-1]]) if len(rested) else self.moving + int(told_by[-1])
