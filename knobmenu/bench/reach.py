"""How fast a chain can be turned, found quickly: from slow to fast, until a speed is bad at some corner."""

from __future__ import annotations

import attrs

from knobmenu.bench.chain import Chain
from knobmenu.bench.corners import Corner, list_worst_corners, make_nominal
from knobmenu.bench.figures import format_number
from knobmenu.bench.run import count_run
from knobmenu.bench.statistics import is_tolerated
from knobmenu.bench.verdict import Progress, count_true_detents, get_target, ignore, list_seeds, list_speeds

BEYOND = 1.5
"""Speeds are tried up to this many times the target. [unitless]"""


@attrs.frozen
class Walk:
    """A chain, tried from slow to fast."""

    chain: Chain
    """The chain."""
    reached: float
    """The fastest of the tried speeds that is good with every slower one, at every corner; 0: none. [turns/s]"""
    failing: float | None
    """The first bad one; None: there was none. [turns/s]"""


def walk(chain: Chain, progress: Progress = ignore) -> Walk:
    """Try a chain from slow to fast, a little beyond its target, until a speed is bad at some corner.

    Args:
        chain: the chain.
        progress: called before each run; it may raise to end the walk.
    """
    reached = 0.0
    for speed in list_speeds(chain):
        if not holds_everywhere(chain, speed, progress):
            return Walk(chain, reached, speed)
        reached = speed
        if speed >= BEYOND * get_target(chain):
            break
    return Walk(chain, reached, None)


def holds_everywhere(chain: Chain, turns_per_s: float, progress: Progress = ignore) -> bool:
    """Tell whether a speed errs no more than is tolerated, at nominal parts and at every corner."""
    corners = list_worst_corners(chain.filter, chain.tolerance)
    return holds(chain, turns_per_s, make_nominal(chain.filter), list_seeds(chain, ()), progress) and all(
        holds(chain, turns_per_s, corner, list_seeds(chain, corners), progress) for corner in corners
    )


def holds(chain: Chain, turns_per_s: float, corner: Corner, seeds: range, progress: Progress = ignore) -> bool:
    """Tell whether a speed errs no more than is tolerated at one corner; stop as soon as that is settled."""
    errors = true = 0
    words = f"trying {format_number(turns_per_s)} turns/s, {corner.name}"
    for tried, seed in enumerate(seeds, 1):
        progress(words)
        one = count_run(chain, seed, turns_per_s, corner)
        errors, true = errors + one.errors, true + count_true_detents(chain, one)
        # Every run turns the same number of detents: the rest cannot make up for more errors than are tolerated.
        if not is_tolerated(errors, true * len(seeds) // tried, chain.judging.tolerated_error_rate):
            return False
    return True
