"""What a capture says of a knob: which pins, how it is wired, how it bounces, how fast it was turned.

Edges of one pin that follow each other within the quiet time belong to one burst. A burst with an odd number of edges
is a real edge with its bounce; one with an even number is a glitch that ends where it began.
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.capture.recording import Recording
from knobmenu.bench.contact import PRESETS, Burst, Contact
from knobmenu.bench.decoder import decode
from knobmenu.bench.encoder import Encoder
from knobmenu.bench.errors import BenchError
from knobmenu.bench.signal import Floats, Signal, codes, moments
from knobmenu.errors import Problem, one_of

QUIET_S = 0.004
"""After so long without an edge a burst is over; longer than most contacts' gaps, shorter than a fast quarter. [s]"""

REST_S = 0.1
"""After so long without an edge the knob rests. [s]"""


@attrs.frozen(eq=False, kw_only=True)
class Bounce:
    """The bursts of one pin at one kind of edge."""

    lengths_s: Floats
    """From the first edge of each real edge's burst to its last; 0 where it was clean. [s]"""
    bounces: NDArray[np.int64]
    """How often the contact parted or met again in each. [unitless]"""

    @property
    def longest_s(self) -> float:
        """The longest burst; 0 if there was none. [s]"""
        return float(self.lengths_s.max(initial=0.0))


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
    detents: int
    """Where the clean phases end, by the transition table; clockwise is positive, if A leads clockwise. [detents]"""
    on_make: Bounce
    """Bounce where a contact closes, both phases."""
    on_break: Bounce
    """Bounce where a contact opens, both phases."""
    glitches: int
    """Bursts that ended where they began. [bursts]"""
    fastest_periods_per_s: float
    """The fastest that the knob was turned, over one period; 0 where it was not. [periods/s]"""
    clean: tuple[Signal, Signal]
    """Phases A and B without bounce, 1 is closed; each edge is where its burst begins."""


def phases(recording: Recording) -> tuple[str, str]:
    """Name the two pins that are most likely the phases: those that change most, the first of them by name as A.

    Raises:
        BenchError: fewer than two pins change.
    """
    active = [name for name, pin in recording.pins.items() if len(pin.changes_s)]
    if len(active) < 2:
        found = one_of(active) if active else "no pin that changes"
        raise BenchError([Problem("pins", found, "at least two pins that change", "capture while the knob is turned")])
    most = sorted(active, key=lambda name: -len(recording.pins[name].changes_s))[:2]
    first, second = sorted(most)
    return first, second


def measure(
    recording: Recording, pin_a: str = "", pin_b: str = "", *, quiet_s: float = QUIET_S, rest_s: float = REST_S
) -> Measured:
    """Measure a capture.

    Args:
        recording: the capture.
        pin_a: phase A; found out if empty.
        pin_b: phase B; found out if empty.
        quiet_s: when a burst is over. [s]
        rest_s: when the knob rests. [s]

    Raises:
        BenchError: a pin is not there, or never changes.
    """
    guess_a, guess_b = phases(recording) if not (pin_a and pin_b) else (pin_a, pin_b)
    pin_a, pin_b = pin_a or guess_a, pin_b or guess_b
    raw = (recording.pin(pin_a), recording.pin(pin_b))
    low, high = _rests(*raw, recording.end_s, rest_s)
    # Rests at 11 alone are open contacts under a pull-up; rests at 00 alone are open contacts under a pull-down. Both,
    # or none, do not tell: a pull-up is what most boards have (common practice).
    closed_is_low = not (low and not high)
    both = tuple(closed(pin, closed_is_low) for pin in raw)
    bursts = [_bursts(pin, quiet_s) for pin in both]
    clean = (bursts[0].clean, bursts[1].clean)
    rests = _rest_codes(*clean, recording.end_s, rest_s)
    detents_per_period = {1: 1, 2: 2, 4: 4}.get(len(rests), 0)
    return Measured(
        pin_a=pin_a,
        pin_b=pin_b,
        closed_is_low=closed_is_low,
        rest_codes=rests,
        detents_per_period=detents_per_period,
        detents=_detents(clean, detents_per_period or 1),
        on_make=_gather(bursts, closing=True),
        on_break=_gather(bursts, closing=False),
        glitches=sum(one.glitches for one in bursts),
        fastest_periods_per_s=max((_fastest(pin) for pin in clean), default=0.0),
        clean=clean,
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


@attrs.frozen(eq=False)
class _Bursts:
    clean: Signal
    lengths_s: Floats
    bounces: NDArray[np.int64]
    closing: NDArray[np.bool_]
    glitches: int


def _bursts(pin: Signal, quiet_s: float) -> _Bursts:
    at_s = pin.changes_s
    if not len(at_s):
        none = np.zeros(0)
        return _Bursts(pin, none, none.astype(np.int64), none.astype(np.bool_), 0)
    begins = np.flatnonzero(np.concatenate(([True], np.diff(at_s) > quiet_s)))
    ends = np.append(begins[1:], len(at_s)) - 1
    real = (ends - begins) % 2 == 0
    begin, end = begins[real], ends[real]
    closing = (np.arange(len(begin)) + pin.first) % 2 == 0
    return _Bursts(
        Signal(pin.first, at_s[begin]), at_s[end] - at_s[begin], (end - begin) // 2, closing, int((~real).sum())
    )


def _gather(bursts: list[_Bursts], *, closing: bool) -> Bounce:
    which = [one.closing == closing for one in bursts]
    return Bounce(
        lengths_s=np.concatenate([one.lengths_s[here] for one, here in zip(bursts, which, strict=True)]),
        bounces=np.concatenate([one.bounces[here] for one, here in zip(bursts, which, strict=True)]),
    )


def _fit(bounce: Bounce) -> Burst | None:
    bouncing = bounce.lengths_s > 0
    if not bouncing.any():
        return None
    return Burst(
        mean_ms=float(bounce.lengths_s[bouncing].mean()) * 1000,
        longest_ms=bounce.longest_s * 1000,
        bounces=float(bounce.bounces[bouncing].mean()),
        clean_share=float(1 - bouncing.mean()),
    )


def _quiet_moments(a: Signal, b: Signal, end_s: float, rest_s: float) -> Floats:
    edges = np.concatenate(([0.0], moments(a, b), [end_s]))
    return edges[:-1][np.diff(edges) >= rest_s]


def _rests(a: Signal, b: Signal, end_s: float, rest_s: float) -> tuple[bool, bool]:
    """Say whether the pins rest both low, and both high."""
    seen = codes(a, b, _quiet_moments(a, b, end_s, rest_s))
    return bool((seen == 0).any()), bool((seen == 3).any())


def _rest_codes(a: Signal, b: Signal, end_s: float, rest_s: float) -> tuple[int, ...]:
    seen, times = np.unique(codes(a, b, _quiet_moments(a, b, end_s, rest_s)), return_counts=True)
    # A hand that stops between two detents now and then is no detent.
    return tuple(int(code) for code, number in zip(seen, times, strict=True) if number * 20 >= times.sum())


def _fastest(pin: Signal) -> float:
    periods_s = pin.changes_s[2:] - pin.changes_s[:-2]
    return float(1 / periods_s.min()) if len(periods_s) else 0.0


def _detents(clean: tuple[Signal, Signal], detents_per_period: int) -> int:
    at_s = moments(*clean)
    first = clean[0].first << 1 | clean[1].first
    part = Encoder(detents_per_period=detents_per_period)
    return int(decode("table", part, first, at_s, codes(*clean, at_s))[1].sum())
