"""One contact and its pin, edge by edge as time goes on: what `contact` and `filter` do to a whole signal at once.

A knob that is turned now has no end yet, so its stages keep what they are in the middle of: a burst that is not over,
a voltage on its way. What was told once never changes by what comes later. The arithmetic is that of the whole-signal
stages; tests hold one to the other.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable

import numpy as np

from knobmenu.bench.contact import Contact, bouncing
from knobmenu.bench.filter import Filter
from knobmenu.bench.signal import Signal


class ContactStream:
    """A contact that bounces at each of its ideal edges.

    A burst is cut by the next ideal edge, where the contact goes to its new level at once. The whole-signal stage
    also takes away an edge before the cut, so that an even number is left; by then it has happened here.
    """

    def __init__(self, contact: Contact, level: int, generator: np.random.Generator) -> None:
        """Begin at rest.

        Args:
            contact: how it bounces.
            level: 1 while closed, else 0.
            generator: draws the bursts, in the order of the edges.
        """
        self._contact = contact
        self._generator = generator
        self._ideal = self._level = level
        self._burst: deque[float] = deque()

    @property
    def settled(self) -> bool:
        """Whether no burst is under way."""
        return not self._burst

    def until(self, ideal_s: Iterable[float], to_s: float) -> list[float]:
        """Let time pass.

        Args:
            ideal_s: the ideal edges since the call before, none after `to_s`. [s]
            to_s: up to when, inclusive; not before the call before. [s]

        Returns:
            The edges of the contact since then, in order. [s]
        """
        edges: list[float] = []
        for edge_s in ideal_s:
            self._bounce(edge_s, edges)
            self._burst.clear()
            lone = Signal(self._ideal, np.array([edge_s]))
            self._burst.extend(bouncing(self._contact, lone, self._generator).changes_s[1:].tolist())
            self._ideal = 1 - self._ideal
            if self._level != self._ideal:
                self._level = self._ideal
                edges.append(edge_s)
        self._bounce(to_s, edges)
        return edges

    def _bounce(self, to_s: float, edges: list[float]) -> None:
        while self._burst and self._burst[0] <= to_s:
            edges.append(self._burst.popleft())
            self._level = 1 - self._level


class PinStream:
    """A pin behind a filter: one exponential from each edge of the contact to the next."""

    def __init__(self, parts: Filter, level: int) -> None:
        """Begin settled.

        Args:
            parts: the filter.
            level: of the contact, 1 while closed, else 0.
        """
        self._parts = parts
        self._closed = bool(level)
        self._seen = level
        self._begin_s = 0.0
        self._begin_v = self._target_v
        self._passes_s = math.inf

    @property
    def settled(self) -> bool:
        """Whether no threshold will be passed any more."""
        return math.isinf(self._passes_s)

    @property
    def _target_v(self) -> float:
        return self._parts.closed_v if self._closed else self._parts.supply_v

    @property
    def _constant_s(self) -> float:
        return self._parts.closed_s if self._closed else self._parts.open_s

    def until(self, contact_s: Iterable[float], to_s: float) -> list[float]:
        """Let time pass.

        Args:
            contact_s: the edges of the contact since the call before, none after `to_s`. [s]
            to_s: up to when, inclusive; not before the call before. [s]

        Returns:
            The edges of the pin since then, in order. [s]
        """
        if not self._parts.capacitor_f:
            return list(contact_s)
        edges: list[float] = []
        for edge_s in contact_s:
            self._pass(edge_s, edges)
            left = math.exp(-(edge_s - self._begin_s) / self._constant_s)
            self._begin_v = self._target_v + (self._begin_v - self._target_v) * left
            self._begin_s = edge_s
            self._closed = not self._closed
            self._passes_s = self._passing_s()
        self._pass(to_s, edges)
        return edges

    def _pass(self, to_s: float, edges: list[float]) -> None:
        if self._passes_s <= to_s:
            edges.append(self._passes_s)
            self._seen = 1 - self._seen
            self._passes_s = math.inf

    def _passing_s(self) -> float:
        """Give when the voltage passes the threshold that it is bound for, if it is left alone; infinity: never. [s]"""
        if self._seen == self._closed:
            return math.inf
        threshold_v = self._parts.falling_v if self._closed else self._parts.rising_v
        way = (self._begin_v - self._target_v) / (threshold_v - self._target_v)
        return self._begin_s + self._constant_s * math.log(max(way, 1.0))
