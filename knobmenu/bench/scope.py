"""A run as an oscilloscope would show it: for each signal one span per column, as plain numbers to draw."""

from __future__ import annotations

import attrs
import numpy as np

from knobmenu.bench import filter
from knobmenu.bench.filter import Filter
from knobmenu.bench.motion import Motion
from knobmenu.bench.signal import Floats, Signal

Span = tuple[float, float]
"""The lowest and the highest that a signal was within a column."""


@attrs.frozen
class View:
    """The part of a run that is shown."""

    begin_s: float
    """Where it begins. [s]"""
    length_s: float
    """How long it is, above 0. [s]"""

    @property
    def end_s(self) -> float:
        """Where it ends. [s]"""
        return self.begin_s + self.length_s


@attrs.frozen
class Window:
    """The part of a run that is shown, and how finely."""

    begin_s: float
    """Where it begins. [s]"""
    end_s: float
    """Where it ends, after `begin_s`. [s]"""
    columns: int
    """How many columns it is drawn in, at least 1. [columns]"""

    @property
    def _bounds_s(self) -> Floats:
        return np.linspace(self.begin_s, self.end_s, self.columns + 1)

    def find_column(self, at_s: float) -> int | None:
        """Return the column that contains a moment; None outside. [columns]"""
        if not self.begin_s <= at_s < self.end_s:
            return None
        return min(int((at_s - self.begin_s) / (self.end_s - self.begin_s) * self.columns), self.columns - 1)


def find_levels(signal: Signal, window: Window) -> tuple[Span, ...]:
    """Return the levels of a signal: equal where it is constant, 0 and 1 where it changes."""
    place = np.searchsorted(signal.changes_s, window._bounds_s)
    level = (place + signal.first) & 1
    changes = np.diff(place) > 0
    low, high = np.where(changes, 0, level[:-1]), np.where(changes, 1, level[:-1])
    return tuple(zip(low.tolist(), high.tolist(), strict=True))


def find_volts(parts: Filter, contact: Signal, window: Window) -> tuple[Span, ...]:
    """Return the voltage at the pin. [V]"""
    bounds_s = window._bounds_s
    # Between two edges of the contact a voltage only rises or only falls, so its ends are its extremes.
    inside_s = contact.changes_s[(contact.changes_s > window.begin_s) & (contact.changes_s < window.end_s)]
    at_s = np.concatenate((bounds_s, inside_s))
    volt = filter.compute_voltage(parts, contact, at_s)
    edge_v, inside_v = volt[: len(bounds_s)], volt[len(bounds_s) :]
    low, high = np.minimum(edge_v[:-1], edge_v[1:]), np.maximum(edge_v[:-1], edge_v[1:])
    column = np.clip(np.searchsorted(bounds_s, inside_s, side="right") - 1, 0, window.columns - 1)
    np.minimum.at(low, column, inside_v)
    np.maximum.at(high, column, inside_v)
    return tuple(zip(low.tolist(), high.tolist(), strict=True))


def mark_columns(moments_s: Floats, window: Window) -> tuple[bool, ...]:
    """Return which columns contain any of the moments."""
    counts = np.histogram(moments_s, bins=window._bounds_s)[0]
    return tuple((counts > 0).tolist())


def mark_stretches(stretches_s: list[tuple[float, float]], window: Window) -> tuple[bool, ...]:
    """Return which columns a stretch of time covers, at least half or with its start. [s]"""
    found = np.zeros(window.columns, dtype=np.bool_)
    middles_s = (window._bounds_s[:-1] + window._bounds_s[1:]) / 2
    for begin_s, end_s in stretches_s:
        found |= (middles_s >= begin_s) & (middles_s <= end_s)
        column = window.find_column(begin_s)
        if column is not None:
            found[column] = True
    return tuple(found.tolist())


def reach_detents(motion: Motion) -> list[tuple[float, int]]:
    """Return when the hand reaches each detent, and its number from the start. [s, detents]"""
    found: list[tuple[float, int]] = []
    for begin_s, end_s, true in motion.strokes:
        if not true:
            continue
        inside = (motion.at_s >= begin_s) & (motion.at_s <= end_s)
        at_s, angle = motion.at_s[inside], motion.detents[inside]
        start, way = round(float(angle[0])), 1 if true > 0 else -1
        numbers = np.arange(1, abs(true) + 1)
        # A hair before the detent: at rest on it the angle stays, and only its first moment counts.
        moments = np.interp(numbers - 1e-9, way * (angle - start), at_s)
        found += [(float(at), start + way * int(number)) for at, number in zip(moments, numbers, strict=True)]
    return found
