"""When the firmware looks at the two pins, and what it believes of them.

A polled loop and a timer look at moments of their own; an interrupt looks some time after an edge. Work that holds the
loop up, or a section in which interrupts are masked, puts the look off to its end. A masked interrupt is remembered
once, as interrupt flags are: many edges in the dark are one look.
"""

from __future__ import annotations

from typing import Literal

import attrs
import numpy as np

from knobmenu.bench.signal import Bytes, Floats, Signal, codes, moments

ReaderKind = Literal["polled", "timer", "interrupt"]
DebounceKind = Literal["none", "lockout", "integrator", "equal"]


@attrs.frozen(kw_only=True)
class Reader:
    """How the firmware reads the pins."""

    kind: ReaderKind = "polled"
    """``polled`` by the main loop, by a ``timer``, or in an ``interrupt``."""
    period_ms: float = 1.0
    """Time between looks, of a loop or a timer. [ms]"""
    jitter_ms: float = 0.0
    """Each look of a loop or a timer is late by up to this. [ms]"""
    phases: Literal["a", "both"] = "both"
    """Which pins interrupt."""
    latency_ms: float = 0.005
    """From an edge until an interrupt has read the pins. [ms]"""
    service_ms: float = 0.005
    """From there until the next interrupt can be taken. [ms]"""
    blocked_for_ms: float = 0.0
    """How long other work stops the loop, or masks timer and interrupts, at a stretch. [ms]"""
    blocked_every_ms: float = 0.0
    """From the beginning of one such stretch to the next; 0: there are none. [ms]"""
    debounce: DebounceKind = "none"
    """In software, each phase by itself: ``lockout`` after a change, ``integrator``, or so many ``equal`` looks."""
    lockout_ms: float = 5.0
    """How long a lock-out ignores a phase after it changed. [ms]"""
    looks: int = 4
    """Looks that an integrator counts up and down, or that must be equal. [looks]"""


def read(reader: Reader, a: Signal, b: Signal, end_s: float, generator: np.random.Generator) -> tuple[Floats, Bytes]:
    """Read two pins from power-on to the end.

    Args:
        reader: how.
        a: phase A as the pin sees it, 1 while closed.
        b: phase B.
        end_s: when to stop. [s]
        generator: draws where in its period the reader begins, and its jitter.

    Returns:
        The moments of the looks, and the code that is believed at each.
    """
    if reader.kind == "interrupt":
        at_s = _interrupts(reader, a, b, end_s, generator)
    else:
        at_s = _looks(reader, end_s, generator)
    seen = codes(a, b, at_s)
    first = a.first << 1 | b.first
    if reader.debounce != "none":
        believe = (
            _lock_out if reader.debounce == "lockout" else _integrate if reader.debounce == "integrator" else _equal
        )
        phase_a = believe(reader, at_s, (seen >> 1).tolist(), first >> 1)
        phase_b = believe(reader, at_s, (seen & 1).tolist(), first & 1)
        seen = (np.array(phase_a, dtype=np.uint8) << 1 | np.array(phase_b, dtype=np.uint8)).astype(np.uint8)
    return at_s, seen


def _blocked_until(reader: Reader, at_s: Floats, offset_s: float) -> Floats:
    """Put moments that fall into a blocked stretch off to its end; `offset_s` is where the first stretch begins."""
    if not reader.blocked_every_ms or not reader.blocked_for_ms:
        return at_s
    every_s, length_s = reader.blocked_every_ms / 1000, reader.blocked_for_ms / 1000
    into_s = np.mod(at_s - offset_s, every_s)
    return np.where(into_s < length_s, at_s - into_s + length_s, at_s)


def _looks(reader: Reader, end_s: float, generator: np.random.Generator) -> Floats:
    period_s = reader.period_ms / 1000
    offset_s = float(generator.uniform(0, max(reader.blocked_every_ms, 1.0) / 1000))
    at_s = np.arange(float(generator.uniform(0, period_s)), end_s, period_s)
    if reader.jitter_ms:
        # A look cannot be overtaken by the next one.
        at_s = np.sort(at_s + generator.uniform(0, reader.jitter_ms / 1000, len(at_s)))
    return np.unique(_blocked_until(reader, at_s, offset_s))


def _interrupts(reader: Reader, a: Signal, b: Signal, end_s: float, generator: np.random.Generator) -> Floats:
    offset_s = float(generator.uniform(0, max(reader.blocked_every_ms, 1.0) / 1000))
    pins = (a,) if reader.phases == "a" else (a, b)
    edges_s = moments(*pins)
    edges_s = edges_s[edges_s < end_s]
    latency_s, service_s = reader.latency_ms / 1000, reader.service_ms / 1000
    ready_s = _blocked_until(reader, edges_s, offset_s)
    served_s, free_s = [], -np.inf
    # Edges that come before the look that an earlier one asked for are seen by that very look. One that comes later,
    # while the handler is still at work, is remembered and asks for one more.
    look_s = -np.inf
    for edge, ready in zip(edges_s.tolist(), ready_s.tolist(), strict=True):
        if edge <= look_s:
            continue
        look_s = max(ready, free_s) + latency_s
        free_s = look_s + service_s
        served_s.append(look_s)
    return np.array(served_s)


def _lock_out(reader: Reader, at_s: Floats, levels: list[int], first: int) -> list[int]:
    believed, free_s, told = first, -np.inf, []
    lockout_s = reader.lockout_ms / 1000
    for now, level in zip(at_s.tolist(), levels, strict=True):
        if level != believed and now >= free_s:
            believed, free_s = level, now + lockout_s
        told.append(believed)
    return told


def _integrate(reader: Reader, at_s: Floats, levels: list[int], first: int) -> list[int]:
    believed, sum_of, told = first, first * reader.looks, []
    for level in levels:
        sum_of = min(sum_of + 1, reader.looks) if level else max(sum_of - 1, 0)
        if sum_of == 0:
            believed = 0
        elif sum_of == reader.looks:
            believed = 1
        told.append(believed)
    return told


def _equal(reader: Reader, at_s: Floats, levels: list[int], first: int) -> list[int]:
    believed, before, run, told = first, first, reader.looks, []
    for level in levels:
        run = run + 1 if level == before else 1
        before = level
        if run >= reader.looks:
            believed = level
        told.append(believed)
    return told
