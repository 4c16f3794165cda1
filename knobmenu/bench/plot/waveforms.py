"""A run from the hand to the count: what was turned, contacts, voltages, pins, samples and counts."""

from __future__ import annotations

import numpy as np

from knobmenu.bench import pin
from knobmenu.bench.excerpt import Slip
from knobmenu.bench.figures import format_number
from knobmenu.bench.plot import svg
from knobmenu.bench.plot.svg import FAINT, INK, LEFT, PHASE_A, PHASE_B, RIGHT, WIDTH, WRONG, Shade, TimeScale
from knobmenu.bench.randomness import Source
from knobmenu.bench.run import Run
from knobmenu.bench.schedule import find_held_up_s
from knobmenu.bench.scope import View, reach_detents
from knobmenu.bench.signal import Signal

_TOP = 78.0
"""Where the rows begin. [px]"""
_TURNED, _LOGIC, _VOLTS = 44, 30, 90
"""How high the rows are. [px]"""


def draw_waveforms(done: Run, slips: tuple[Slip, ...], view: View) -> str:
    """Draw what happened in a part of a run, with its first error marked.

    Args:
        done: the run.
        slips: its errors.
        view: the part.

    Returns:
        A whole SVG document.
    """
    scale = TimeScale(view.begin_s, view.end_s)
    drawn: list[str] = []
    top = _draw_turning(drawn, done, slips, scale, _TOP)
    top = _draw_logic(drawn, "contact", ("up: open", "down: closed"), done.contacts, scale, top)
    top = _draw_voltages(drawn, done, scale, top)
    top = _draw_logic(drawn, "pin", ("up: high", "down: low"), done.pins, scale, top)
    drawn += svg.draw_label(top + 10, "samples", "that follow an edge")
    drawn.append(scale.draw_ticks(done.counting.samples_s, top, 16))
    if not len(scale.select_inside(done.counting.samples_s)):
        drawn.append(svg.draw_text(LEFT + 4, top + 12, "none in this time", size=10, fill=FAINT))
    top += 34
    drawn += svg.draw_label(top + 14, "counted", "hollow: wrong; net count")
    drawn += scale.draw_counts(
        done.counting.counted_s, done.counting.counted.tolist(), _find_wrong(done, slips), top + 14
    )
    top += 54
    shade, words = _choose_shade(done)
    shaded = scale.shade(find_held_up_s(done.chain.reader, done.seed, view.begin_s, view.end_s), shade, _TOP - 8, top)
    first = _draw_first_error(slips[:1], scale, top)
    explained = svg.draw_key([(shade, words)], 46) if words else []
    return svg.draw_document(
        _write_title(done), _write_remark(slips), top + 40, [*shaded, *scale.draw(66, top), *first, *drawn, *explained]
    )


def _write_title(done: Run) -> str:
    chain = done.chain
    parts = "" if done.corner.a == done.corner.b == chain.filter else f", {done.corner.name}"
    return (
        f"{chain.encoder.detents_per_turn} detents at {done.turns_per_s:g} turns/s, {chain.reader.kind} reader,"
        f" {chain.decoder} decoder{parts}"
    )


def _write_remark(slips: tuple[Slip, ...]) -> str:
    if not slips:
        return "no error in this run"
    more = f", the first of {len(slips)} errors of this run" if len(slips) > 1 else ""
    return f"{slips[0].words}, {format_number(slips[0].at_s * 1000, 4)} ms from power-on{more}"


def _choose_shade(done: Run) -> tuple[Shade, str]:
    """Return the shade of disturbed time and its label; the label is empty if there is none."""
    reader = done.chain.reader
    if not reader.held_up[0]:
        return "blocked", ""
    return ("blocked", "main loop blocked") if reader.kind == "polled" else ("masked", "interrupts masked")


def _draw_first_error(slips: tuple[Slip, ...], scale: TimeScale, bottom: float) -> list[str]:
    drawn = []
    for slip in slips:
        if scale.begin_s <= slip.at_s <= scale.end_s:
            x = scale.find_x(slip.at_s)
            drawn.append(svg.draw_line(x, 62, x, bottom, stroke=WRONG, width=1.4, dashes="2 3"))
    return drawn


def _find_wrong(done: Run, slips: tuple[Slip, ...]) -> list[bool]:
    wrong_s = {slip.at_s for slip in slips if slip.kind != "lost"}
    return [at_s in wrong_s for at_s in done.counting.counted_s.tolist()]


def _draw_turning(drawn: list[str], done: Run, slips: tuple[Slip, ...], scale: TimeScale, top: float) -> float:
    """Draw the angle of the hand, with a dot at each detent, hollow if lost."""
    drawn += svg.draw_label(top + 16, "turned", "detents; hollow: lost")
    motion = done.motion
    at_s = np.unique(np.concatenate(([scale.begin_s, scale.end_s], scale.select_inside(motion.at_s))))
    angle = np.interp(at_s, motion.at_s, motion.detents) - motion.detents[0]
    low, high = float(angle.min()), float(angle.max())
    middle, span = (low + high) / 2, max(high - low, 1.0)

    def find_y(detents: float) -> float:
        return top + _TURNED * (0.5 - (detents - middle) / span * 0.8)

    points = " ".join(
        f"{scale.find_x(at):.1f},{find_y(detents):.1f}"
        for at, detents in zip(at_s.tolist(), angle.tolist(), strict=True)
    )
    drawn.append(f'<polyline points="{points}" fill="none" stroke="{FAINT}" stroke-width="1.2"/>')
    lost = {slip.detent for slip in slips if slip.kind == "lost"}
    lost_s = {slip.at_s for slip in slips if slip.kind == "lost"}
    last = -np.inf
    for moment_s, detent in reach_detents(motion):
        if not scale.begin_s <= moment_s <= scale.end_s:
            continue
        x, is_lost = scale.find_x(moment_s), moment_s in lost_s and detent in lost
        look = f'fill="#ffffff" stroke="{WRONG}" stroke-width="2"' if is_lost else f'fill="{INK}"'
        drawn.append(f'<circle cx="{x:.1f}" cy="{find_y(detent):.1f}" r="4" {look}/>')
        if x - last > 20:
            drawn.append(svg.draw_text(x - 7, find_y(detent) - 5, str(detent), anchor="end", size=11, halo=True))
            last = x
    return top + _TURNED + 18


def _draw_logic(
    drawn: list[str],
    name: str,
    words: tuple[str, str],
    closed: tuple[Signal, Signal],
    scale: TimeScale,
    top: float,
) -> float:
    for phase, signal, colour in zip("AB", closed, (PHASE_A, PHASE_B), strict=True):
        drawn += svg.draw_label(top + _LOGIC / 2, f"{name} {phase}", ", ".join(words))
        # A closed contact is 1 and pulls its pin low.
        drawn.append(scale.draw_steps(Signal(1 - signal.first, signal.changes_s), top, _LOGIC, colour))
        top += _LOGIC + 16
    return top + 8


def _draw_voltages(drawn: list[str], done: Run, scale: TimeScale, top: float) -> float:
    if not done.chain.filter.capacitor_f:
        return top
    across_s = np.linspace(scale.begin_s, scale.end_s, 1600)
    sources = (Source.NOISE_A, Source.NOISE_B)
    for phase, contact, parts, colour, source in zip(
        "AB", done.contacts, (done.corner.a, done.corner.b), (PHASE_A, PHASE_B), sources, strict=True
    ):
        moments_s = np.unique(np.concatenate((across_s, scale.select_inside(contact.changes_s)[:4000])))
        volts = pin.compute_voltage(parts, contact, moments_s, done.seed, source)
        drawn += svg.draw_label(top + _VOLTS / 2, f"voltage {phase}", f"0 to {parts.supply_v:g} V")
        thresholds = {parts.rising_v: "rising", parts.falling_v: "falling"}
        if len(thresholds) == 1:
            thresholds = {parts.rising_v: "threshold"}
        for threshold_v, words in thresholds.items():
            y = top + _VOLTS * (1 - threshold_v / parts.supply_v)
            drawn.append(svg.draw_line(LEFT, y, WIDTH - RIGHT, y, stroke=FAINT, width=0.8, dashes="5 4"))
            below = 12 if words == "falling" else -3
            written = f"{words} {format_number(threshold_v)} V"
            drawn.append(svg.draw_text(LEFT + 4, y + below, written, size=10, fill=FAINT))
        points = " ".join(
            f"{scale.find_x(at_s):.1f},{top + _VOLTS * (1 - volt / parts.supply_v):.1f}"
            for at_s, volt in zip(moments_s.tolist(), volts.tolist(), strict=True)
        )
        drawn.append(f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="1.3"/>')
        top += _VOLTS + 18
    return top + 6
