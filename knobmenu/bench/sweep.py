"""Two parameters of a chain, varied together: a map of errors, computed on all cores."""

from __future__ import annotations

import contextlib
import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed

import attrs

from knobmenu.bench.chain import SECTIONS, Chain, change
from knobmenu.bench.errors import BenchError
from knobmenu.bench.rules import Number, describe_problem
from knobmenu.bench.verdict import is_good, measure_row
from knobmenu.errors import Problem, nearest, one_of, quote_value

MOST_CELLS = 10_000
"""Most cells in one map."""

SWEPT = ("turning", "encoder", "contact", "filter", "reader")
"""The sections whose numbers can be swept."""


@attrs.frozen(kw_only=True)
class Axis:
    """One parameter and the values that it takes."""

    path: str
    """Where it is in the chain, such as ``reader.period_ms``."""
    values: tuple[float, ...]
    """Its values, in the unit that its name says."""


@attrs.frozen
class Cell:
    """The result of one chain of a map."""

    error_rate: float
    """Errors for each true detent. [unitless]"""
    is_tolerated: bool
    """Whether they are no more than is tolerated."""


@attrs.frozen(kw_only=True)
class Map:
    """Errors over two parameters."""

    across: Axis
    """The parameter whose values are the columns."""
    down: Axis
    """The parameter whose values are the rows."""
    cells: tuple[tuple[Cell | None, ...], ...]
    """Each chain, a tuple a row; None where such a chain cannot be."""
    tolerated_error_rate: float
    """Errors for each true detent that are tolerated. [unitless]"""


def read_axis(text: str) -> Axis:
    """Read an axis: ``reader.period_ms=1:10:5``, five values from 1 to 10, or ``=1,2,5`` for exactly these values.

    Five values that go over more than a decade are spaced by equal ratios, else by equal steps.

    Raises:
        BenchError: it cannot be read, or there is no such number in a chain.
    """
    path, _, values_text = (part.strip() for part in text.partition("="))
    rule = _find_rule(path)
    if rule is None:
        numbers = [
            f"{section}.{key}" for section in SWEPT for key, one in SECTIONS[section].items() if isinstance(one, Number)
        ]
        raise BenchError([Problem("sweep", quote_value(path), one_of(numbers, 6), nearest(path, numbers))])
    try:
        if ":" in values_text:
            low_text, high_text, number_text = values_text.split(":")
            values = _spread(float(low_text), float(high_text), int(number_text))
        else:
            values = tuple(float(value) for value in values_text.split(","))
    except ValueError:
        expected = f"{path}=LOW:HIGH:NUMBER, or values with commas between"
        raise BenchError([Problem("sweep", quote_value(text), expected)]) from None
    if rule.whole:
        values = tuple(dict.fromkeys(float(round(value)) for value in values))
    for value in values:
        typed = int(value) if value.is_integer() else value
        if not rule.accepts(typed):
            raise BenchError([describe_problem(rule, f"sweep.{path}", typed)])
    return Axis(path=path, values=values)


def _find_rule(path: str) -> Number | None:
    """Return the rule of a number that can be swept; None if it cannot."""
    section, _, key = path.partition(".")
    rule = SECTIONS[section].get(key) if section in SWEPT else None
    return rule if isinstance(rule, Number) else None


def _spread(low: float, high: float, number: int) -> tuple[float, ...]:
    if not 2 <= number <= 1000 or high <= low:
        raise ValueError
    parts = [index / (number - 1) for index in range(number)]
    if low > 0 and high / low > 10:
        return tuple(float(low * (high / low) ** part) for part in parts)
    return tuple(low + (high - low) * part for part in parts)


def try_cell(chain: Chain, down: tuple[str, float], across: tuple[str, float], seeds: int) -> Cell | None:
    """Try one chain of a map; return None if such a chain is invalid."""
    try:
        tried = change(chain, {path: _convert(path, value) for path, value in (down, across)})
    except BenchError:
        return None
    found = measure_row(tried, tried.turning.turns_per_s, seeds)
    return Cell(found.error_rate, is_good(tried, found))


def _convert(path: str, value: float) -> float:
    return int(value) if getattr(_find_rule(path), "whole", False) else value


def sweep(
    chain: Chain,
    down: Axis,
    across: Axis,
    *,
    seeds: int = 5,
    workers: int | None = None,
    progress: Callable[[int, int], None] = lambda done, cells: None,
) -> Map:
    """Compute a whole map.

    Args:
        chain: the chain that is varied.
        down: the parameter of the rows.
        across: the parameter of the columns.
        seeds: runs for each cell; 2 at least.
        workers: processes; as many as there are cores, if not said.
        progress: Called with the number of cells done and the number of all cells.

    Raises:
        BenchError: the map would be too large, or both parameters are the same.
    """
    cells = len(down.values) * len(across.values)
    if cells > MOST_CELLS:
        raise BenchError([Problem("sweep", f"{cells} cells", f"at most {MOST_CELLS}", "ask for fewer values")])
    if down.path == across.path:
        raise BenchError([Problem("sweep", f"{down.path} twice", "two different parameters")])
    found: dict[tuple[int, int], Cell | None] = {}
    for place, one in _work(chain, down, across, seeds, workers or os.cpu_count() or 1):
        found[place] = one
        progress(len(found), cells)
    return Map(
        across=across,
        down=down,
        cells=tuple(
            tuple(found[line, column] for column in range(len(across.values))) for line in range(len(down.values))
        ),
        tolerated_error_rate=chain.judging.tolerated_error_rate,
    )


def _work(
    chain: Chain, down: Axis, across: Axis, seeds: int, workers: int
) -> Iterator[tuple[tuple[int, int], Cell | None]]:
    places = [(line, column) for line in range(len(down.values)) for column in range(len(across.values))]

    def make_request(place: tuple[int, int]) -> tuple[Chain, tuple[str, float], tuple[str, float], int]:
        line, column = place
        return chain, (down.path, down.values[line]), (across.path, across.values[column]), seeds

    if workers == 1 or len(places) < 8:
        for place in places:
            yield place, try_cell(*make_request(place))
        return
    # Only this process handles an interrupt.
    pool = ProcessPoolExecutor(workers, initializer=signal.signal, initargs=(signal.SIGINT, signal.SIG_IGN))
    try:
        with _block_interrupts():
            waiting = {pool.submit(try_cell, *make_request(place)): place for place in places}
        for done in as_completed(waiting):
            yield waiting[done], done.result()
    finally:
        # An interrupted map of many cells does not wait for those that have not begun.
        pool.shutdown(cancel_futures=True)


@contextlib.contextmanager
def _block_interrupts() -> Iterator[None]:
    """Put an interrupt off, so that a process that begins here does not meet one before it ignores them."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
