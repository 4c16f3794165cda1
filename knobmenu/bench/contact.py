"""Contact bounce: each ideal edge becomes a burst of edges.

The model. Each make and each break starts a burst whose length has a gamma distribution of shape 2, cut at the longest
length and scaled so that its mean is the stated one; a fraction of the edges do not bounce. Within a burst the contact
parts and meets again a random number of times, at moments that thin out towards its end (the square of an even random
fraction), as the energy of the spring is used up. Shape and spacing are assumptions; mean and longest are published
figures. A burst ends where the next ideal edge of the same contact begins: the contact goes to its new level there,
unless its bounce has just brought it there.
"""

from __future__ import annotations

import math
from functools import lru_cache

import attrs
import numpy as np
from numpy.typing import NDArray

from knobmenu.bench.errors import BenchError
from knobmenu.bench.randomness import make_stream
from knobmenu.bench.rules import Number
from knobmenu.bench.signal import NO_MOMENTS, Floats
from knobmenu.errors import Problem


@attrs.frozen(kw_only=True)
class Burst:
    """How a contact bounces at one kind of edge."""

    mean_ms: float = attrs.field(validator=Number(0, 1000, "ms", above=True))
    """Mean length of a burst, from its first edge to its last. [ms]"""
    longest_ms: float = attrs.field(validator=Number(0, 1000, "ms", above=True))
    """No burst is longer. [ms]"""
    bounces: float = attrs.field(validator=Number(1, 100))
    """Mean number of times that the contact parts and meets again in a burst. [unitless]"""
    no_bounce_fraction: float = attrs.field(default=0.0, validator=Number(0, 1))
    """Fraction of edges that do not bounce at all. [unitless]"""

    def __attrs_post_init__(self) -> None:
        if self.mean_ms > self.longest_ms:
            raise BenchError(
                [Problem("mean_ms", f"{self.mean_ms:g} ms", f"at most the longest, {self.longest_ms:g} ms")]
            )


@attrs.frozen(kw_only=True)
class Contact:
    """How a contact bounces when it closes and when it opens; None: it does not."""

    on_make: Burst | None = None
    """At the closing edge."""
    on_break: Burst | None = None
    """At the opening edge, the break."""


def _make_preset(mean_ms: float, longest_ms: float, bounces: float) -> Contact:
    # Break bounces are commonly fewer and shorter than make bounces (common practice).
    return Contact(
        on_make=Burst(mean_ms=mean_ms, longest_ms=longest_ms, bounces=bounces, no_bounce_fraction=0.1),
        on_break=Burst(
            mean_ms=mean_ms * 0.6, longest_ms=longest_ms, bounces=max(bounces * 0.6, 1.0), no_bounce_fraction=0.3
        ),
    )


PRESETS: dict[str, Contact] = {
    "clean": Contact(),
    # Data sheet of an 11 mm panel encoder: contact bounce 2.0 ms at most at 15 rpm, https://dtsheet.com/model/2985517
    "encoder-2ms": _make_preset(0.7, 2.0, 3.0),
    # Data sheet of a 24-pulse encoder: chatter at most 3.0 ms at 360 degrees/s,
    # https://xonelec.com/mpn/teconnectivity/dpl12v2424a20fg
    "encoder-3ms": _make_preset(1.0, 3.0, 4.0),
    # Data sheet of a low-profile encoder: 10 ms at most at 60 rpm, https://xonelec.com/mpn/bourns/pec11l4015fs0020
    "encoder-10ms": _make_preset(2.5, 10.0, 5.0),
    # Data sheet of a heavy-duty encoder: 30 ms at most at 60 rpm, https://xonelec.com/mpn/bourns/pec11h4015fs0016
    "encoder-30ms": _make_preset(6.0, 30.0, 8.0),
    # J. Ganssle, A Guide to Debouncing: 16 switches, mean 1557 us, longest 6200 us (read in a quotation).
    "switch": _make_preset(1.557, 6.2, 5.0),
    # Data sheets of three tactile switches: bounce 5 ms at most, https://dtsheet.com/doc/2762513/
    "tactile-5ms": _make_preset(1.2, 5.0, 4.0),
}
"""Contacts with published figures. Only mean and longest that the source names are published; the rest is assumed."""


class BouncingContact:
    """A contact that bounces at each of its ideal edges."""

    def __init__(self, contact: Contact, level: int, seed: int, source: int) -> None:
        """Begin at rest.

        Args:
            contact: how it bounces.
            level: 1 while closed, else 0.
            seed: settles the bursts.
            source: which contact it is, a `knobmenu.bench.randomness.Source`.
        """
        self._contact = contact
        self._ideal = self._level = level
        self._bursts, self._moments = make_stream(seed, source, 0), make_stream(seed, source, 1)
        self._pending = NO_MOMENTS

    @property
    def settled(self) -> bool:
        """Whether no burst is in progress."""
        return not len(self._pending)

    def feed(self, ideal_s: Floats, until_s: float) -> Floats:
        """Advance time.

        Args:
            ideal_s: the ideal edges since the call before, in order, none after `until_s`. [s]
            until_s: up to when, inclusive; not before the call before. [s]

        Returns:
            The edges of the contact since then, in order. [s]
        """
        if len(ideal_s):
            edges_s = self._bounce(ideal_s)
        elif len(self._pending):
            edges_s = self._pending
        else:
            return ideal_s
        count = int(np.searchsorted(edges_s, until_s, side="right"))
        self._pending = edges_s[count:]
        self._level ^= count & 1
        return edges_s[:count]

    def _bounce(self, ideal_s: Floats) -> Floats:
        """Return all further edges, if no further ideal edge comes. [s]"""
        count = len(ideal_s)
        closing = (np.arange(count) + self._ideal) % 2 == 0
        length_s, bounces = self._draw_lengths(closing)
        extra = 2 * bounces
        burst_of = np.repeat(np.arange(count), extra)
        position = self._moments.random(len(burst_of)) ** 2
        position[np.cumsum(extra)[extra > 0] - 1] = 1.0  # each burst reaches its length
        at_s = ideal_s[burst_of] + position * length_s[burst_of]
        at_s = at_s[np.lexsort((at_s, burst_of))]
        kept = at_s < np.append(ideal_s[1:], np.inf)[burst_of]
        head_s = self._pending[: np.searchsorted(self._pending, ideal_s[0])]
        # Where a burst is cut after an odd number of edges, the contact already is where its next edge would take it.
        before = np.bincount(burst_of[kept], minlength=count)[:-1] % 2
        takes = np.concatenate(([(self._level ^ len(head_s) & 1) == self._ideal], before == 0))
        self._ideal ^= count & 1
        edges_s = np.concatenate((head_s, ideal_s[takes], at_s[kept]))
        edges_s.sort()
        return edges_s

    def _draw_lengths(self, closing: NDArray[np.bool_]) -> tuple[Floats, NDArray[np.int64]]:
        """Draw the length of each burst, and how often the contact bounces in it. [s, bounces]"""
        # Three fractions for each edge, whatever it does with them: what comes later does not depend on it.
        drawn = self._bursts.random((len(closing), 3))
        length_s, bounces = np.zeros(len(closing)), np.zeros(len(closing), dtype=np.int64)
        for burst, which in ((self._contact.on_make, closing), (self._contact.on_break, ~closing)):
            if burst is None:
                continue
            first, second, third = drawn[which].T
            # The sum of two exponential variates has a gamma distribution of shape 2.
            gamma = -np.log1p(-first) - np.log1p(-second)
            length_s[which] = np.minimum(gamma * _find_scale_ms(burst), burst.longest_ms) / 1000
            fraction = burst.no_bounce_fraction
            left = (third - fraction) / max(1 - fraction, 1e-300)
            number = 1 + np.searchsorted(_compute_poisson(burst.bounces - 1), left, side="right")
            bounces[which] = np.where(third < fraction, 0, number)
        return length_s, bounces


@lru_cache(maxsize=64)
def _compute_poisson(mean: float) -> Floats:
    """Return the cumulative probabilities of a Poisson distribution, until the rest is negligible."""
    terms = [math.exp(-mean)]
    while len(terms) < mean + 12 * math.sqrt(mean) + 20:
        terms.append(terms[-1] * mean / len(terms))
    return np.cumsum(terms)


@lru_cache(maxsize=64)
def _find_scale_ms(burst: Burst) -> float:
    """Find the scale at which a gamma distribution of shape 2, cut at the longest length, has the stated mean."""
    target = min(burst.mean_ms / burst.longest_ms, 0.999)
    # In units of the longest length the mean of the cut distribution is s * (2 - exp(-1/s) * (2 + 1/s)), and it grows
    # with the scale s: from 2 s, where nothing is cut, to 1, where all is.
    low, high = target / 2, 1e3
    for _ in range(60):
        middle = math.sqrt(low * high)
        if middle * (2 - math.exp(-1 / middle) * (2 + 1 / middle)) < target:
            low = middle
        else:
            high = middle
    return high * burst.longest_ms
