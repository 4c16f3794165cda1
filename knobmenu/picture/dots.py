"""A field of dots, shown two by four in a braille character, two by two in a quadrant block or two in a half block.

The dots of a braille character are numbered 1 2 3 7 down the left and 4 5 6 8 down the right, and dot n is bit n - 1
of the code point's offset from U+2800 (The Unicode Standard, chapter 21.1, "Braille Patterns").
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from knobmenu.picture.runs import Drawing, Run, merge

ACROSS = 2
DOWN = 4

_BITS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
_FIRST = 0x2800

QUADRANTS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
"""By its dots: 1 at the upper left, 2 at the upper right, 4 at the lower left, 8 at the lower right (The Unicode
Standard, Block Elements)."""


class DotField:
    """Dots in named inks; where inks meet in one character, the one drawn last gives it its colour."""

    def __init__(self, columns: int, rows: int) -> None:
        """Begin with no dot set.

        Args:
            columns: Width. [terminal cells]
            rows: Height. [terminal cells]
        """
        self.width = columns * ACROSS
        self.height = rows * DOWN
        self._columns = columns
        self._rows = rows
        self._cells: dict[tuple[int, int], tuple[int, str]] = {}

    def set_dot(self, x: int, y: int, ink: str) -> None:
        """Set one dot; what lies outside is left out."""
        if 0 <= x < self.width and 0 <= y < self.height:
            place = y // DOWN, x // ACROSS
            bits, _ = self._cells.get(place, (0, ink))
            self._cells[place] = bits | _BITS[y % DOWN][x % ACROSS], ink

    def copy(self) -> DotField:
        """Return a canvas with the same dots, to draw on."""
        canvas = DotField(self._columns, self._rows)
        canvas._cells.update(self._cells)
        return canvas

    def clear(self, x: int, y: int) -> None:
        """Clear one dot."""
        place = y // DOWN, x // ACROSS
        if place in self._cells:
            bits, ink = self._cells[place]
            self._cells[place] = bits & ~_BITS[y % DOWN][x % ACROSS], ink

    def draw(self, ground: str) -> Drawing:
        """Return the rows; a cell without a dot is a space."""
        return tuple(
            merge(self._make_run(self._cells.get((row, column)), ground) for column in range(self._columns))
            for row in range(self._rows)
        )

    def _make_run(self, cell: tuple[int, str] | None, ground: str) -> Run:
        return Run(" ", ground, ground) if cell is None or not cell[0] else Run(chr(_FIRST + cell[0]), cell[1], ground)


def write_braille(bits: Sequence[Sequence[int]]) -> tuple[str, ...]:
    """Write a field of dots as rows of braille characters, spaces where no dot is set."""
    width = -(-max(map(len, bits)) // ACROSS)
    rows = []
    for top in range(0, len(bits), DOWN):
        codes = [0] * width
        for y, line in enumerate(bits[top : top + DOWN]):
            for x, dot in enumerate(line):
                if dot:
                    codes[x // ACROSS] |= _BITS[y][x % ACROSS]
        rows.append("".join(chr(_FIRST + code) if code else " " for code in codes))
    return tuple(rows)


def write_quadrants(bits: Sequence[Sequence[bool]]) -> tuple[str, ...]:
    """Write a field of dots as rows of quadrant blocks, two by two dots in a character."""
    width, height = -(-len(bits[0]) // 2), -(-len(bits) // 2)
    codes = [[0] * width for _ in range(height)]
    for y, line in enumerate(bits):
        for x, dot in enumerate(line):
            codes[y // 2][x // 2] |= dot << (x % 2 + 2 * (y % 2))
    return tuple("".join(QUADRANTS[code] for code in row) for row in codes)


def write_halves(levels: Sequence[Sequence[int]], inks: Mapping[int, str]) -> Drawing:
    """Write a field of levels as half blocks, two rows in one row of characters.

    The highest level is always drawn by the character itself and never by the ground alone, so that it can be read
    without colour too.

    Args:
        levels: Rows of levels, 0 the ground; an even number of rows.
        inks: The name of each level's ink.
    """
    return tuple(
        merge(_write_half(upper, lower, inks) for upper, lower in zip(levels[top], levels[top + 1], strict=True))
        for top in range(0, len(levels), 2)
    )


def _write_half(upper: int, lower: int, inks: Mapping[int, str]) -> Run:
    if upper == lower:
        return Run("█", inks[upper], inks[0]) if upper == max(inks) else Run(" ", inks[upper], inks[upper])
    if upper > lower:
        return Run("▀", inks[upper], inks[lower])
    return Run("▄", inks[lower], inks[upper])
