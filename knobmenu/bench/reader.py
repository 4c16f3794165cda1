"""How the firmware reads the two pins: data; `knobmenu.bench.sampler` does it.

A polled loop and a timer sample at moments of their own; an interrupt samples some time after an edge. Two kinds of
blocking disturb them. Other work holds up the main loop: a round of the loop becomes longer by as much, and nothing
else is affected. Code that masks interrupts delays a timer's sample, or an interrupt's, to the end of the masked
section; a timer keeps its beat. A masked interrupt is remembered once, as interrupt flags are: many edges in a masked
section are one sample.
"""

from __future__ import annotations

from typing import Literal

import attrs

from knobmenu.bench.errors import BenchError
from knobmenu.bench.rules import Number, Word
from knobmenu.errors import Problem

ReaderKind = Literal["polled", "timer", "interrupt"]
DebounceKind = Literal["none", "lockout", "integrator", "equal"]


@attrs.frozen(kw_only=True)
class Reader:
    """How the firmware reads the pins."""

    kind: ReaderKind = attrs.field(default="polled", validator=Word(("polled", "timer", "interrupt")))
    """``polled`` by the main loop, by a ``timer``, or in an ``interrupt``."""
    period_ms: float = attrs.field(default=1.0, validator=Number(0.001, 10_000, "ms"))
    """Time between samples, of a loop or a timer. [ms]"""
    jitter_ms: float = attrs.field(default=0.0, validator=Number(0, 10_000, "ms"))
    """Each sample of a loop or a timer is late by up to this, at most a period. [ms]"""
    phases: Literal["a", "both"] = attrs.field(default="both", validator=Word(("a", "both")))
    """Which pins interrupt."""
    latency_ms: float = attrs.field(default=0.005, validator=Number(0, 1000, "ms"))
    """From an edge until an interrupt has read the pins. [ms]"""
    service_ms: float = attrs.field(default=0.005, validator=Number(0, 1000, "ms"))
    """From there until the next interrupt can be taken. [ms]"""
    blocked_for_ms: float = attrs.field(default=0.0, validator=Number(0, 60_000, "ms"))
    """How long other work blocks the main loop at a time; a timer or an interrupt is not affected. [ms]"""
    blocked_every_ms: float = attrs.field(default=0.0, validator=Number(0, 60_000, "ms"))
    """From the beginning of one such stretch to the next; 0: there are none. A loop gets round once in between. [ms]"""
    masked_for_ms: float = attrs.field(default=0.0, validator=Number(0, 60_000, "ms"))
    """How long code masks interrupts at a time, the timer's too; a polled loop is not affected. [ms]"""
    masked_every_ms: float = attrs.field(default=0.0, validator=Number(0, 60_000, "ms"))
    """From the beginning of one such section to the next; 0: there are none. [ms]"""
    debounce: DebounceKind = attrs.field(default="none", validator=Word(("none", "lockout", "integrator", "equal")))
    """In software, each phase by itself: ``lockout`` after a change, ``integrator``, or so many ``equal`` samples."""
    lockout_ms: float = attrs.field(default=5.0, validator=Number(0, 1000, "ms"))
    """How long a lock-out ignores a phase after it changed. [ms]"""
    samples: int = attrs.field(default=4, validator=Number(1, 1000, "samples", whole=True))
    """Samples that an integrator counts up and down, or that must be equal. [samples]"""

    def __attrs_post_init__(self) -> None:
        problems = []
        if self.jitter_ms > self.period_ms:
            advice = "describe a loop that is sometimes blocked for longer with blocked_for_ms and blocked_every_ms"
            expected = f"at most period_ms, {self.period_ms:g} ms"
            problems.append(Problem("jitter_ms", f"{self.jitter_ms:g} ms", expected, advice))
        for name, for_ms, every_ms in (
            ("blocked", self.blocked_for_ms, self.blocked_every_ms),
            ("masked", self.masked_for_ms, self.masked_every_ms),
        ):
            if for_ms and not every_ms:
                problems.append(Problem(f"{name}_for_ms", f"{for_ms:g} ms", f"0, or also {name}_every_ms"))
            elif for_ms > every_ms:
                expected = f"at most {name}_every_ms, {every_ms:g} ms"
                problems.append(Problem(f"{name}_for_ms", f"{for_ms:g} ms", expected))
        if self.kind == "interrupt" and self.debounce in ("integrator", "equal"):
            problems.append(
                Problem(
                    "debounce",
                    f'"{self.debounce}"',
                    '"none" or "lockout" in an interrupt',
                    "equal samples need a loop or a timer: an interrupt comes only at edges",
                )
            )
        BenchError.raise_any(problems)

    @property
    def held_up(self) -> tuple[float, float]:
        """For how long and how often that is disturbed which samples the pins, or 0 and 0. [ms, ms]"""
        if self.kind == "polled":
            return (self.blocked_for_ms, self.blocked_every_ms) if self.blocked_for_ms else (0.0, 0.0)
        return (self.masked_for_ms, self.masked_every_ms) if self.masked_for_ms else (0.0, 0.0)
