"""Draw pictures as SVG.

Dots, blocks and lines are drawn as shapes and not as characters, so the device looks the same with any font, and
without the gaps that fonts leave between rows. Words are text, with each character at its own place.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from html import escape
from itertools import groupby

from rich.cells import cell_len

from knobmenu.picture.palettes import Palette
from knobmenu.picture.runs import Pictures, Run

WIDE, HIGH = 10, 20
"""Width and height of a terminal cell. [px]"""


FONT_SIZE = 16.6
"""A font of this size is as wide as a cell: most fixed fonts are 0.6 of their size wide. [px]"""

EDGE = 12
"""Empty room around the terminal. [px]"""

SIXTEEN = {
    "black": "#000000", "red": "#cd0000", "green": "#00cd00", "yellow": "#cdcd00",
    "blue": "#0000ee", "magenta": "#cd00cd", "cyan": "#00cdcd", "white": "#e5e5e5",
    "bright_black": "#7f7f7f", "bright_red": "#ff0000", "bright_green": "#00ff00", "bright_yellow": "#ffff00",
    "bright_blue": "#5c5cff", "bright_magenta": "#ff00ff", "bright_cyan": "#00ffff", "bright_white": "#ffffff",
}  # fmt: skip
"""How a terminal may show its sixteen colours: xterm's own values (from memory)."""

PLAIN_INK, PLAIN_GROUND = "#e5e5e5", "#101010"
"""A terminal's own ink and ground, where a look leaves them to it."""

_SHAPES = {
    "█": ((0, 0, 10, 20),), "▀": ((0, 0, 10, 10),), "▄": ((0, 10, 10, 10),),
    "▌": ((0, 0, 5, 20),), "▐": ((5, 0, 5, 20),),
    "▘": ((0, 0, 5, 10),), "▝": ((5, 0, 5, 10),), "▖": ((0, 10, 5, 10),), "▗": ((5, 10, 5, 10),),
    "▛": ((0, 0, 10, 10), (0, 10, 5, 10)), "▜": ((0, 0, 10, 10), (5, 10, 5, 10)),
    "▙": ((0, 0, 5, 10), (0, 10, 10, 10)), "▟": ((5, 0, 5, 10), (0, 10, 10, 10)),
    "▞": ((5, 0, 5, 10), (0, 10, 5, 10)), "▚": ((0, 0, 5, 10), (5, 10, 5, 10)),
    "━": ((0, 8, 10, 4),), "─": ((0, 9, 10, 2),), "│": ((4, 0, 2, 20),),
    "┌": ((4, 9, 6, 2), (4, 11, 2, 9)), "┐": ((0, 9, 6, 2), (4, 11, 2, 9)),
    "└": ((4, 9, 6, 2), (4, 0, 2, 9)), "┘": ((0, 9, 6, 2), (4, 0, 2, 9)),
}  # fmt: skip
"""Characters that are made of rectangles: left, top, width and height of each. [px]"""

_CIRCLE = (2, 10, "a3 3 0 1 0 6 0a3 3 0 1 0-6 0z")
_FILLED = {
    "●": _CIRCLE,
    "▸": (3, 6, "l5 4l-5 4z"),
    "▾": (1, 8, "h8l-4 5z"),
    "♪": (1, 13, "a2.5 2 0 1 0 5 0v-7l3 2v-2l-4-3v9z"),
}
_DRAWN = {
    "○": _CIRCLE, "→": (1, 10, "h8m-3-3l3 3l-3 3"), "←": (9, 10, "h-8m3-3l-3 3l3 3"),
    "↑": (5, 15, "v-9m-3 3l3-3l3 3"), "↓": (5, 6, "v9m-3-3l3 3l3-3"),
}  # fmt: skip
"""Characters that fonts draw in all sizes: where each path begins, and the path. [px]"""

_BRAILLE = 0x2800
_DOTS = (
    (0x01, 2, 2),
    (0x02, 2, 7),
    (0x04, 2, 12),
    (0x40, 2, 17),
    (0x08, 7, 2),
    (0x10, 7, 7),
    (0x20, 7, 12),
    (0x80, 7, 17),
)
"""Bit and place of each dot (The Unicode Standard, chapter 21.1, "Braille Patterns"). [px]"""

_AS_SHAPES = {" ", *_SHAPES, *_FILLED, *_DRAWN}

_Paths = dict[str, list[str]]
"""Pieces of a path for each colour."""


def draw_svg(palette: Palette, pictures: Pictures, columns: int, rows: int, title: str) -> str:
    """Draw pictures at their places.

    Args:
        palette: Their colours.
        pictures: What is shown, and where.
        columns: Width of the terminal. [terminal cells]
        rows: Height of it. [terminal cells]
        title: What the picture is of.

    Returns:
        A whole SVG document, the same for the same pictures. It loads no font from a network.
    """
    grounds: _Paths = {}
    shapes: _Paths = {}
    filled: _Paths = {}
    drawn: _Paths = {}
    dots: _Paths = {}
    texts: list[str] = []
    behind = resolve_colours(palette, Run("", "text"))[1]
    for box, drawing in sorted(pictures.values(), key=lambda picture: picture[0]):
        for y, row in enumerate(drawing[: box.rows], box.y):
            x = box.x
            for run in row:
                ink, ground = resolve_colours(palette, run)
                if ground != behind:
                    grounds.setdefault(ground, []).append(_draw_rectangle(x, y, (0, 0, WIDE, HIGH), cell_len(run.text)))
                shapes.setdefault(ink, []).extend(_draw_shapes(run.text, x, y))
                filled.setdefault(ink, []).extend(_draw_paths(_FILLED, run.text, x, y))
                drawn.setdefault(ink, []).extend(_draw_paths(_DRAWN, run.text, x, y))
                dots.setdefault(ink, []).extend(_draw_dots(run.text, x, y))
                texts.extend(_write_texts(palette, run, x, y))
                x += cell_len(run.text)
    width, height = columns * WIDE + 2 * EDGE, rows * HIGH + 2 * EDGE
    lines = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}"'
        ' role="img">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{width}" height="{height}" rx="8" fill="{behind}"/>',
        f'<g transform="translate({EDGE} {EDGE})">',
        '<g shape-rendering="crispEdges">',
        *_paint("fill", grounds),
        *_paint("fill", shapes),
        "</g>",
        *_paint("fill", filled),
        '<g fill="none" stroke-width="1.6">',
        *_paint("stroke", drawn),
        "</g>",
        '<g stroke-width="3.6" stroke-linecap="round">',
        *_paint("stroke", dots),
        "</g>",
        f'<g font-family="monospace" font-size="{FONT_SIZE}">',
        *texts,
        "</g>",
        "</g>",
        "</svg>",
    )
    return "\n".join(lines) + "\n"


def resolve_colours(palette: Palette, run: Run) -> tuple[str, str]:
    """Return a run's visible ink and ground, ``#rrggbb``.

    Args:
        palette: Whose colours.
        run: What is written.
    """
    ink, ground = palette.get_colour(run.ink) or PLAIN_INK, palette.get_colour(run.ground) or PLAIN_GROUND
    ink, ground = SIXTEEN.get(ink, ink), SIXTEEN.get(ground, ground)
    return (ground, ink) if "reverse" in _list_attributes(palette, run) else (ink, ground)


def _list_attributes(palette: Palette, run: Run) -> set[str]:
    return {palette.attributes.get(run.ink, ""), palette.attributes.get(run.ground, "")}


def _paint(paint: str, paths: _Paths) -> Iterator[str]:
    for colour, pieces in paths.items():
        if pieces:
            yield f'<path {paint}="{colour}" d="{"".join(pieces)}"/>'


def _draw_rectangle(x: int, y: int, shape: tuple[int, int, int, int], count: int) -> str:
    left, top, wide, high = shape
    wide += (count - 1) * WIDE
    return f"M{x * WIDE + left} {y * HIGH + top}h{wide}v{high}h-{wide}z"


def _draw_shapes(text: str, x: int, y: int) -> Iterator[str]:
    """Draw characters that consist of rectangles; join those that continue in the next cell."""
    for character, group in groupby(text):
        count = len(list(group))
        for shape in _SHAPES.get(character, ()):
            if shape[2] == WIDE:
                yield _draw_rectangle(x, y, shape, count)
            else:
                yield from (_draw_rectangle(x + one, y, shape, 1) for one in range(count))
        x += count * cell_len(character)


def _draw_paths(paths: Mapping[str, tuple[int, int, str]], text: str, x: int, y: int) -> Iterator[str]:
    for place, character in _walk_places(text, x):
        if character in paths:
            left, top, path = paths[character]
            yield f"M{place * WIDE + left} {y * HIGH + top}{path}"


def _draw_dots(text: str, x: int, y: int) -> Iterator[str]:
    for place, character in _walk_places(text, x):
        pattern = ord(character) - _BRAILLE
        if 0 < pattern < 0x100:
            for bit, left, top in _DOTS:
                if pattern & bit:
                    yield f"M{place * WIDE + left}.5 {y * HIGH + top}.5h0"


def _walk_places(text: str, x: int) -> Iterator[tuple[int, str]]:
    """Return each character of a text with its place; some characters are two cells wide."""
    for character in text:
        yield x, character
        x += cell_len(character)


def _write_texts(palette: Palette, run: Run, x: int, y: int) -> Iterator[str]:
    """Write the characters that are not drawn as shapes, each at its own place.

    Renderers differ: some ignore all places but the first of a text, some join its blanks. So a text ends where two
    blanks follow each other, its font is as wide as a cell, and a single blank stands in it like any character.
    """
    attributes = _list_attributes(palette, run)
    weight = ' font-weight="bold"' if "bold" in attributes else ""
    line = ' text-decoration="underline"' if "underline" in attributes else ""
    ink = resolve_colours(palette, run)[0]
    for found in _TEXT.finditer("".join(" " if _is_drawn(character) else character for character in run.text)):
        start = x + cell_len(run.text[: found.start()])
        text = found.group()
        for begin, piece in [(start, text)] if cell_len(text) == len(text) else _walk_places(text, start):
            places = " ".join(str((begin + place) * WIDE) for place in range(len(piece)))
            yield f'<text x="{places}" y="{y * HIGH + 15}" fill="{ink}"{weight}{line}>{escape(piece)}</text>'


_TEXT = re.compile(r"[^ ]+(?: [^ ]+)*")


def _is_drawn(character: str) -> bool:
    return character in _AS_SHAPES or 0 <= ord(character) - _BRAILLE < 0x100
