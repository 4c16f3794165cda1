"""A recording as an animated picture: SVG with the timing of SMIL, which browsers play without a script."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from knobmenu.design.whole import Design
from knobmenu.session.playback import Frame, draw_frame

_WIDE, _HIGH, _EDGE = 10, 20, 12
"""Width and height of a character, and the room around. [px]"""


def animate(designs: Sequence[Design], shown: Iterable[Frame]) -> str:
    """Draw a recording as one SVG document; frames that look alike are one.

    Timing follows SMIL 3.0, "set" (W3C Recommendation, 2008), as SVG 1.1 takes it up in its chapter 19.
    """
    cels: list[tuple[int, tuple[str, ...]]] = []
    for frame in shown:
        lines = draw_frame(designs, frame)
        if cels and cels[-1][0] == frame.real_ms:
            del cels[-1]  # nobody can see what lasts no time
        if not cels or cels[-1][1] != lines:
            cels.append((frame.real_ms, lines))
    columns = max((len(line) for _, lines in cels for line in lines), default=1)
    rows = max((len(lines) for _, lines in cels), default=1)
    width, height = columns * _WIDE + 2 * _EDGE, rows * _HIGH + 2 * _EDGE
    title = escape(" and ".join(design.name for design in designs))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}">',
        f"<title>{title}</title>",
        f'<rect width="{width}" height="{height}" fill="#101418"/>',
        '<g font-family="monospace" font-size="16.6" fill="#e5e5e5" xml:space="preserve">',
    ]
    for number, (begin_ms, lines) in enumerate(cels):
        length = "" if number + 1 == len(cels) else f' dur="{(cels[number + 1][0] - begin_ms) / 1000}s"'
        parts.append(
            f'<g visibility="hidden"><set attributeName="visibility" to="visible" begin="{begin_ms / 1000}s"'
            f'{length} fill="{"remove" if length else "freeze"}"/>'
        )
        parts += [
            f'<text x="{_EDGE}" y="{_EDGE + 15 + row * _HIGH}" textLength="{len(line) * _WIDE}">{escape(line)}</text>'
            for row, line in enumerate(lines)
            if line
        ]
        parts.append("</g>")
    return "\n".join([*parts, "</g>", "</svg>"]) + "\n"
