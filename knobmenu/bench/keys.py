"""What each key of a chain's file may be."""

from __future__ import annotations

import math

import attrs

from knobmenu.bench.contact import PRESETS
from knobmenu.errors import one_of

MOST_DETENTS = 200_000
"""Most detents of one run, for the sake of memory: 100000 that bounce for 30 ms take about 350 MB. [detents]"""


@attrs.frozen
class Number:
    """A finite number within bounds."""

    low: float
    """At least this, or above it."""
    high: float
    """At most this."""
    unit: str = ""
    """What it is counted in, for errors."""
    above: bool = False
    """Whether `low` itself is refused."""
    whole: bool = False
    """Whether it has to be whole."""
    advice: str = ""
    """What to say to whoever got it wrong."""

    def fault(self, value: object) -> str:
        """Say what is allowed instead of a value, or nothing where it may be."""
        kinds = int if self.whole else (int, float)
        if (
            isinstance(value, bool)
            or not isinstance(value, kinds)
            or not math.isfinite(value)
            or not self.low <= value <= self.high
            or (self.above and value == self.low)
        ):
            number = "a whole number" if self.whole else "a number"
            low = f"above {self.low:.10g} and at most" if self.above else f"from {self.low:.10g} to"
            return f"{number} {low} {self.high:.10g}{' ' + self.unit if self.unit else ''}"
        return ""


@attrs.frozen
class Word:
    """One of a few words."""

    words: tuple[str, ...]
    """The words."""

    def fault(self, value: object) -> str:
        """Say what is allowed instead of a value, or nothing where it may be."""
        return "" if value in self.words and isinstance(value, str) else one_of(self.words)


@attrs.frozen
class Numbers:
    """A list of numbers, such as a recording."""

    def fault(self, value: object) -> str:
        """Say what is allowed instead of a value, or nothing where it may be."""
        number = Number(-1e6, 1e9)
        good = isinstance(value, list) and len(value) <= 100_000 and not any(number.fault(one) for one in value)
        return "" if good else "a list of numbers, 100000 at most"


Rule = Number | Word | Numbers
"""What a key may be."""

_BURST: dict[str, Rule] = {
    "mean_ms": Number(0, 1000, "ms", above=True),
    "longest_ms": Number(0, 1000, "ms", above=True),
    "bounces": Number(1, 100),
    "clean_share": Number(0, 1),
}

SECTIONS: dict[str, dict[str, Rule]] = {
    "turning": {
        "kind": Word(("steady", "flicks", "reversals", "dither", "recorded")),
        "turns_per_s": Number(0, 100, "turns/s", above=True),
        "detents": Number(-MOST_DETENTS, MOST_DETENTS, "detents", whole=True),
        "recorded_ms": Numbers(),
        "recorded_detents": Numbers(),
    },
    "encoder": {
        "pulses_per_turn": Number(1, 250, whole=True),
        "detents_per_period": Number(1, 4, whole=True),
        "phase_error_deg": Number(-80, 80, "degrees"),
        "dwell_tolerance_deg": Number(0, 40, "degrees"),
    },
    "contact": {
        "preset": Word(tuple(PRESETS)),
        **_BURST,
        **{f"break_{key}": rule for key, rule in _BURST.items()},
    },
    "filter": {
        "supply_v": Number(0, 60, "V", above=True),
        "pull_up_ohm": Number(0, 1e9, "ohm", above=True),
        "series_ohm": Number(0, 1e9, "ohm"),
        "capacitor_f": Number(0, 1, "F", advice="100 nF is 100e-9"),
        "contact_ohm": Number(0, 1e6, "ohm", above=True),
        "rising_v": Number(0, 60, "V", above=True),
        "falling_v": Number(0, 60, "V", above=True),
    },
    "reader": {
        "kind": Word(("polled", "timer", "interrupt")),
        "period_ms": Number(0.001, 10_000, "ms"),
        "jitter_ms": Number(0, 10_000, "ms"),
        "phases": Word(("a", "both")),
        "latency_ms": Number(0, 1000, "ms"),
        "service_ms": Number(0, 1000, "ms"),
        "blocked_for_ms": Number(0, 60_000, "ms"),
        "blocked_every_ms": Number(0, 60_000, "ms"),
        "debounce": Word(("none", "lockout", "integrator", "equal")),
        "lockout_ms": Number(0, 1000, "ms"),
        "looks": Number(1, 1000, "looks", whole=True),
    },
    "pressing": {
        "preset": Word(tuple(PRESETS)),
        "presses": Number(1, 10_000, "presses", whole=True),
        "shortest_ms": Number(1, 10_000, "ms"),
        "longest_ms": Number(1, 10_000, "ms"),
        "apart_ms": Number(1, 10_000, "ms"),
        "long_press_ms": Number(50, 10_000, "ms", whole=True),
    },
    "decoder": {"kind": Word(("one-edge", "two-edges", "table"))},
    "judging": {
        "seeds": Number(2, 1000, "runs", whole=True),
        "first_seed": Number(0, 2**31 - 1, whole=True),
        "error_share": Number(0, 1, above=True),
    },
}
"""Every section of a chain's file, its keys, and what each may be."""
