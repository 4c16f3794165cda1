"""Tables of samples or of changes, as any logic analyser exports them.

The first column is the time, the others are pins. A heading names them; its unit may stand in brackets, as in
``Time [s]`` or ``time (us)``, and is seconds where none is given. Separator and decimal comma are found out. Lines that
begin with ``;`` or ``#`` are remarks. A table without heading is read as pins named ``D0``, ``D1`` and so on.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from knobmenu.bench.capture.recording import MOST_CHANGES, Recording, joined, lines, trouble
from knobmenu.bench.signal import Signal

UNITS_S = {"s": 1.0, "sec": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "ns": 1e-9}
"""Units of the time's column. [s]"""

MOST_KNOWN = 4096
"""Rows mostly repeat the levels of others: so many different ones are remembered as they were read."""

_LEVELS = {"0": 0, "1": 1, "0.0": 0, "1.0": 1, "l": 0, "h": 1, "low": 0, "high": 1, "false": 0, "true": 1}


def read(path: Path) -> Recording:
    """Read a table whole.

    Memory grows with the changes, 8 bytes each, not with the rows.

    Raises:
        BenchError: see `pieces`.
    """
    return joined(pieces(path))


def pieces(path: Path) -> Iterator[Recording]:
    """Read a table piece by piece, in bounded memory.

    Raises:
        BenchError: it is no table of levels over time, is cut off, or its time goes back; says the line.
    """
    name = path.name
    rows = ((number, line.strip()) for number, line in lines(path))
    rows = ((number, line) for number, line in rows if line and line[0] not in ";#")
    number, line = next(rows, (0, ""))
    if not line:
        raise trouble(name, 0, "no line of levels", "a heading and rows of a time and levels")
    separator = ";" if ";" in line else "\t" if "\t" in line else ","
    head = _cells(line, separator)
    if len(head) < 2:
        raise trouble(name, number, f'"{line[:40]}"', "a time and at least one pin, separated by , ; or a tab")
    headless = _number(head[0]) is not None
    names = [f"D{index}" for index in range(len(head) - 1)] if headless else head[1:]
    if len(set(names)) < len(names):
        raise trouble(name, number, "two pins of one name", "names that differ")
    unit = re.search(r"[\[(]\s*([a-zµ]+)\s*[\])]", head[0].lower())
    if unit and unit[1] not in UNITS_S:
        raise trouble(name, number, f'the unit "{unit[1][:20]}"', "s, ms, us or ns")
    scale_s = UNITS_S[unit[1]] if unit else 1.0
    yield from _rows(name, _first(number, line, rows) if headless else rows, names, separator, scale_s)


def _first(number: int, line: str, rows: Iterator[tuple[int, str]]) -> Iterator[tuple[int, str]]:
    yield number, line
    yield from rows


def _number(cell: str) -> float | None:
    try:
        value = float(cell.replace(",", "."))
    except ValueError:
        return None
    return value if abs(value) < 1e12 else None


def _rows(
    name: str, rows: Iterator[tuple[int, str]], names: list[str], separator: str, scale_s: float
) -> Iterator[Recording]:
    known: dict[str, list[int]] = {}
    changes: list[list[float]] = [[] for _ in names]
    first: list[int] = []
    level: list[int] = []
    began = now = 0.0
    gathered = 0

    def cut() -> Recording:
        pins = {
            label: Signal(start, (np.array(at, dtype=np.float64) - began) * scale_s)
            for label, start, at in zip(names, first, changes, strict=True)
        }
        return Recording(pins, (now - began) * scale_s)

    for number, line in rows:
        moment, _, rest = line.partition(separator)
        if rest not in known:
            if len(known) == MOST_KNOWN:
                known.clear()
            known[rest] = _levels(name, number, names, _cells(rest, separator) if rest else [])
        found = known[rest]
        at = _number(moment.strip().strip('"'))
        if at is None:
            raise trouble(name, number, f'the time "{moment[:40]}"', "a number")
        if level and at < now:
            raise trouble(name, number, f"time {at:g} after {now:g}", "a time that goes forward")
        if not level:
            first, began = found, at
        elif gathered >= MOST_CHANGES and at > now:
            yield cut()
            changes, first, gathered = [[] for _ in names], level, 0
        if level and found != level:
            for index, (before, after) in enumerate(zip(level, found, strict=True)):
                if before != after:
                    changes[index].append(at)
                    gathered += 1
        level, now = found, at
    if not level:
        raise trouble(name, 0, "a heading alone", "rows of a time and levels", "the capture is empty or was cut off")
    yield cut()


def _cells(line: str, separator: str) -> list[str]:
    """Cut a row into its cells; a separator at its end is none."""
    return [cell.strip().strip('"') for cell in line.removesuffix(separator).split(separator)]


def _levels(name: str, line: int, names: list[str], cells: list[str]) -> list[int]:
    if len(cells) != len(names):
        allowed = f"{len(names) + 1}, as above"
        raise trouble(name, line, f"{len(cells) + 1} columns", allowed, "the capture may be cut off")
    for label, cell in zip(names, cells, strict=True):
        if cell.lower() not in _LEVELS:
            raise trouble(name, line, f'"{cell[:40]}" for {label[:40]}', "0 or 1")
    return [_LEVELS[cell.lower()] for cell in cells]
