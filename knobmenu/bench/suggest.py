"""Which resistor and capacitor to buy: each judged with the whole chain, its motion and its decoder."""

from __future__ import annotations

import attrs

from knobmenu.bench.chain import Chain, change
from knobmenu.bench.corners import list_worst_corners, make_nominal
from knobmenu.bench.filter import compute_break_removed_s, compute_make_removed_s
from knobmenu.bench.preferred import group_candidates
from knobmenu.bench.reach import holds
from knobmenu.bench.run import count, run
from knobmenu.bench.verdict import Progress, find_reached, get_target, list_seeds, reach_verdict

MOST = 9
"""Most filters that are judged, of those that remove different parts of the bounce."""


@attrs.frozen(kw_only=True)
class Suggestion:
    """A pair of parts, and the speed that the chain reaches with it."""

    chain: Chain
    """The chain with these parts in its filter: a series resistor, and a capacitor from pin to ground."""
    reached_turns_per_s: float
    """Up to which speed the chain counts right with it, by its own verdict at the worst corner; 0: none. [turns/s]"""

    @property
    def removed_ms(self) -> float:
        """The longest burst that is surely removed, at the worst corner. [ms]"""
        corners = list_worst_corners(self.chain.filter, self.chain.tolerance)
        parts = [one for corner in corners for one in (corner.a, corner.b)]
        return 1000 * min(min(compute_make_removed_s(one), compute_break_removed_s(one)) for one in parts)

    @property
    def margin(self) -> float:
        """The speed that is reached against the target. [unitless]"""
        return self.reached_turns_per_s / get_target(self.chain)

    @property
    def is_enough(self) -> bool:
        """Whether the chain reaches its target with it."""
        return self.margin >= 1


def suggest(chain: Chain, progress: Progress = lambda words: None) -> list[Suggestion]:
    """Suggest filters for a Schmitt trigger, the one with the highest speed first.

    Args:
        chain: the chain; its own filter is replaced, but for supply, pull-up and contact.
        progress: called now and then with what is being tried.

    Returns:
        Every candidate with what it reaches, also those that are not enough.
    """
    found = []
    progress("choosing parts to judge")
    chosen = [_choose(chain, alike) for alike in group_candidates(chain)[:MOST]]
    for number, (series_ohm, capacitor_f) in enumerate(chosen, 1):
        words = f"{series_ohm:g} ohm and {capacitor_f * 1e9:g} nF, {number} of {len(chosen)}"
        tried = _equip(chain, series_ohm, capacitor_f)
        progress(f"trying {words}")
        found.append(Suggestion(chain=tried, reached_turns_per_s=_reach(tried, progress)))
    return sorted(found, key=lambda one: (-one.reached_turns_per_s, -one.removed_ms))


def _equip(chain: Chain, series_ohm: float, capacitor_f: float) -> Chain:
    """Return the chain with a filter and a Schmitt trigger."""
    return change(
        chain, {"filter.input": "schmitt", "filter.series_ohm": series_ohm, "filter.capacitor_f": capacitor_f}
    )


def _reach(chain: Chain, progress: Progress) -> float:
    """Return the speed up to which a chain counts right at the worst corner, as in its verdict. [turns/s]"""
    reached = find_reached(chain, list_worst_corners(chain.filter, chain.tolerance), {}, progress).turns_per_s
    # Nominal parts are hardly ever worse than every corner; only then is the whole verdict needed.
    if not reached or holds(chain, reached, make_nominal(chain.filter), list_seeds(chain, ())):
        return reached
    return reach_verdict(chain, progress).worst.turns_per_s


def _choose(chain: Chain, alike: list[tuple[float, float]]) -> tuple[float, float]:
    """Choose, among pairs that remove the same bounce, the one with the fewest errors in the chain's own motion."""
    return min(alike, key=lambda pair: _count_errors(_equip(chain, *pair)))


def _count_errors(chain: Chain) -> int:
    """Count the errors of one run at each corner, at the target and somewhat above."""
    seed = chain.judging.first_seed
    return sum(
        count(run(chain, seed, get_target(chain) * factor, corner)).errors
        for factor in _FACTORS
        for corner in list_worst_corners(chain.filter, chain.tolerance)
    )


_FACTORS = (1.0, 1.6, 2.5)
"""Speeds at which pairs are compared, in targets. [unitless]"""
