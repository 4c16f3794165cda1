"""The knob as a shaded disc, where the terminal shows any colour: two pixels in a character, each of its own colour."""

from __future__ import annotations

from functools import lru_cache
from math import atan2, ceil, cos, floor, hypot, pi, sin

import attrs

from knobmenu.picture.runs import Drawing, Run, merge
from knobmenu.structure import Structure

Colour = tuple[int, int, int]
_Pixels = dict[tuple[int, int], Colour]

_SAMPLES = (-0.375, -0.125, 0.125, 0.375)
"""Where a pixel on an edge is sampled, across and down. [pixels]"""
_LEVELS = 4
"""Colours are rounded to multiples of this, so that neighbours can be written together."""


@attrs.frozen(repr=False)
class Shading(Structure):
    """The colours of a knob, ``#rrggbb``."""

    ground: str
    """Behind it."""
    dark: str
    """Its body where no light falls on it."""
    light: str
    """Its body where most light falls on it, at the upper left."""
    pressed: str
    """What tints the body while the knob is down."""
    pointer: str
    hold: str
    """The arc that shows how far a hold has come."""


@lru_cache(maxsize=512)
def draw_disc(
    shading: Shading, columns: int, rows: int, radius: float, here: float, pressed: bool, held: float
) -> Drawing:
    """Draw the disc alone; outside of it are blanks on the ground ``panel``.

    Args:
        shading: Its colours.
        columns: Width. [terminal cells]
        rows: Height. [terminal cells]
        radius: The radius of the disc. [pixels; a pixel is as wide as a character and half as high]
        here: The angle of the pointer, clockwise from the top. [turns]
        pressed: Whether the knob is down.
        held: The fraction of a long press that has passed, 0 to 1.
    """
    pixels = {**_draw_body(shading, columns, rows, radius, pressed, held)}
    _add_pointer(pixels, shading, columns, rows, radius, here)
    return tuple(
        merge(_make_run(pixels.get((x, 2 * row)), pixels.get((x, 2 * row + 1)), shading) for x in range(columns))
        for row in range(rows)
    )


@lru_cache(maxsize=64)
def _draw_body(shading: Shading, columns: int, rows: int, radius: float, pressed: bool, held: float) -> _Pixels:
    """Return the pixels of the body: a cap that light falls on from the upper left, inside a rim."""
    middle_x, middle_y = (columns - 1) / 2, rows - 0.5
    ground, dark, light, hold = map(_parse_colour, (shading.ground, shading.dark, shading.light, shading.hold))
    if pressed:
        tint = _parse_colour(shading.pressed)
        dark, light = _mix(dark, tint, 0.25), _mix(light, tint, 0.35)
    pixels = {}
    for y in range(2 * rows):
        for x in range(columns):
            across, down = x - middle_x, y - middle_y
            away = hypot(across, down)
            covered = _measure_coverage(across, down, radius) if abs(away - radius) < 1 else float(away < radius)
            if not covered:
                continue
            slope = -(across + down) / (radius * 2**0.5)
            rim = away > radius * 0.86
            shade = 0.5 + (0.5 if rim else -0.25 if pressed else 0.3) * slope
            colour = _mix(dark, light, min(max(shade, 0.0), 1.0))
            if rim and held and (atan2(across, -down) / (2 * pi)) % 1.0 <= held:
                colour = hold
            pixels[x, y] = _mix(ground, colour, covered)
    return pixels


def _add_pointer(pixels: _Pixels, shading: Shading, columns: int, rows: int, radius: float, here: float) -> None:
    """Draw the pointer, from beside the middle to the rim."""
    middle_x, middle_y = (columns - 1) / 2, rows - 0.5
    along_x, along_y = sin(2 * pi * here), -cos(2 * pi * here)
    first, last, half = radius * 0.38, radius * 0.84, max(0.6, radius * 0.08)
    pointer = _parse_colour(shading.pointer)
    ends = [(middle_x + along_x * at, middle_y + along_y * at) for at in (first, last)]
    spans = [range(floor(min(each) - half - 1), ceil(max(each) + half + 2)) for each in zip(*ends, strict=True)]
    for y in spans[1]:
        for x in spans[0]:
            if (x, y) not in pixels:
                continue
            inside = 0
            for down in _SAMPLES:
                for across in _SAMPLES:
                    right, below = x + across - middle_x, y + down - middle_y
                    along = right * along_x + below * along_y
                    inside += first <= along <= last and abs(right * along_y - below * along_x) <= half
            if inside:
                pixels[x, y] = _mix(pixels[x, y], pointer, inside / len(_SAMPLES) ** 2)


def _measure_coverage(across: float, down: float, radius: float) -> float:
    """Measure the fraction of a pixel that is inside the disc, 0 to 1."""
    inside = sum(hypot(across + x, down + y) <= radius for x in _SAMPLES for y in _SAMPLES)
    return inside / len(_SAMPLES) ** 2


def _make_run(upper: Colour | None, lower: Colour | None, shading: Shading) -> Run:
    if upper is None and lower is None:
        return Run(" ", "text")
    top, bottom = (shading.ground if colour is None else _format_colour(colour) for colour in (upper, lower))
    return Run(" ", top, top) if top == bottom else Run("▀", top, bottom)


def _parse_colour(name: str) -> Colour:
    return int(name[1:3], 16), int(name[3:5], 16), int(name[5:7], 16)


def _mix(one: Colour, other: Colour, part: float) -> Colour:
    red, green, blue = (round(a + (b - a) * part) for a, b in zip(one, other, strict=True))
    return red, green, blue


def _format_colour(colour: Colour) -> str:
    return "#" + "".join(f"{min(255, level // _LEVELS * _LEVELS):02x}" for level in colour)
