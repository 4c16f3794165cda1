"""Contacts bounce: each ideal edge becomes a burst of edges.

The model. Each make and each break starts a burst whose length is drawn from a gamma distribution that is cut at the
longest length, and scaled so that its mean is the stated one; some edges are clean. Within a burst the contact parts
and meets again a drawn number of times, at moments that thin out towards its end (the square of an evenly drawn share),
as the energy of the spring is used up. Shape and spacing are assumptions; mean and longest are published figures. A
burst ends where the next ideal edge of the same contact begins.
"""

from __future__ import annotations

import math
from functools import lru_cache

import attrs
import numpy as np

from knobmenu.bench.signal import Signal


@attrs.frozen(kw_only=True)
class Burst:
    """How a contact bounces at one kind of edge."""

    mean_ms: float
    """Mean length of a burst, from its first edge to its last. [ms]"""
    longest_ms: float
    """No burst is longer. [ms]"""
    bounces: float
    """Mean number of times that the contact parts and meets again in a burst that is not clean, above 0. [unitless]"""
    clean_share: float = 0.0
    """Share of edges that do not bounce at all, 0 to 1. [unitless]"""


@attrs.frozen(kw_only=True)
class Contact:
    """How a contact bounces when it closes and when it opens; nothing: it does not."""

    on_make: Burst | None = None
    """At the closing edge."""
    on_break: Burst | None = None
    """At the opening edge, the break."""


def _preset(mean_ms: float, longest_ms: float, bounces: float) -> Contact:
    # Break bounces are commonly fewer and shorter than make bounces (common practice).
    return Contact(
        on_make=Burst(mean_ms=mean_ms, longest_ms=longest_ms, bounces=bounces, clean_share=0.1),
        on_break=Burst(mean_ms=mean_ms * 0.6, longest_ms=longest_ms, bounces=max(bounces * 0.6, 1.0), clean_share=0.3),
    )


PRESETS: dict[str, Contact] = {
    "clean": Contact(),
    # Data sheet of an 11 mm panel encoder: contact bounce 2.0 ms at most at 15 rpm, https://dtsheet.com/model/2985517
    "encoder-2ms": _preset(0.7, 2.0, 3.0),
    # Data sheet of a 24-pulse encoder: chatter at most 3.0 ms at 360 degrees/s,
    # https://xonelec.com/mpn/teconnectivity/dpl12v2424a20fg
    "encoder-3ms": _preset(1.0, 3.0, 4.0),
    # Data sheet of a low-profile encoder: 10 ms at most at 60 rpm, https://xonelec.com/mpn/bourns/pec11l4015fs0020
    "encoder-10ms": _preset(2.5, 10.0, 5.0),
    # Data sheet of a heavy-duty encoder: 30 ms at most at 60 rpm, https://xonelec.com/mpn/bourns/pec11h4015fs0016
    "encoder-30ms": _preset(6.0, 30.0, 8.0),
    # J. Ganssle, A Guide to Debouncing: 16 switches, mean 1557 us, longest 6200 us (read in a quotation).
    "switch": _preset(1.557, 6.2, 5.0),
    # Data sheets of three tactile switches: bounce 5 ms at most, https://dtsheet.com/doc/2762513/
    "tactile-5ms": _preset(1.2, 5.0, 4.0),
}
"""Contacts with published figures. Only mean and longest that the source names are published; the rest is assumed."""


def bouncing(contact: Contact, ideal: Signal, generator: np.random.Generator) -> Signal:
    """Let an ideal contact bounce.

    Args:
        contact: how.
        ideal: the contact without bounce.
        generator: draws the bursts.

    Returns:
        The contact with its bursts; at rest it has the level that the ideal one has.
    """
    count = len(ideal.changes_s)
    if not count or (contact.on_make is None and contact.on_break is None):
        return ideal
    closing = (np.arange(count) + ideal.first) % 2 == 0
    length_s, bounces = np.zeros(count), np.zeros(count, dtype=np.int64)
    for burst, which in ((contact.on_make, closing), (contact.on_break, ~closing)):
        if burst is None:
            continue
        here = int(which.sum())
        # Shape 2: short bursts are common and none has length 0.
        drawn_ms = np.minimum(generator.gamma(2.0, _scale_ms(burst), here), burst.longest_ms)
        length_s[which] = drawn_ms / 1000
        number = 1 + generator.poisson(max(burst.bounces - 1.0, 0.0), here)
        bounces[which] = np.where(generator.random(here) < burst.clean_share, 0, number)

    extra = 2 * bounces
    burst_of = np.repeat(np.arange(count), extra)
    share = generator.random(len(burst_of)) ** 2
    last = np.cumsum(extra)[extra > 0] - 1
    share[last] = 1.0  # each burst reaches its drawn length
    at_s = ideal.changes_s[burst_of] + share * length_s[burst_of]
    at_s = at_s[np.lexsort((at_s, burst_of))]

    next_s = np.append(ideal.changes_s[1:], np.inf)[burst_of]
    kept = at_s < next_s
    kept_in = np.bincount(burst_of[kept], minlength=count)
    nth = np.arange(len(burst_of)) - np.repeat(np.cumsum(extra) - extra, extra)
    # The contact must have settled when its next edge begins: a burst that is cut keeps an even number of edges.
    kept &= nth < (kept_in - kept_in % 2)[burst_of]
    every = np.concatenate((ideal.changes_s, at_s[kept]))
    every.sort(kind="stable")
    return Signal(ideal.first, every)


@lru_cache(maxsize=64)
def _scale_ms(burst: Burst) -> float:
    """Find the scale at which a gamma distribution of shape 2, cut at the longest length, has the stated mean."""
    wanted = min(burst.mean_ms / burst.longest_ms, 0.999)
    # In units of the longest length the mean of the cut distribution is s * (2 - exp(-1/s) * (2 + 1/s)), and it grows
    # with the scale s: from 2 s, where nothing is cut, to 1, where all is.
    low, high = wanted / 2, 1e3
    for _ in range(60):
        middle = math.sqrt(low * high)
        if middle * (2 - math.exp(-1 / middle) * (2 + 1 / middle)) < wanted:
            low = middle
        else:
            high = middle
    return high * burst.longest_ms
