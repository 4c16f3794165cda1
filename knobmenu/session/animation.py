"""A recording as an animated picture: SVG with the timing of SMIL, which browsers play without a script."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from knobmenu.design.whole import Design
from knobmenu.session.playback import Frame, draw_frame

_WIDE, _HIGH, _EDGE = 10, 20, 12
"""Width and height of a character cell, and the margin around the picture. [px]"""


_SPACE = "&#160;"
"""A no-break space, since browsers collapse runs of ordinary ones; an entity, since standard output escapes it."""

Cel = tuple[int, tuple[str, ...]]
"""The time at which a picture appears [ms], and its rows of text."""


def animate(designs: Sequence[Design], shown: Iterable[Frame]) -> str:
    """Draw a recording as one SVG document that stops at its last frame; identical consecutive frames are merged."""
    title = " and ".join(design.name for design in designs)
    return animate_cels(title, ((frame.real_ms, draw_frame(designs, frame)) for frame in shown))


def animate_cels(title: str, drawn: Iterable[Cel], lasts_ms: int | None = None) -> str:
    """Draw rows of text that change as one SVG document; identical consecutive cels are merged.

    Timing follows the "set" element of SMIL 3.0 (W3C Recommendation, 2008), which SVG 1.1 adopts in chapter 19.

    Args:
        title: The title of the document.
        drawn: The cels, in order of time.
        lasts_ms: Length of one loop, greater than the time of the last cel; None: stop at the last cel. [ms]
    """
    cels: list[Cel] = []
    for cel in drawn:
        if cels and cels[-1][0] == cel[0]:
            del cels[-1]  # it would be visible for 0 ms
        if not cels or cels[-1][1] != cel[1]:
            cels.append(cel)
    columns = max((len(line) for _, lines in cels for line in lines), default=1)
    rows = max((len(lines) for _, lines in cels), default=1)
    width, height = columns * _WIDE + 2 * _EDGE, rows * _HIGH + 2 * _EDGE
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{width}" height="{height}" fill="#101418"/>',
    ]
    if lasts_ms is not None:
        round_ = f'begin="0s;round.end" dur="{lasts_ms / 1000}s"'
        parts.append(f'<g><animate id="round" attributeName="opacity" from="1" to="1" {round_}/></g>')
    parts.append('<g font-family="monospace" font-size="16.6" fill="#e5e5e5" xml:space="preserve">')
    ends = [begin_ms for begin_ms, _ in cels[1:]] + [lasts_ms]
    for (begin_ms, lines), end_ms in zip(cels, ends, strict=False):
        begin = f"{begin_ms / 1000}s" if lasts_ms is None else f"round.begin+{begin_ms / 1000}s"
        length = "" if end_ms is None else f' dur="{(end_ms - begin_ms) / 1000}s"'
        parts.append(
            f'<g visibility="hidden"><set attributeName="visibility" to="visible" begin="{begin}"'
            f'{length} fill="{"remove" if length else "freeze"}"/>'
        )
        parts += [
            f'<text x="{_EDGE}" y="{_EDGE + 15 + row * _HIGH}" textLength="{len(line) * _WIDE}">'
            f"{escape(line).replace(' ', _SPACE)}</text>"
            for row, line in enumerate(lines)
            if line
        ]
        parts.append("</g>")
    return "\n".join([*parts, "</g>", "</svg>"]) + "\n"
