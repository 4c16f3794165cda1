"""Generators of the values of a scale, in whole numbers.

Every list ascends, in units of the last place: with one decimal, 31.5 is 315. Roots are found by integer search and
not with floats, so that every machine computes the same list.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Literal

import attrs

from knobmenu.design.fields import INT32_HIGH, OneOf, Whole
from knobmenu.errors import DesignError, Problem
from knobmenu.structure import Structure

GeneratorKind = Literal[
    "1-2-5", "E3", "E6", "E12", "E24", "E48", "E96", "E192",
    "third-octaves", "f-numbers", "doublings", "decibels", "grid", "airband",
]  # fmt: skip

GENERATOR_KINDS: tuple[str, ...] = (
    "1-2-5", "E3", "E6", "E12", "E24", "E48", "E96", "E192",
    "third-octaves", "f-numbers", "doublings", "decibels", "grid", "airband",
)  # fmt: skip

MOST_VALUES = 10_000
"""The greatest number of values in one scale."""

_E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
"""IEC 60063. Eight of these values deviate from the formula 10^(n/24), hence the table."""

_THIRD_OCTAVES = (100, 125, 160, 200, 250, 315, 400, 500, 630, 800)
"""Nominal mid-band frequencies of one decade (ISO 266); also the R10 preferred numbers."""

_F_NUMBERS = (
    10, 11, 12, 14, 16, 18, 20, 22, 25, 28, 32, 35, 40, 45,
    50, 56, 63, 71, 80, 90, 100, 110, 130, 140, 160, 180, 200, 220,
)  # fmt: skip
"""F-numbers as engraved on lenses, in thirds of a stop, with one decimal (common practice)."""


@attrs.frozen(kw_only=True, eq=False, repr=False)
class Generator(Structure):
    """A rule that generates the values of a scale."""

    kind: GeneratorKind = attrs.field(validator=OneOf(GENERATOR_KINDS, (("raster", "grid"),)))
    """The rule.

    ``1-2-5``, ``E3`` … ``E192``, ``third-octaves``: preferred numbers of every decade. ``f-numbers``: as engraved,
    with one decimal. ``doublings``: `parts` equal ratios to each doubling, starting at `low` (3: thirds of a stop or
    octave, 12: semitones). ``grid``: every `step` from `low`. ``decibels``: from `high` down in steps of `step`, which
    double after 20 steps and quadruple after 40, so that the quiet end takes fewer detents. ``airband``: the channel
    names of aeronautical radio in kHz, 8.33 kHz and 25 kHz channels together.
    """
    low: int = attrs.field(validator=Whole())
    """The lower bound of the values. [units of the last place]"""
    high: int = attrs.field(validator=Whole())
    """The upper bound of the values. [units of the last place]"""
    step: int = attrs.field(default=1, validator=Whole(1, INT32_HIGH))
    """For ``grid`` and ``decibels``. [units of the last place]"""
    parts: int = attrs.field(default=3, validator=Whole(1, 24))
    """For ``doublings``: values in each doubling."""

    def __attrs_post_init__(self) -> None:
        """Refuse a rule that generates fewer than two values, or too many."""
        problem = _find_problem(self)
        if problem is not None:
            raise DesignError([problem])


def _find_problem(generator: Generator) -> Problem | None:
    if generator.high <= generator.low:
        return Problem("high", str(generator.high), f"more than low, which is {generator.low}")
    least = _find_least_low(generator.kind)
    if generator.low < least:
        return Problem(
            "low",
            str(generator.low),
            f"at least {least}, so that every value of {generator.kind} is a whole number",
            "give the setting more decimals",
        )
    if generator.kind == "grid" and (generator.high - generator.low) // generator.step >= MOST_VALUES:
        return Problem("step", str(generator.step), f"a step that gives at most {MOST_VALUES} values")
    amount = 0
    for amount, _ in enumerate(_walk(generator), 1):
        if amount > MOST_VALUES:
            return Problem("high", str(generator.high), f"a range of at most {MOST_VALUES} values")
    if amount < 2:
        return Problem("high", str(generator.high), f"a range with at least two values of {generator.kind}")
    return None


def generate_values(generator: Generator) -> tuple[int, ...]:
    """Generate the values, strictly ascending. [units of the last place]"""
    return tuple(_walk(generator))


def _find_least_low(kind: str) -> int:
    """Return the lowest `low` at which every value of a kind is a whole number."""
    if kind in ("E48", "E96", "E192", "third-octaves"):
        return 100
    if kind in ("E3", "E6", "E12", "E24", "f-numbers"):
        return 10
    return 1 if kind in ("1-2-5", "doublings") else -INT32_HIGH


def _walk(generator: Generator) -> Iterator[int]:
    if generator.kind == "decibels":
        return reversed(list(_walk_decibels(generator)))
    return (value for value in _WALKS[generator.kind](generator) if generator.low <= value <= generator.high)


def _repeat_decades(mantissas: tuple[int, ...]) -> Callable[[Generator], Iterator[int]]:
    """Repeat the mantissas of one decade upwards; they are the smallest whole numbers that express the decade."""

    def walk(generator: Generator) -> Iterator[int]:
        factor = 1
        while mantissas[0] * factor <= generator.high:
            yield from (mantissa * factor for mantissa in mantissas)
            factor *= 10

    return walk


def _round_root(value: int, degree: int) -> int:
    """Round the root of `value` of this degree to the nearest whole number, halves up."""
    low, high = 0, 1 << (value.bit_length() // degree + 1)
    while low < high:  # the largest k with (k - 1/2) ** degree <= value
        middle = (low + high + 1) // 2
        if (2 * middle - 1) ** degree <= value << degree:
            low = middle
        else:
            high = middle - 1
    return low


def _list_preferred_numbers(count: int) -> tuple[int, ...]:
    """Return the three-digit members of one decade of E48, E96 or E192 (IEC 60063)."""
    exact = [_round_root(10 ** (2 * count + index), count) for index in range(count)]
    return tuple(920 if value == 919 else value for value in exact)  # the one exception of the standard


def _walk_f_numbers(generator: Generator) -> Iterator[int]:
    return iter(_F_NUMBERS)


def _walk_doublings(generator: Generator) -> Iterator[int]:
    before, index = 0, 0
    while (value := _round_root(generator.low**generator.parts << index, generator.parts)) <= generator.high:
        if value > before:  # skip a value that repeats because the ratio is finer than the last place
            yield value
        before, index = value, index + 1


def _walk_grid(generator: Generator) -> Iterator[int]:
    return iter(range(generator.low, generator.high + 1, generator.step))


def _walk_decibels(generator: Generator) -> Iterator[int]:
    value = generator.high
    while value >= generator.low:
        yield value
        below = (generator.high - value) // generator.step
        value -= generator.step * (1 if below < 20 else 2 if below < 40 else 4)


def _walk_airband(generator: Generator) -> Iterator[int]:
    """Walk multiples of 5 kHz but those ending in 20, 45, 70 and 95, which name no channel (ICAO Annex 10 Volume V)."""
    first = generator.low + -generator.low % 5
    return (value for value in range(first, generator.high + 1, 5) if value % 25 != 20)


_WALKS: dict[str, Callable[[Generator], Iterator[int]]] = {
    "1-2-5": _repeat_decades((1, 2, 5)),
    "E3": _repeat_decades(_E24[::8]),
    "E6": _repeat_decades(_E24[::4]),
    "E12": _repeat_decades(_E24[::2]),
    "E24": _repeat_decades(_E24),
    "E48": lambda generator: _repeat_decades(_list_preferred_numbers(48))(generator),
    "E96": lambda generator: _repeat_decades(_list_preferred_numbers(96))(generator),
    "E192": lambda generator: _repeat_decades(_list_preferred_numbers(192))(generator),
    "third-octaves": _repeat_decades(_THIRD_OCTAVES),
    "f-numbers": _walk_f_numbers,
    "doublings": _walk_doublings,
    "grid": _walk_grid,
    "airband": _walk_airband,
}


def compute_airband_carrier_hz(name_khz: int) -> int | None:
    """Return the carrier frequency of an airband channel name, or None if no channel has this name. [Hz, rounded]

    A name that is a multiple of 25 kHz is a 25 kHz channel on that carrier; the next three names are the 8.33 kHz
    channels 0, 25/3 and 50/3 kHz above it (ICAO Annex 10 Volume V, Table 4-1 bis).
    """
    rest = name_khz % 25
    if rest % 5 or rest == 20:
        return None
    thirds = max(rest // 5 - 1, 0)
    return (name_khz - rest) * 1000 + (2 * thirds * 25_000 + 3) // 6  # thirds x 25/3 kHz, rounded
