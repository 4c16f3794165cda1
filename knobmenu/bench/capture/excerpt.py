"""An excerpt of a capture, small enough to draw: both pins, their bursts, and how far the knob had been turned."""

from __future__ import annotations

from collections.abc import Iterable

import attrs
import numpy as np

from knobmenu.bench.capture.bursts import Bursts, Counts, Flags, Grouping, Stepping, merge_edges
from knobmenu.bench.capture.clearance import Clearance
from knobmenu.bench.capture.measure import Measured
from knobmenu.bench.capture.recording import Capture
from knobmenu.bench.errors import BenchError
from knobmenu.bench.firmware import Counting
from knobmenu.bench.scope import View
from knobmenu.bench.signal import Floats, Signal
from knobmenu.errors import Problem

MOST_EDGES = 20_000
"""Most edges of both phases in an excerpt. [edges]"""

_BURSTS = 12
"""How many times as long as the longest bounce a view is at least, so that its edges can be seen apart. [unitless]"""

_PERIODS = 1.5
"""How many periods at the fastest speed a view shows at least. [periods]"""

_LENGTH_S = 0.25
"""How long a view is where neither is known. [s]"""

_BEFORE = 0.4
"""Which part of a view comes before the longest bounce. [unitless]"""


@attrs.frozen(eq=False)
class Excerpt:
    """A part of a capture."""

    view: View
    """Which part."""
    pins: tuple[Signal, Signal]
    """Phases A and B at the pins, 1 is high; `first` is the level at the beginning of the view."""
    bursts: Bursts
    """Every burst that touches the view."""
    are_clear: Flags
    """Which of them stand clear of their neighbours, so that they were measured."""
    turned_s: Floats
    """When a quarter period was turned. [s]"""
    quarters: Counts
    """Where the knob was then, A leading is positive, from where the capture begins. [quarters]"""
    quarters_before: int
    """Where it was at the beginning of the view. [quarters]"""
    counted_s: Floats
    """When a firmware counted. [s]"""
    counted: Counts
    """What it counted each time. [detents]"""
    net_before: int
    """What it had counted before. [detents]"""


def choose_view(measured: Measured) -> View:
    """Choose the part of a capture around its longest bounce that was measured; without one, its beginning."""
    fastest = measured.fastest_periods_per_s
    length_s = max(_BURSTS * measured.longest_bounce_s, _PERIODS / fastest if fastest else 0.0) or _LENGTH_S
    length_s = min(length_s, measured.end_s)
    begin_s = (measured.longest_at_s or 0.0) - _BEFORE * length_s
    return View(max(min(begin_s, measured.end_s - length_s), 0.0), length_s)


def cut(capture: Capture, measured: Measured, countings: Iterable[Counting], view: View) -> Excerpt:
    """Cut an excerpt out of a capture, which is read once, in bounded memory.

    Args:
        capture: the capture.
        measured: what it tells.
        countings: what a firmware counted of it, in order of time.
        view: the part.

    Raises:
        BenchError: the part has more than `MOST_EDGES` edges.
    """
    grouping, clearance = Grouping(measured.quiet_s), Clearance(measured.longest_gap_s)
    stepping: Stepping | None = None
    first = [0, 0]
    changes_s: list[list[Floats]] = [[], []]
    bursts, flags, times_s, steps = [], [], [], []
    quarters_before = 0

    def keep(found: Bursts, clear: Flags) -> None:
        nonlocal quarters_before
        assert stepping is not None
        touching = (found.ends_s >= view.begin_s) & (found.begins_s <= view.end_s)
        bursts.append(found[touching])
        flags.append(clear[touching])
        real = found[found.are_real]
        turned = stepping.feed(real)[1]
        begin, end = np.searchsorted(real.begins_s, (view.begin_s, view.end_s)).tolist()
        quarters_before += int(turned[:begin].sum())
        times_s.append(real.begins_s[begin:end])
        steps.append(turned[begin:end])

    for piece in capture.walk_pieces():
        a, b = piece.get_pin(measured.pin_a), piece.get_pin(measured.pin_b)
        if stepping is None:
            stepping = Stepping(a.first << 1 | b.first)
            first = [a.first, b.first]
        for phase, pin in enumerate((a, b)):
            begin, end = np.searchsorted(pin.changes_s, (view.begin_s, view.end_s), side="right").tolist()
            first[phase] ^= begin & 1
            changes_s[phase].append(pin.changes_s[begin:end])
        _refuse_too_many(changes_s)
        keep(*clearance.feed(grouping.feed(*merge_edges(a, b))))
    keep(*clearance.feed(grouping.end()))
    keep(*clearance.end(measured.end_s))
    counted_s, counted, net_before = _cut_counts(countings, view)
    return Excerpt(
        view=view,
        pins=(Signal(first[0], np.concatenate(changes_s[0])), Signal(first[1], np.concatenate(changes_s[1]))),
        bursts=sum(bursts[1:], bursts[0]),
        are_clear=np.concatenate(flags),
        turned_s=np.concatenate(times_s),
        quarters=quarters_before + np.cumsum(np.concatenate(steps)),
        quarters_before=quarters_before,
        counted_s=counted_s,
        counted=counted,
        net_before=net_before,
    )


def _cut_counts(countings: Iterable[Counting], view: View) -> tuple[Floats, Counts, int]:
    times_s: list[Floats] = [np.zeros(0)]
    counted: list[Counts] = [np.zeros(0, dtype=np.int64)]
    before = 0
    for one in countings:
        begin, end = np.searchsorted(one.counted_s, (view.begin_s, view.end_s)).tolist()
        before += int(one.counted[:begin].sum())
        times_s.append(one.counted_s[begin:end])
        counted.append(one.counted[begin:end])
    return np.concatenate(times_s), np.concatenate(counted), before


def _refuse_too_many(changes_s: list[list[Floats]]) -> None:
    edges = sum(len(part_s) for phase in changes_s for part_s in phase)
    if edges > MOST_EDGES:
        advice = "draw a shorter part with --from-ms and --to-ms"
        raise BenchError([Problem("--plot", f"{edges} edges", f"at most {MOST_EDGES} edges in a picture", advice)])
