"""All values of a device, in a structure in which changing one does not copy them all.

A state keeps its values as a tuple of chunks, each a tuple of at most 64 values. Changing one copies a single chunk and
the outer tuple, so an event costs about the same with ten thousand settings as with ten, and states share their
unchanged chunks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import compress, count
from operator import ne
from typing import overload

from knobmenu.design.positions import NumberPosition, TextPosition

Value = int | str
"""A whole number; or the text itself, for a text."""

Values = tuple[tuple[Value, ...], ...]
"""Values in order of position, in chunks."""

_CHUNK = 64


def pack(values: Iterable[Value]) -> Values:
    """Put values in chunks, in their order."""
    flat = tuple(values)
    return tuple(flat[start : start + _CHUNK] for start in range(0, len(flat), _CHUNK))


@overload
def get_at(values: Values, position: NumberPosition) -> int: ...


@overload
def get_at(values: Values, position: TextPosition) -> str: ...


@overload
def get_at(values: Values, position: int) -> Value: ...


def get_at(values: Values, position: int) -> Value:
    """Return the value at a position; the type of the position determines the type of the value."""
    return values[position >> 6][position & 63]


def replace_value(values: Values, position: int, value: Value) -> Values:
    """Return the values with one of them replaced."""
    row, column = position >> 6, position & 63
    chunk = values[row]
    return (*values[:row], (*chunk[:column], value, *chunk[column + 1 :]), *values[row + 1 :])


def find_differences(before: Values, after: Values) -> list[int]:
    """Return the positions at which two sets of values of one design differ; skip shared chunks."""
    return [
        position
        for row, (old, new) in enumerate(zip(before, after, strict=True))
        if old is not new
        for position in compress(count(row << 6), map(ne, old, new))
    ]


def unpack(values: Values) -> Iterator[Value]:
    """Walk all values in order of position."""
    return (value for chunk in values for value in chunk)
