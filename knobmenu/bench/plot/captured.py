"""A part of a capture: what was turned, both pins with their bounce shaded, and what a firmware counted."""

from __future__ import annotations

from knobmenu.bench.capture.excerpt import Excerpt
from knobmenu.bench.capture.measure import Measured
from knobmenu.bench.figures import format_number
from knobmenu.bench.plot import svg
from knobmenu.bench.plot.svg import FAINT, LEFT, PHASE_A, PHASE_B, RIGHT, WIDTH, Shade, TimeScale
from knobmenu.errors import printable

_TOP = 78.0
"""Where the rows begin. [px]"""
_TURNED, _LOGIC = 44, 46
"""How high the rows are. [px]"""
_LONGEST_NAME = 16
"""Longer names of pins are cut. [characters]"""


def draw_capture(excerpt: Excerpt, measured: Measured, counted_by: str) -> str:
    """Draw a part of a capture.

    Args:
        excerpt: the part.
        measured: what the capture tells.
        counted_by: which firmware counted, in words.

    Returns:
        A whole SVG document.
    """
    scale = TimeScale(excerpt.view.begin_s, excerpt.view.end_s)
    drawn: list[str] = []
    _draw_turning(drawn, excerpt, scale, _TOP)
    top = _TOP + _TURNED + 32
    closed = "up: high, open" if measured.closed_is_low else "up: high, closed"
    for phase, (name, pin, colour) in enumerate(
        zip((measured.pin_a, measured.pin_b), excerpt.pins, (PHASE_A, PHASE_B), strict=True)
    ):
        _draw_bounce(drawn, excerpt, phase, scale, top)
        written = printable(name)
        short = written if len(written) <= _LONGEST_NAME else f"{written[: _LONGEST_NAME - 1]}…"
        title = f"phase {'AB'[phase]}" if short == "AB"[phase] else f"{'AB'[phase]}: {short}"
        drawn += svg.draw_label(top + _LOGIC / 2, title, closed)
        drawn.append(scale.draw_steps(pin, top, _LOGIC, colour))
        top += _LOGIC + 34
    drawn += svg.draw_label(top + 6, "counted", "net count")
    wrong = [False] * len(excerpt.counted)
    drawn += scale.draw_counts(excerpt.counted_s, excerpt.counted.tolist(), wrong, top + 6, excerpt.net_before)
    top += 46
    shades: list[tuple[Shade, str]] = [("bounce", "bounce"), ("unmeasured", "too close to be measured")]
    heading = f"{printable(measured.pin_a)} and {printable(measured.pin_b)}: {_describe_bounce(measured)}"
    return svg.draw_document(
        heading, f"counted by {counted_by}", top + 40, [*scale.draw(66, top), *drawn, *svg.draw_key(shades, 46)]
    )


def _describe_bounce(measured: Measured) -> str:
    longest = f"{format_number(measured.longest_bounce_s * 1000)} ms"
    match measured.bounce_is:
        case "undetermined":
            return "the bounce cannot be determined"
        case "at least":
            return f"longest bounce at least {longest}"
        case "exact":
            return f"longest bounce {longest}" if measured.longest_bounce_s else "no bounce"


def _draw_turning(drawn: list[str], excerpt: Excerpt, scale: TimeScale, top: float) -> None:
    """Draw how far the knob was turned, a step for each quarter period."""
    drawn += svg.draw_label(top + 16, "turned", "a step: a quarter period")
    places = [excerpt.quarters_before, *excerpt.quarters.tolist()]
    low, high = min(places), max(places)
    step = _TURNED / max(high - low, 1)

    def find_y(quarter: int) -> float:
        return top + _TURNED - (quarter - low) * step if high > low else top + _TURNED / 2

    path = [f"M{scale.find_x(scale.begin_s):.1f} {find_y(places[0]):.1f}"]
    for at_s, quarter in zip(excerpt.turned_s.tolist(), places[1:], strict=True):
        path.append(f"H{scale.find_x(at_s):.2f}V{find_y(quarter):.1f}")
    drawn.append(
        f'<path d="{"".join(path)}H{scale.find_x(scale.end_s):.1f}" fill="none" stroke="{FAINT}" stroke-width="1.3"/>'
    )


def _draw_bounce(drawn: list[str], excerpt: Excerpt, phase: int, scale: TimeScale, top: float) -> None:
    """Shade the bursts of a phase, with the length of each that was measured."""
    last = float(LEFT)
    for begin_s, end_s, pin, edges, is_clear in zip(
        excerpt.bursts.begins_s.tolist(),
        excerpt.bursts.ends_s.tolist(),
        excerpt.bursts.pins.tolist(),
        excerpt.bursts.edges.tolist(),
        excerpt.are_clear.tolist(),
        strict=True,
    ):
        if pin != phase or end_s == begin_s:
            continue
        drawn += scale.shade([(begin_s, end_s)], "bounce" if is_clear else "unmeasured", top - 6, top + _LOGIC + 6)
        middle = min(max(scale.find_x((begin_s + end_s) / 2), LEFT + 24.0), WIDTH - RIGHT - 24.0)
        if middle - last > 52:
            length = f"{format_number((end_s - begin_s) * 1000, 2)} ms" if is_clear else "?"
            written = length if edges % 2 else f"glitch {length}"
            drawn.append(svg.draw_text(middle, top - 10, written, anchor="middle", size=10))
            last = middle
