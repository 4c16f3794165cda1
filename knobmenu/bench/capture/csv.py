"""Tables of samples or changes, as exported by logic analysers and oscilloscopes.

The first column is the time, the others are pins. A heading names them; the unit of the time stands in it, as in
``Time [s]``, ``time (us)`` or ``t_ms``, or in a second heading below, and is seconds where none is given. A time may
also be a date and time of ISO 8601. Given a sampling rate, the table is one of samples: the first column numbers them
if its heading says so, as in ``Sample`` or ``Index``, or if there is no heading; otherwise every column is a pin.
Separator and decimal comma are recognised. Cells are levels, or volts if a threshold is given. Lines that begin with
``;`` or ``#`` are comments. Without a heading the pins are named ``D0``, ``D1`` and so on.
"""

from __future__ import annotations

import contextlib
import csv
import itertools
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path

import attrs
import numpy as np

from knobmenu.bench.capture.recording import MOST_CHANGES, Progress, Recording, join, make_error, read_lines
from knobmenu.bench.errors import BenchError
from knobmenu.bench.signal import Signal
from knobmenu.errors import Problem, quote_value

UNITS_S = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9}
"""Units of the time column. [s]"""

_UNIT_NAMES = {
    **{name: name for name in UNITS_S},
    **dict.fromkeys(("sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("msec", "millisecond", "milliseconds"), "ms"),
    **dict.fromkeys(("µs", "μs", "usec", "microsecond", "microseconds"), "us"),
    **dict.fromkeys(("nsec", "nanosecond", "nanoseconds"), "ns"),
}

MOST_KNOWN = 4096
"""Rows mostly repeat the levels of others: so many different ones are remembered as they were read."""

_LEVELS = {"0": 0, "1": 1, "0.0": 0, "1.0": 1, "l": 0, "h": 1, "low": 0, "high": 1, "false": 0, "true": 1}

_SAMPLE_NAMES = {"sample", "samples", "index", "n", "no", "no.", "nr", "number", "#"}

_ISO = re.compile(
    r"(?:(\d{4})-(\d\d)-(\d\d)[T ])?(\d\d):(\d\d):(\d\d)(?:[.,](\d{1,18}))?(?:Z|([+-])(\d\d):?(\d\d))?", re.ASCII
)


@attrs.frozen(kw_only=True)
class Reading:
    """What a table does not state about itself."""

    rate_hz: float | None = attrs.field(default=None)
    """Sampling rate of a table of samples, above 0; None: it has a column of times. [1/s]"""
    thresholds_v: tuple[float, float] | None = attrs.field(default=None)
    """A pin is low below the first and high above the second, which may be equal; None: cells are levels. [V]"""

    @rate_hz.validator
    def _check_rate(self, _attribute: object, rate_hz: float | None) -> None:
        if rate_hz is not None and not 0 < rate_hz <= 1e12:
            raise BenchError([Problem("rate", quote_value(rate_hz), "a number above 0 and at most 1e12 Hz")])

    @thresholds_v.validator
    def _check_thresholds(self, _attribute: object, thresholds_v: tuple[float, float] | None) -> None:
        if thresholds_v is not None and not -1000 <= thresholds_v[0] <= thresholds_v[1] <= 1000:
            expected = "one voltage, or the lower and the upper one, from -1000 to 1000 V"
            raise BenchError([Problem("threshold", "{:g} and {:g} V".format(*thresholds_v), expected)])


PLAIN = Reading()
"""A table of times and levels."""


def read(path: Path, reading: Reading = PLAIN) -> Recording:
    """Read a table whole.

    Memory grows with the changes, 8 bytes each, not with the rows.

    Raises:
        BenchError: see `pieces`.
    """
    return join(read_pieces(path, reading))


def read_pieces(path: Path, reading: Reading = PLAIN, progress: Progress | None = None) -> Iterator[Recording]:
    """Read a table piece by piece, in bounded memory.

    Raises:
        BenchError: it is not a table of levels over time, is cut off, or its time goes back; gives the line.
    """
    name = str(path)
    stripped = ((number, line.strip()) for number, line in read_lines(path, progress))
    rows: Iterator[tuple[int, str]] = ((number, line) for number, line in stripped if line and line[0] not in ";#")
    number, line = next(rows, (0, ""))
    if not line:
        raise make_error(name, 0, "no row of levels", "a heading and rows of a time and levels")
    separator = ";" if ";" in line else "\t" if "\t" in line else ","
    head = _split_cells(line, separator)
    if len(head) < 2:
        raise make_error(name, number, quote_value(line, 40), "a time and at least one pin, separated by , ; or a tab")
    headless = _read_moment(head[0]) is not None
    sampled = head[0].lower().replace("_", " ").split(" ")[0] in _SAMPLE_NAMES
    if sampled and reading.rate_hz is None:
        advice = "give the sampling rate with --rate HZ"
        raise make_error(name, number, f"a column of samples, {quote_value(head[0], 40)}", "a time", advice)
    if reading.rate_hz is not None and not (headless or sampled):
        if _read_unit(head[0]) or re.match(r"(time|date|t)\b", head[0].lower()):
            advice = "leave out --rate"
            raise make_error(
                name, number, f"a column of times, {quote_value(head[0], 40)}", "a table of samples", advice
            )
        names, numbered = head, False
    else:
        names, numbered = head[1:], True
    if headless:
        names, rows = [f"D{index}" for index in range(len(head) - 1)], itertools.chain([(number, line)], rows)
    if len(set(names)) < len(names):
        raise make_error(name, number, "two pins of the same name", "different names")
    unit = "s" if headless or reading.rate_hz else _read_unit(head[0]) or "s"
    if unit not in UNITS_S:
        raise make_error(name, number, f"the unit {quote_value(unit, 20)}", "s, ms, us or ns")
    if not headless:
        unit, rows = _read_second_heading(unit, rows, separator)
    scale_s = 1 / reading.rate_hz if reading.rate_hz is not None else UNITS_S[unit]
    yield from _read_rows(name, rows, names, separator, scale_s, reading, numbered=numbered)


def _read_unit(heading: str) -> str:
    """Read the unit out of a heading of times: in brackets, or after a comma, a slash or an underscore; or nothing."""
    low = heading.lower().strip()
    bracketed = re.search(r"[\[(]\s*([a-zµμ]+)\s*[\])]", low)
    if bracketed:
        return _UNIT_NAMES.get(bracketed[1], bracketed[1])
    trailing = re.search(r"[,/_ ]\s*([a-zµμ]+)$", low)
    return _UNIT_NAMES.get(trailing[1] if trailing else low, "")


def _read_second_heading(
    unit: str, rows: Iterator[tuple[int, str]], separator: str
) -> tuple[str, Iterator[tuple[int, str]]]:
    """Skip a second heading that gives units, as oscilloscopes write, and read the unit of the time from it."""
    first = next(rows, None)
    if first is None:
        return unit, rows
    cell = _split_cells(first[1], separator)[0].lower().strip("()[] ")
    if cell in _UNIT_NAMES:
        return _UNIT_NAMES[cell], rows
    return unit, itertools.chain([first], rows)


Moment = int | float | Fraction
"""A time as it was read; whole numbers and dates are exact, so that a long way from their zero no digit is lost."""


def _read_moment(cell: str) -> Moment | None:
    """Read a time: a number, or a date and time in seconds."""
    if cell.isascii() and cell.isdigit() and len(cell) <= 20:
        return int(cell)
    try:
        value = float(cell.replace(",", "."))
    except ValueError:
        return _read_date(cell)
    return value if abs(value) < 1e12 else None


def _read_date(cell: str) -> Fraction | None:
    """Read a date and time, or a time of day, in seconds since 2000 or since midnight."""
    found = _ISO.fullmatch(cell)
    if not found:
        return None
    year, month, day, hour, minute, second, fraction, sign, hours, minutes = found.groups()
    try:
        whole = datetime(int(year or 2000), int(month or 1), int(day or 1), int(hour), int(minute), int(second), 0, UTC)
    except ValueError:
        return None
    ahead = timedelta(hours=int(hours or 0), minutes=int(minutes or 0)) * (-1 if sign == "-" else 1)
    seconds = (whole - ahead - datetime(2000, 1, 1, tzinfo=UTC)) // timedelta(seconds=1)
    return seconds + Fraction(f"0.{fraction or 0}")


def _read_rows(
    name: str,
    rows: Iterator[tuple[int, str]],
    names: list[str],
    separator: str,
    scale_s: float,
    reading: Reading,
    *,
    numbered: bool,
) -> Iterator[Recording]:
    changes: list[list[float]] = [[] for _ in names]
    first: list[int] = []
    level: list[int] = []
    began: Moment = 0
    now: Moment = 0
    gathered = 0
    convert = _make_conversion(name, names, separator, reading)

    def cut() -> Recording:
        pins = {
            label: Signal(start, np.array(at, dtype=np.float64) * scale_s)
            for label, start, at in zip(names, first, changes, strict=True)
        }
        return Recording(pins, float(now - began) * scale_s)

    for row, (number, line) in enumerate(rows):
        at: Moment | None
        if numbered:
            cell, _, rest = line.partition(separator)
            cell = cell.strip().strip('"')
            at = _read_moment(cell)
            if at is None:
                raise make_error(name, number, f"the time {quote_value(cell, 40)}", "a number, or a date and time")
        else:
            at, rest = row, line
        found = convert(number, rest, level)
        if level and at < now:
            raise make_error(name, number, f"time {float(at):g} after {float(now):g}", "a time that goes forward")
        if not level:
            first, began = found, at
        elif gathered >= MOST_CHANGES and at > now:
            yield cut()
            changes, first, gathered = [[] for _ in names], level, 0
        if level and found != level:
            for index, (before, after) in enumerate(zip(level, found, strict=True)):
                if before != after:
                    changes[index].append(float(at - began))
                    gathered += 1
        level, now = found, at
    if not level:
        raise make_error(name, 0, "a heading alone", "rows of a time and levels", "the capture is empty or truncated")
    yield cut()


def _split_cells(line: str, separator: str) -> list[str]:
    """Split a row into its cells; a separator at its end does not begin another one."""
    line = line.removesuffix(separator)
    cells = line.split(separator)
    if '"' in line:
        # What cannot be a quoted cell is split as it stands, and refused as a level or a time where that is read.
        with contextlib.suppress(csv.Error):
            cells = next(csv.reader([line], delimiter=separator))
    return [cell.strip() for cell in cells]


def _make_conversion(
    name: str, names: list[str], separator: str, reading: Reading
) -> Callable[[int, str, list[int]], list[int]]:
    """Return what turns a row's cells into levels, given its line, the row without its time, and the levels before."""
    known: dict[str, list[int]] = {}

    def split_cells(number: int, rest: str) -> list[str]:
        found = _split_cells(rest, separator) if rest else []
        if len(found) != len(names):
            of = f"{len(found)} of {len(names)} levels"
            raise make_error(name, number, of, "a level for each pin", "the capture may be truncated")
        return found

    def read_levels(number: int, rest: str, _before: list[int]) -> list[int]:
        if rest not in known:
            if len(known) == MOST_KNOWN:
                known.clear()
            known[rest] = [
                _read_level(name, number, *one) for one in zip(names, split_cells(number, rest), strict=True)
            ]
        return known[rest]

    def read_volts(number: int, rest: str, before: list[int]) -> list[int]:
        assert reading.thresholds_v is not None
        low_v, high_v = reading.thresholds_v
        found = [_read_volts(name, number, *one) for one in zip(names, split_cells(number, rest), strict=True)]
        if not before:
            return [int(value > (low_v + high_v) / 2) for value in found]
        return [
            1 if value > high_v else 0 if value < low_v else last for value, last in zip(found, before, strict=True)
        ]

    return read_levels if reading.thresholds_v is None else read_volts


def _read_level(name: str, line: int, pin: str, cell: str) -> int:
    level = _LEVELS.get(cell.lower())
    if level is None:
        advice = "for volts, give a threshold with --threshold, such as half the supply"
        is_number = _read_moment(cell) is not None and ":" not in cell
        raise make_error(
            name, line, f"{quote_value(cell, 40)} for {quote_value(pin, 40)}", "0 or 1", advice if is_number else ""
        )
    return level


def _read_volts(name: str, line: int, pin: str, cell: str) -> float:
    value = None if ":" in cell else _read_moment(cell)
    if value is None:
        raise make_error(name, line, f"{quote_value(cell, 40)} for {quote_value(pin, 40)}", "a voltage")
    return float(value)
