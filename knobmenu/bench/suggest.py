"""Which resistor and capacitor to buy: each judged with the whole chain, its motion and its decoder."""

from __future__ import annotations

import attrs

from knobmenu.bench.chain import Chain, change
from knobmenu.bench.corners import worst_corners
from knobmenu.bench.filter import break_removed_s, make_removed_s
from knobmenu.bench.inputs import thresholds_v
from knobmenu.bench.preferred import candidates
from knobmenu.bench.reach import walk
from knobmenu.bench.verdict import Progress, target

MOST = 9
"""Most filters that are judged."""


@attrs.frozen(kw_only=True)
class Suggestion:
    """A pair of parts, and what the chain reaches with it."""

    series_ohm: float
    """Series resistor from contact to pin. [ohm]"""
    capacitor_f: float
    """Capacitor from pin to ground. [F]"""
    removed_ms: float
    """The longest burst that is surely removed, at the worst corner. [ms]"""
    reached_turns_per_s: float
    """The fastest of the tried speeds that is right with every slower one, at the worst corner; 0: none. [turns/s]"""
    margin: float
    """That speed against the target. [unitless]"""
    chain: Chain
    """The chain with these parts."""

    @property
    def is_enough(self) -> bool:
        """Whether the chain reaches its target with it."""
        return self.margin >= 1


def suggest(chain: Chain, progress: Progress = lambda words: None) -> list[Suggestion]:
    """Suggest filters for a Schmitt trigger, the one that reaches most first.

    Args:
        chain: the chain; its own filter is replaced, but for supply, pull-up and contact.
        progress: called now and then with what is being tried.

    Returns:
        Every candidate with what it reaches, also those that are not enough.
    """
    rising_v, falling_v = thresholds_v("schmitt", chain.filter.supply_v)
    found = []
    for series_ohm, capacitor_f in candidates(chain, MOST):
        progress(f"trying {series_ohm:g} ohm and {capacitor_f * 1e9:g} nF")
        parts = {"filter.series_ohm": series_ohm, "filter.capacitor_f": capacitor_f}
        tried = change(chain, {**parts, "filter.rising_v": rising_v, "filter.falling_v": falling_v})
        corners = [one for corner in worst_corners(tried.filter, tried.tolerance) for one in (corner.a, corner.b)]
        reached = walk(tried).reached
        found.append(
            Suggestion(
                series_ohm=series_ohm,
                capacitor_f=capacitor_f,
                removed_ms=1000 * min(min(make_removed_s(one), break_removed_s(one)) for one in corners),
                reached_turns_per_s=reached,
                margin=reached / target(chain),
                chain=tried,
            )
        )
    return sorted(found, key=lambda one: (-one.reached_turns_per_s, -one.removed_ms))
