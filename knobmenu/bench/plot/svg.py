"""What all pictures of the bench share: the sheet, its time axis, rows of traces, shaded stretches, and text."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from html import escape
from itertools import pairwise
from typing import Literal

import attrs
import numpy as np

from knobmenu.bench.figures import format_number
from knobmenu.bench.signal import Floats, Signal

WIDTH, LEFT, RIGHT = 1100, 150, 30
"""Width of a picture and its margins. [px]"""

INK, FAINT, GRID = "#1d2433", "#6b7385", "#dfe3ea"
PHASE_A, PHASE_B, SAMPLE, COUNT, WRONG = "#0b62a8", "#b3541e", "#5b6b2f", "#1c7c54", "#c02440"

FONT = "font-family=\"'DejaVu Sans', 'Liberation Sans', Arial, sans-serif\""

Shade = Literal["blocked", "masked", "bounce", "unmeasured"]
"""What a shaded stretch of time means."""

_SHADES: dict[Shade, str] = {
    "blocked": '<rect width="8" height="8" fill="#e3e6ec"/><path d="M0 8L8 0" stroke="#9aa3b2" stroke-width="1"/>',
    "masked": '<rect width="8" height="8" fill="#f4f5f8"/><path d="M2 0V8M6 0V8" stroke="#b4bbc8" stroke-width="1"/>',
    "bounce": '<rect width="8" height="8" fill="#f3d9b8"/>',
    "unmeasured": '<rect width="8" height="8" fill="#faf1e4"/><path d="M0 0L8 8" stroke="#b08a5a" stroke-width="1"/>',
}
"""Tile of each shade. Solid, slanted, upright: they differ without colour, too."""

MOST_MARKS = 5000
"""Most marks that are drawn in one row."""


@attrs.frozen
class TimeScale:
    """Seconds across the picture."""

    begin_s: float
    """Where the picture begins. [s]"""
    end_s: float
    """Where it ends, after `begin_s`. [s]"""

    def find_x(self, at_s: float) -> float:
        """Return the position of a moment. [px]"""
        return LEFT + (at_s - self.begin_s) / (self.end_s - self.begin_s) * (WIDTH - LEFT - RIGHT)

    def select_inside(self, moments_s: Floats) -> Floats:
        """Return the moments that the picture shows. [s]"""
        return moments_s[(moments_s >= self.begin_s) & (moments_s <= self.end_s)]

    def draw(self, top: float, bottom: float) -> list[str]:
        """Draw a grid of round moments, labelled below. [px]"""
        span_ms = (self.end_s - self.begin_s) * 1000
        step_ms = 10 ** math.floor(math.log10(span_ms / 5))
        step_ms = next(step_ms * times for times in (1, 2, 5, 10) if span_ms / (step_ms * times) <= 12)
        digits = 1 + max(math.floor(math.log10(max(self.end_s * 1000, step_ms) / step_ms)) + 1, 1)
        drawn = []
        number = math.ceil(self.begin_s * 1000 / step_ms)
        while (at_ms := number * step_ms) <= self.end_s * 1000:
            place = self.find_x(at_ms / 1000)
            drawn.append(draw_line(place, top, place, bottom, stroke=GRID))
            drawn.append(draw_text(place, bottom + 18, format_number(at_ms, digits), anchor="middle", fill=FAINT))
            number += 1
        drawn.append(draw_text(14, bottom + 18, "time [ms]", weight=600))
        return drawn

    def shade(self, stretches_s: Iterable[tuple[float, float]], shade: Shade, top: float, bottom: float) -> list[str]:
        """Shade stretches of time; those that are too short are drawn half a pixel wide. [s, px]"""
        drawn: list[str] = []
        last = -math.inf
        for begin_s, end_s in stretches_s:
            left, right = self.find_x(max(begin_s, self.begin_s)), self.find_x(min(end_s, self.end_s))
            right = max(right, left + 0.5)
            # A point within the pixels of the one before is not drawn again.
            if end_s < self.begin_s or begin_s > self.end_s or right < last:
                continue
            drawn.append(
                f'<rect class="{shade}" x="{left:.2f}" y="{top:.1f}" width="{right - left:.2f}"'
                f' height="{bottom - top:.1f}" fill="url(#{shade})"/>'
            )
            last = right
        return drawn

    def draw_steps(self, signal: Signal, top: float, high: float, colour: str) -> str:
        """Draw a signal, 1 is up. [px]"""
        inside: Floats = signal.changes_s[(signal.changes_s > self.begin_s) & (signal.changes_s < self.end_s)]
        level = int(signal.get_levels(np.array([self.begin_s]))[0])
        path = [f"M{self.find_x(self.begin_s):.1f} {top + high * (1 - level):.1f}"]
        for at_s in inside.tolist():
            level = 1 - level
            path.append(f"H{self.find_x(at_s):.2f}V{top + high * (1 - level):.1f}")
        path.append(f"H{self.find_x(self.end_s):.1f}")
        return f'<path d="{"".join(path)}" fill="none" stroke="{colour}" stroke-width="1.3"/>'

    def draw_ticks(self, moments_s: Floats, top: float, high: int) -> str:
        """Draw a tick at each moment. [s, px]"""
        places = [self.find_x(at_s) for at_s in self.select_inside(moments_s)[:MOST_MARKS].tolist()]
        path = "".join(f"M{place:.1f} {top:.1f}v{high}" for place in places)
        return f'<path d="{path or "M0 0"}" stroke="{SAMPLE}" stroke-width="1" fill="none"/>'

    def draw_counts(
        self, counted_s: Floats, counted: Sequence[int], wrong: Sequence[bool], y: float, net: int = 0
    ) -> list[str]:
        """Draw each count as a triangle, up if clockwise, hollow if wrong, with the net count.

        Args:
            counted_s: when each was made. [s]
            counted: signed. [detents]
            wrong: which of them are errors.
            y: where the row's middle is. [px]
            net: the net count before the first one. [detents]
        """
        drawn = [draw_line(LEFT, y, WIDTH - RIGHT, y, stroke=GRID)]
        marks: list[tuple[float, int]] = []
        for at_s, detents, is_wrong in zip(counted_s.tolist(), counted, wrong, strict=True):
            net += detents
            if not self.begin_s <= at_s <= self.end_s or len(marks) >= MOST_MARKS:
                continue
            place = self.find_x(at_s)
            tip = y - 12 if detents > 0 else y + 12
            points = f"{place - 5:.1f},{y} {place + 5:.1f},{y} {place:.1f},{tip:.1f}"
            look = f'fill="#ffffff" stroke="{WRONG}" stroke-width="2"' if is_wrong else f'fill="{COUNT}"'
            drawn.append(f'<polygon points="{points}" {look}/>')
            marks.append((place, net))
        # Where counts are too close for a number each, only the last one gets one.
        for (place, number), (next_place, _) in pairwise([*marks, (math.inf, 0)]):
            if next_place - place > 24:
                drawn.append(draw_text(place, y + 28, str(number), anchor="middle", size=11, halo=True))
        return drawn


def draw_line(x1: float, y1: float, x2: float, y2: float, *, stroke: str, width: float = 1.0, dashes: str = "") -> str:
    """Draw a straight line. [px]"""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{stroke}" stroke-width="{width:g}"'
        f"{dashed}/>"
    )


def draw_text(
    x: float,
    y: float,
    words: str,
    *,
    anchor: str = "start",
    fill: str = INK,
    size: int = 12,
    weight: int = 400,
    halo: bool = False,
) -> str:
    """Write text; `y` is its baseline, and a halo separates it from what is behind it. [px]"""
    parted = ' stroke="#ffffff" stroke-width="4" paint-order="stroke"' if halo else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{fill}" font-size="{size}"'
        f' font-weight="{weight}"{parted}>{escape(words)}</text>'
    )


def draw_label(y: float, name: str, remark: str) -> list[str]:
    """Label a row at its left. [px]"""
    return [draw_text(14, y, name, weight=600), draw_text(14, y + 14, remark, size=10, fill=FAINT)]


def draw_key(shades: Sequence[tuple[Shade, str]], y: float) -> list[str]:
    """Explain the shades of a picture, right-aligned on one line. [px]"""
    drawn: list[str] = []
    right = float(WIDTH - RIGHT)
    for shade, words in reversed(shades):
        # The width of a letter is estimated: the font is the viewer's.
        left = right - 7.2 * len(words) - 30
        drawn.append(
            f'<rect x="{left:.1f}" y="{y - 11:.1f}" width="22" height="14" fill="url(#{shade})" stroke="{FAINT}"/>'
        )
        drawn.append(draw_text(left + 28, y, words))
        right = left - 18
    return drawn


def draw_document(title: str, remark: str, height: float, drawn: Iterable[str]) -> str:
    """Return a whole SVG document.

    Args:
        title: the first line.
        remark: the second one.
        height: how high it is. [px]
        drawn: what it consists of, the lowest first.
    """
    patterns = "".join(
        f'<pattern id="{name}" width="8" height="8" patternUnits="userSpaceOnUse">{tile}</pattern>'
        for name, tile in _SHADES.items()
    )
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height:.0f}"'
            f' viewBox="0 0 {WIDTH} {height:.0f}" {FONT}>',
            f"<defs>{patterns}</defs>",
            f'<rect width="{WIDTH}" height="{height:.0f}" fill="#ffffff"/>',
            draw_text(14, 26, title, size=17, weight=600),
            draw_text(14, 46, remark, fill=FAINT),
            *drawn,
            "</svg>",
            "",
        ]
    )
